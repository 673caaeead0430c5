"""What remarks state: the unit of a line, of the lines below, of a whole file, and the order of lists."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import DIALECTS, read
from cfgmigrate.machine.list_orders import order_in
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.remarks import (
    Remarks,
    counts_in_mm,
    file_units,
    in_units,
    stated,
    states_anything,
)


@pytest.mark.parametrize(
    ("remark", "unit", "qualifier", "words"),
    [
        ("mm/min", "mm/min", "", "mm/min"),
        ("in mm/s", "mm/s", "", "in mm/s"),
        ("mA rms", "mA", "rms", "mA rms"),
        ("mA, peak", "mA", "peak", "mA peak"),
        ("A, effective", "A", "rms", "A effective"),
        ("mA eff. by the sheet", "mA", "rms", "mA eff by the sheet"),
        ("eff. diameter of the gear", "", "", "eff"),
        ("A r.m.s.", "", "rms", "A r.m.s"),
        ("winding current A rms", "A", "rms", "winding current A rms"),
        ("winding A rms of feeder A peak", "", "rms or peak", "winding A rms of feeder A peak"),
        ("effective diameter of the gear", "", "", "effective diameter of the gear"),
        ("A, not rms", "A", "", "A not rms"),
        ("A, rms and peak", "A", "rms or peak", "A rms and peak"),
        ("A, peak = 1.4 times rms", "A", "", "A peak"),
        ("how fast, slowly, mm/s", "mm/s", "", "how fast"),
        ("how fast, slowly, and not, mm/s", "", "", "how fast"),
        ("5 min without moving", "", "", "5 min without moving"),
        ("minutes", "min", "", "minutes"),
        ("min idle", "min", "", "min idle"),
        ("min speed", "", "", "min speed"),
        ("length in mm", "mm", "", "length in mm"),
        ("length of mm", "mm", "", "length of mm"),
        ("turns in s", "s", "", "turns in s"),
        ("turns s", "", "", "turns s"),
        ("steps per mm", "1/mm", "", "steps per mm"),
        ("a b c d e f g h i", "", "", "a b c d e f g h i"),
        ("a b c d e f g h i j", "", "", ""),
        ("measured to 1/100 mm", "mm", "", "measured to 1/100 mm"),
        ("mm, the length", "mm", "", "mm the length"),
        ("mm, the length of the tube", "mm", "", "mm"),
        ("", "", "", ""),
        ("speed = 40", "", "", ""),
        ("A9 C400", "", "", ""),
    ],
)
def test_a_remark_states_a_unit_and_rms_or_peak_and_what_its_first_words_are(
    remark: str, unit: str, qualifier: str, words: str
) -> None:
    found = stated(remark)
    assert (found.unit.name if found.unit else "", found.qualifier, found.words) == (unit, qualifier, words)


@pytest.mark.parametrize(
    ("text", "anything"),
    [("in mm", True), ("(A)", True), ("effective", True), ("r.m.s.", True), ("peak", True), ("A man", False), ("", False),
     ("effective length", False)],
)  # fmt: skip
def test_a_text_states_a_unit_or_what_a_current_is(text: str, anything: bool) -> None:
    assert states_anything(text) is anything


@pytest.mark.parametrize(
    ("text", "units"),
    [
        ("lengths mm, speeds mm/s", {"length": "mm", "speed": "mm/s"}),
        ("speeds mm/s or mm/min", {}),
        ("speeds MM/MIN", {"speed": "mm/min"}),
        ("currents in A, times in s", {"current": "A", "time": "s"}),
        ("A man, s", {"time": "s"}),
        ("nothing", {}),
    ],
)
def test_a_file_s_opening_remark_states_units_by_measure_unless_it_states_two(
    text: str, units: dict[str, str]
) -> None:
    assert {of: unit.name for of, unit in file_units(text).items()} == units


@pytest.mark.parametrize(
    ("text", "all_mm"),
    [
        ("steps per mm, mm/s", True),
        ("mm/s and mm/s2", True),
        ("mm/s", False),
        ("steps per unit", False),
        ("mm/s and m/s", False),
        ("mm/s, mm/s2 and inches", False),
        ("mm/s, mA", False),
        ("mm, mm/s, cm", False),
    ],
)
def test_a_file_that_states_several_measures_all_in_mm_counts_in_mm(text: str, all_mm: bool) -> None:
    assert counts_in_mm(text) is all_mm


@pytest.mark.parametrize(
    ("text", "order"),
    [
        ("lists are x, y, z, e", "xyze"),
        ("in the order x y z and filament", "xyze"),
        ("X/Y/Z/E", "xyze"),
        ("z, y, x", "zyx"),
        ("x, y", ""),
        ("x, y, x", ""),
        ("x, e, drive", ""),
        ("filament, x, y", "exy"),
        ("the x, the y", ""),
    ],
)
def test_an_order_names_three_letters_once_two_of_them_axes(text: str, order: str) -> None:
    assert order_in(text) == order


@pytest.mark.parametrize(
    ("text", "read_as"),
    [
        ("in thousandths of an ampere", "in mA"),
        ("thousandths of a second", "ms"),
        ("thousandth of one amp", "mA"),
        ("thousandths of amperes", "mA"),
        ("thousandths of an inch", "thousandths of an inch"),
        ("mm in a second", "mm per second"),
        ("steps for each mm", "steps per mm"),
        ("mm to the minute", "mm per minute"),
        ("mm/s, gained in a second", "mm/s^2"),
        ("mm per second more every second", "mm/s^2"),
        ("cubic mm in a second", "cubic mm in a second"),
        ("from 5 mm in every direction", "from 5 mm in every direction"),
        ("mm/s, in a second pass", "mm/s, in a second pass"),
    ],
)
def test_units_in_words_are_those_units(text: str, read_as: str) -> None:
    assert in_units(text) == read_as


def remarks(text: str, dialect: str = "sectioned") -> Remarks:
    return Remarks(read("wren.ini", text.encode(), dialect))


@pytest.mark.parametrize(
    ("text", "below"),
    [
        ("# mm/s\na = 1\nb = 2\n", ["mm/s", "mm/s"]),
        ("a = 1\n# all speeds in mm/s\nb = 2\n", ["", "mm/s"]),
        ("# how fast (mm/s)\na = 1\n", ["mm/s"]),
        ("# how fast\na = 1\n", [""]),
        ("# mm/s\na = 1\n\nb = 2\n", ["mm/s", ""]),
        ("# mm/s\na = 1\n[c]\nb = 2\n", ["mm/s", ""]),
        ("# mm/s\na = 1\n# others\nb = 2\n", ["mm/s", ""]),
        ("# mm/s\n# mA\na = 1\n", ["mA"]),
        ("# A rms\na = 1\n", ["A rms"]),
        ("# A r.m.s.\na = 1\n", ["A rms"]),
        ("# m\na = 1\n", [""]),
        ("# A\na = 1\n", ["A"]),
        ("# all the currents that are of the motors of this machine in the whole of its life are in (mA)\na = 1\n", [""]),
    ],
)  # fmt: skip
def test_a_unit_alone_above_a_run_of_lines_is_of_each_up_to_a_gap_or_the_next(
    text: str, below: list[str]
) -> None:
    found = remarks(text)
    said = [found.below_heading(each) for each in found.document.settings]
    assert [f"{each.unit.name} {each.qualifier}".strip() if each.unit else "" for each in said] == below


@pytest.mark.parametrize(
    ("text", "dialect", "behind"),
    [
        ("a = 1 # mm/s\n", "sectioned", "mm/s"),
        ("a = 1 ; mm/s -----\n", "sectioned", "mm/s"),
        ("a = 1\n", "sectioned", ""),
        ("#define A 1 // mm/s\n", "header", "mm/s"),
        ("#define A 1 /* mm/s */\n", "header", "mm/s"),
        ("#define A 1 /* mm/s **/\n", "header", "mm/s"),
        ("A9 C1 (mm/s)\n", "command", "mm/s"),
        ("A9 C1 ; mm/s ***\n", "command", "mm/s"),
        ("a = 1 # µm\n", "sectioned", "µm"),
        ("a = 1 # thousandths of an amp\n", "sectioned", "mA"),
    ],
)
def test_a_remark_behind_a_value_has_neither_sign_nor_line_about_it(
    text: str, dialect: str, behind: str
) -> None:
    found = remarks(text, dialect)
    assert found.behind(found.document.settings[-1]) == behind
    if dialect != "header":
        assert {found.of_line(each) for each in found.document.settings} == {behind}


#: a remark at the top and one behind a value, with the marks of each dialect
TOP_AND_BEHIND = {
    "sectioned": "# lengths in mm\na = 1 # mm/s\n",
    "flat": "; lengths in mm\na = 1 ; mm/s\n",
    "header": "// lengths in mm\n#define A 1 // mm/s\n",
    "command": "; lengths in mm\nA9 C1 ; mm/s\n",
    "nested": "# lengths in mm\na: 1 # mm/s\n",
}


@pytest.mark.parametrize("dialect", DIALECTS)
def test_units_in_remarks_are_seen_in_every_dialect(dialect: str) -> None:
    """Or a number in mm/min is taken for one in mm/s, and nothing says so."""
    assert dialect in TOP_AND_BEHIND, "a dialect needs the marks of its remarks here, and in remarks.py"
    found = remarks(TOP_AND_BEHIND[dialect], dialect)
    assert set(found.units) == {"length"}
    last = found.document.settings[-1]
    assert found.behind(last) == found.of_line(last) == "mm/s"


@pytest.mark.parametrize(
    ("text", "dialect", "units", "qualifier", "feeds"),
    [
        ("# lengths mm, currents in A rms\na = 1\n", "sectioned", {"length", "current"}, "rms", False),
        ("# currents in A rms, unless peak is said\na = 1\n", "sectioned", {"current"}, "rms", False),
        ("# currents in A rms or peak\na = 1\n", "sectioned", {"current"}, "", False),
        ("# lengths mm, motor currents as effective values\na = 1\n", "sectioned", {"length"}, "rms", False),
        ("# currents in A, effective from 3 June\na = 1\n", "sectioned", {"current"}, "", False),
        ("# lengths mm, amperes (effective)\na = 1\n", "sectioned", {"current", "length"}, "rms", False),
        ("# Currents are effective immediately\na = 1\n", "sectioned", set(), "", False),
        ("# currents in mA, wheel effective 10 mm\na = 1\n", "sectioned", {"current", "length"}, "", False),
        ("# feeds in mm/min\na = 1\n", "sectioned", {"speed"}, "", True),
        ("# rapids, feeds and traverses are in mm/min\na = 1\n", "sectioned", {"speed"}, "", True),
        ("# speed = 4 mm/s\na = 1\n", "sectioned", set(), "", False),
        ("a = 1\n# lengths mm\n", "sectioned", {"length"}, "", False),
        ("a = 1\nb = 1\n\n\n# lengths mm\n", "sectioned", set(), "", False),
        ("\ufeff# lengths mm\na = 1\n", "sectioned", {"length"}, "", False),
        ("/* lengths mm\n * currents in A\n */\n#define A 1\n", "header", {"length", "current"}, "", False),
        ('{"about": "all lengths are in mm", "a": 1}', "nested", {"length"}, "", False),
        ('{"about": "in mm", "a": 1}', "nested", set(), "", False),
        ('{"c": {"about": "all lengths are in mm"}, "a": 1}', "nested", set(), "", False),
    ],
)
def test_what_a_file_says_at_its_top_is_of_all_its_lines(
    text: str, dialect: str, units: set[str], qualifier: str, feeds: bool
) -> None:
    found = remarks(text, dialect)
    assert (set(found.units), found.qualifier, found.feeds) == (units, qualifier, feeds)


@pytest.mark.parametrize(
    ("remark", "read_"),
    [
        ("share", False),
        ("a share of the run current", False),
        ("A", True),
        ("A, share it with the team", True),
    ],
)
def test_a_number_whose_remark_calls_it_a_share_is_no_current(remark: str, read_: bool) -> None:
    text = f"[feeder]\nsteps per mm = 96\nrun current = 0.8 A rms\nhold current = 0.5 # {remark}\n"
    machine = recognise([read("m.conf", text.encode(), "sectioned")])
    assert ("motor.hold_current" in {each.quantity for each in machine.readings}) is read_


@pytest.mark.parametrize(
    ("head", "behind", "rms"),
    [
        ("currents in A peak", "", 0.424),
        ("currents are not rms but peak", "", 0.424),
        ("the old board had peak currents", "", 0.6),
        ("currents not as peak", "", 0.6),
        ("axis currents as peak", "", 0.6),
        ("the supply stands a peak current of 10 A", "", 0.6),
        ("mm", "; A peak", 0.424),
        ("mm", "; was peak before", 0.6),
        ("mm", "; at peak load 0.8", 0.6),
    ],
)
def test_peak_is_what_these_currents_are_and_not_what_others_or_old_ones_were(
    head: str, behind: str, rms: float
) -> None:
    text = f"# {head}\n[feeder motor]\nrun current = 0.6  {behind}\n"
    (reading,) = recognise([read("m.conf", text.encode(), "sectioned")]).readings
    assert reading.value == pytest.approx(rms, abs=0.001)


@pytest.mark.parametrize(
    ("head", "lag"), [("times in ms", 0.002), ("the fan times are in ms", 2.0), ("the lag of the old one was in ms", 2.0)]
)  # fmt: skip
def test_a_unit_that_a_head_says_of_another_thing_or_time_is_not_the_files(head: str, lag: float) -> None:
    text = f"# {head}\n[feeder]\nsteps per mm = 93\nlag = 2\n"
    found = recognise([read("m.conf", text.encode(), "sectioned")]).readings
    assert [each.value for each in found if each.quantity == "lag.coefficient"] == [lag]


@pytest.mark.parametrize(
    "behind", ["of the running current", "as a part of the running current", "times run"]
)
def test_a_part_of_the_running_current_is_no_current(behind: str) -> None:
    text = f"[feeder motor]\nrun current = 0.7 ; A rms\nhold current = 0.5 ; {behind}\n"
    found = recognise([read("m.conf", text.encode(), "sectioned")]).readings
    assert [each.quantity for each in found] == ["motor.run_current"]
