"""What was not understood is offered as lines that teach it, the likeliest to matter first."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.api import read_machine, write_site
from cfgmigrate.dialects import read
from cfgmigrate.dialects.document import Setting
from cfgmigrate.ground.findings import Place
from cfgmigrate.ground.units import units
from cfgmigrate.machine import teach
from cfgmigrate.machine.by_number import Numbered
from cfgmigrate.machine.model import Unread
from cfgmigrate.machine.near_lengths import lengths_of
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.teach import teachable
from cfgmigrate.machine.teachable import RETRACTION

TEXT = """\
[feeder]
steps per mm = 96
guard section = 0.8     ; mm2
behind the guard = 410  ; mm to the nozzle
[axes]
x quux speed = 300
y quux speed = 300
[display]
brightness = 70
"""


def test_unread_numbers_near_the_feed_path_are_listed_and_those_near_a_known_length_first() -> None:
    found = teachable(recognise([read("one.ini", TEXT.encode(), "sectioned")]), {430: "the old path"})
    assert [each.pattern for each in found] == [
        "[feeder] behind the guard",
        "[axes] @ quux speed",
        "[feeder] guard section",
    ]
    first = found[0]
    assert first.lines()[0].startswith('# "[feeder] behind the guard": ')
    assert "mm to the nozzle" in first.lines()[0]
    assert len(found[1].settings) == 2


def test_what_is_near_the_old_retraction_stands_before_what_is_near_the_path() -> None:
    text = "[feeder]\nquux mm = 410\n[filament]\nquibble mm = 5.2\nquibble speed mm s = 5.2\n"
    machine = recognise([read("one.ini", text.encode(), "sectioned")])
    found = teachable(machine, lengths_of(machine, 430))
    assert [(each.pattern, each.near) for each in found] == [
        ("[filament] quibble mm", "the old retraction"),
        ("[feeder] quux mm", "the old path"),
        ("[filament] quibble speed mm s", ""),
    ]
    assert found[0].meaning == '"[filament] quibble mm": retraction.length'


def test_a_speed_near_the_old_retraction_is_not_offered_as_one() -> None:
    machine = recognise([read("one.ini", b"[filament feed]\nquux corner speed = 5\n", "sectioned")])
    assert [each.near for each in teachable(machine, lengths_of(machine))] == [""]


def test_a_single_letter_that_may_be_a_speed_hides_no_retraction() -> None:
    machine = recognise([read("one.h", b"#define F1_RETRACT_MM 6.0\n", "header")])
    assert [each.near for each in teachable(machine, lengths_of(machine))] == ["the old retraction"]


def test_a_pull_at_a_pause_is_taught_as_no_retraction_though_it_is_as_long() -> None:
    text = "[filament]\nquibble mm = 5.2\nquibble mm in a pause = 5.2\n"
    found = teachable(recognise([read("one.ini", text.encode(), "sectioned")]), {5.5: "the old retraction"})
    taught = {each.pattern: each.meaning for each in found}
    assert taught["[filament] quibble mm"].endswith(": retraction.length")
    assert "retraction.length" not in taught["[filament] quibble mm in a pause"]


MUCH = """\
#define WITH_FILAMENT_EYE 1
#define TOUCH_FROM_TIP_ACROSS -41.0
#define ACROSS_LEAST -2.0
#define EYE_TO_TIP 640
#define CHANGE_UNLOAD 640
"""
PINS = "".join(f"#define SOCKET_FILAMENT_{name} {100 + 3 * at}\n" for at, name in enumerate("ABCDEFGH"))


def offered_for(folder: Path) -> dict[str, tuple[str, ...]]:
    (folder / "wick.h").write_text(MUCH + PINS)
    machine = read_machine([folder])[1]
    taught = teachable(machine, lengths_of(machine), by_numbers=True)
    return {each.pattern: each.candidates for each in taught}


def test_a_number_alone_offers_nothing_for_a_name_that_speaks_of_something_else(tmp_path: Path) -> None:
    found = offered_for(tmp_path)
    assert found["WITH_FILAMENT_EYE"] == () and found["TOUCH_FROM_TIP_ACROSS"] == ()
    assert found["CHANGE_UNLOAD"][0] == "feeder.unload_length"


def test_words_for_a_direction_are_offered_as_axes_and_words_for_pins_as_nothing(tmp_path: Path) -> None:
    (tmp_path / "wick.h").write_text(MUCH + PINS)
    site = write_site([tmp_path]).read_text()
    assert "#  across: x " in site and "#  across: y " in site
    assert "#  socket:" not in site


def test_a_row_of_a_table_is_near_no_length_whatever_its_number() -> None:
    rows = "".join(
        f"nozzle_bead_at_{at} = {number}\n" for at, number in ((180, 1076), (190, 892), (200, 745))
    )
    rows += "".join(
        f"nozzle_bead_at_{at} = {number}\n" for at, number in ((210, 626), (220, 531), (230, 453))
    )
    machine = recognise([read("one.conf", f"{rows}nozzle_to_crest = 540\n".encode(), "flat")])
    near = {each.pattern: each.near for each in teachable(machine, {545.0: "the old path"}) if each.near}
    assert near == {"nozzle_to_crest": "the old path"}


@pytest.mark.parametrize(("unit", "of"), [("_MM", "mm"), ("_MM_S2", "mm/s^2"), ("", "")])
def test_a_measure_in_a_key_leaves_nothing_of_another_measure_to_be_offered(unit: str, of: str) -> None:
    machine = recognise([read("one.h", f"#define QUUX_FILAMENT{unit} 40\n".encode(), "header")])
    (found,) = teachable(machine, {}, by_numbers=True)
    units = {quantity(each).unit for each in found.candidates}
    assert units <= {of} if of else len(units) > 1


LISTED = """\
; X right  Y back  E extruder
; K22 jerk, mm per minute
; K50 filament switch: L mm of filament left when it clicks, S 1 = on
K22 X540 Y480 E300
K50 L640 S1
"""


def test_what_the_files_own_list_explains_is_no_quantity_that_its_number_may_be() -> None:
    """A jerk is offered as no lag and no current, though its number could be one; what is left behind the switch is offered."""
    machine = recognise([read("one.nc", LISTED.encode(), "command")])
    found = {each.code: each for each in teachable(machine, {}, by_numbers=True)}
    assert found["K50.L"].candidates == ("runout.distance",) and found["K50.L"].asked
    assert not found["K22.@"].candidates and "jerk, mm per minute" in found["K22.@"].lines()[0]
    assert "K50.S" not in found


def test_the_place_of_another_tip_is_offered_as_no_probe_s(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_text(
        "axes:\n  x: {high: 200}\n  y: {high: 200}\nfeeders:\n  right:\n    from left nozzle:\n      x: 24.1\n      y: 0.1\n"
    )
    site = write_site([tmp_path]).read_text()
    assert "from left nozzle" in site and "probe.offset" not in site and "park." not in site


def test_the_dialect_that_was_given_is_kept(tmp_path: Path) -> None:
    (tmp_path / "a.txt").write_text("lag: 0.5\naxes:\n  x: {high: 200}\n  y: {high: 200}\n")
    (tmp_path / "b.conf").write_text("[axis z]\nhigh = 240\n")
    site = write_site([tmp_path], dialects={str(tmp_path / "a.txt"): "nested"})
    assert "dialects:\n  a.txt: nested\n" in site.read_text()
    _, machine = read_machine([tmp_path])
    assert {document.path for document in machine.documents} == {"a.txt", "b.conf"}


def test_what_is_drawn_back_for_only_over_some_way_is_offered_as_the_shortest_travel_and_as_no_length() -> (
    None
):
    text = b"pull back = 5.0\npull back only over = 5.5\npull back for moss = 5.5\n"
    found = teachable(recognise([read("linen.txt", text, "flat")]), {5.0: "the old retraction"})
    meant = {each.pattern: each.meaning for each in found}
    assert meant["pull back only over"] == '"pull back only over": retraction.shortest_travel'
    assert meant["pull back for moss"] == '"pull back for moss": retraction.length'


def unread(section: str, key: str, value: str = "5", nearest: tuple[str, ...] = (), said: str = "") -> Unread:
    return Unread(Place("one.ini", 1), key, Setting(section, key, value, 0, 1, 1, 1), nearest, said)


@pytest.mark.parametrize(
    ("section", "key", "says"),
    [
        ("feeder", "steps per mm zum", "feeder.steps_per_mm"),
        ("", "retraction length zum klo", "retraction.length"),
        ("", "retraction length zum klo dub", ""),
        ("", "retraction length", ""),
        ("homing", "retraction length zum", ""),
        ("feeder", "zum", ""),
    ],
)
def test_a_name_may_say_in_full_what_wrecks_a_machine_with_a_word_or_two_more(
    section: str, key: str, says: str
) -> None:
    assert teach._says(unread(section, key)) == says


@pytest.mark.parametrize(
    ("section", "key", "nearest", "coded", "relevant"),
    [
        ("feeder", "zum", (), False, True),
        ("zum", "klo", (), False, False),
        ("zum", "klo", ("lag.coefficient",), False, True),
        ("nozzle", "zum", (), False, True),
        ("A9", "E", (), True, True),
        ("A9", "x", (), True, True),
        ("A9", "Q", (), True, False),
    ],
)
def test_a_setting_is_relevant_by_what_it_is_of_or_near_to_or_by_an_axis_s_letter(
    section: str, key: str, nearest: tuple[str, ...], coded: bool, relevant: bool
) -> None:
    one = unread(section, key, nearest=nearest)
    assert teach._relevant(one, coded) is relevant


@pytest.mark.parametrize(
    ("value", "number"), [("5", 5), ("yes", 1), ("off", 0), ("left", None), ("5, 6", None)]
)
def test_a_truth_is_taught_as_0_or_1_and_a_text_or_a_list_as_nothing(
    value: str, number: float | None
) -> None:
    found = teach._number(unread("", "a", value))
    assert (found.value if found else None) == number


def test_of_names_that_differ_in_an_axis_there_is_one_line_and_of_others_one_each() -> None:
    text = "[axes]\nx quux speed = 300\ny quux speed = 200\n[feeder]\nx quux pull = 4\ne quux push = 4\n"
    found = teachable(recognise([read("one.ini", text.encode(), "sectioned")]), {})
    assert {each.pattern: len(each.settings) for each in found if "axes" in each.pattern} == {
        "[axes] @ quux speed": 2
    }
    assert all(len(each.settings) == 1 for each in found if "feeder" in each.pattern)


@pytest.mark.parametrize(("many", "near"), [(5, True), (6, False)])
def test_six_numbers_that_differ_in_a_number_of_their_names_are_a_table_and_no_lengths(
    many: int, near: bool
) -> None:
    text = "[filament]\n" + "".join(f"quux row {at} = 5.5\n" for at in range(many))
    found = teachable(recognise([read("one.ini", text.encode(), "sectioned")]), {5.5: RETRACTION})
    assert found and all(bool(each.near) is near for each in found)


@pytest.mark.parametrize(
    ("words", "value", "measure", "unit", "truth", "speaks"),
    [
        ("", 5, "", "", False, True),
        ("", 1, "", "", False, False),
        ("", 0, "", "", False, False),
        ("", 2, "", "", False, True),
        ("", 1, "", "mm", False, True),
        ("", 1, "", "", True, True),
        ("retraction", 5, "", "", False, True),
        ("retraction", 1, "", "", False, False),
        ("retraction", 1, "length", "", False, True),
        ("probe", 5, "", "", False, False),
    ],
)
def test_a_word_that_both_have_or_a_number_that_is_no_switch_speaks_for_a_meaning(
    words: str, value: float, measure: str, unit: str, truth: bool, speaks: bool
) -> None:
    told = units()[unit] if unit else None
    each = Numbered("", value, told, measure, frozenset(words.split()), truth)
    assert teach._speaks_for("retraction.length", each) is speaks


@pytest.mark.parametrize(("many", "listed"), [(5, True), (6, False)])
def test_a_table_whose_numbers_may_be_nothing_is_not_offered(many: int, listed: bool) -> None:
    text = "[feeder]\n" + "".join(f"quux socket {at} = {90000 + at}\n" for at in range(many))
    machine = recognise([read("one.ini", text.encode(), "sectioned")])
    assert bool(teachable(machine, {}, by_numbers=True)) is listed
    assert teachable(machine, {})


@pytest.mark.parametrize("read_too", ["", "steps per mm = 96\n"])
def test_a_feed_for_each_turn_is_not_offered_where_steps_per_mm_are_read(read_too: str) -> None:
    text = f"[feeder]\nfull steps = 200\n{read_too}fed by quibble = 16.4\n"
    (found,) = teachable(recognise([read("one.ini", text.encode(), "sectioned")]), {}, by_numbers=True)
    assert ("feeder.feed_per_turn" in found.candidates) == (not read_too)


@pytest.mark.parametrize(
    ("key", "meant"),
    [("retract_speed", "retraction.speed"), ("retract_length_quibble", "retraction.length")],
)
def test_a_name_that_says_how_fast_is_offered_as_no_length(key: str, meant: str) -> None:
    text = f"# mm, mm/s\n[petg]\nnozzle = 210\nretract = 6.8\n{key} = 35\n"
    found = teachable(recognise([read("bench_petg.cfg", text.encode(), "sectioned")]), {})
    (taught,) = [each for each in found if key in each.pattern]
    assert taught.meaning == f'"[petg] {key}": {meant}'
    assert taught.why == f"its name says the {quantity(meant).label} and more"
