"""The names file settles what words don't, says exactly where it is wrong, and can't unprotect anything."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.dialects.document import Document
from cfgmigrate.files.site_reading import parse_site
from cfgmigrate.ground.findings import BadInput
from cfgmigrate.machine.codes import code_fit, table_codes
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.names import HEADER, names_said, read_names
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.spots import Spot
from cfgmigrate.machine.survey import survey_of


def sectioned(text: str, path: str = "wren.ini") -> Document:
    return read(path, text.encode(), "sectioned")


def named(tmp_path: Path, names: str, *documents: Document) -> Machine:
    path = tmp_path / "names.yaml"
    path.write_text(names, encoding="utf-8")
    return recognise(list(documents), read_names(path))


def test_a_names_file_says_what_a_setting_is(tmp_path: Path) -> None:
    found = named(
        tmp_path, '"[drive] one way": feeder.feed_per_turn\n', sectioned("[drive]\none way = 23.4\n")
    )
    reading = found.get("feeder.feed_per_turn")
    assert reading is not None and reading.value == 23.4
    assert found.doubts == () and found.unread == ()


def test_a_names_file_says_the_unit_too(tmp_path: Path) -> None:
    names = '"[drive] coil": {quantity: motor.run_current, unit: mA peak}\n'
    reading = named(tmp_path, names, sectioned("[drive]\ncoil = 640\n")).get("motor.run_current")
    assert reading is not None and reading.value == pytest.approx(0.640 / 2**0.5)
    assert reading.form.unit == "mA peak"


@pytest.mark.parametrize("unit", ["µm per step", "um per step"])
def test_a_sign_of_a_unit_may_be_spelled_in_letters(unit: str, tmp_path: Path) -> None:
    names = f'"[drive] way": {{quantity: feeder.steps_per_mm, unit: {unit}}}\n'
    reading = named(tmp_path, names, sectioned("[drive]\nway = 1.25\n")).get("feeder.steps_per_mm")
    assert reading is not None and reading.value == pytest.approx(800)


def test_a_doubtful_unit_is_settled_by_the_line_that_the_doubt_shows(tmp_path: Path) -> None:
    document = sectioned("[feeder]\nretract speed = 150\nrun current = 0.45\n")
    lines = [doubt.remedy.partition("under meanings: ")[2] for doubt in recognise([document]).doubts]
    found = named(tmp_path, "\n".join(lines) + "\n", document)
    assert {reading.quantity: reading.value for reading in found.readings} == {
        "retraction.speed": 150,
        "motor.run_current": 0.45,
    }
    assert found.doubts == ()


def test_a_line_of_the_survey_can_be_put_into_a_names_file_as_it_is(tmp_path: Path) -> None:
    document = sectioned("[feeder]\nmax fidget speed = 40\n")
    (unread,) = survey_of(recognise([document])).to_json()["unrecognised"]
    found = named(tmp_path, unread["remedy"].partition("under meanings: ")[2] + "\n", document)
    reading = found.get("feeder.max_speed")
    assert reading is not None and reading.value == 40


def test_ignored_settings_are_neither_read_nor_doubted(tmp_path: Path) -> None:
    document = sectioned("[feeder]\nsteps per mm = 96\n[tool]\nsteps per unit = 438\n")
    found = named(tmp_path, '"[tool] steps per unit": ignore\n', document)
    assert found.doubts == () and found.shadowed == ()
    reading = found.get("feeder.steps_per_mm")
    assert reading is not None and reading.value == 96


def test_a_list_of_names_says_what_each_number_is(tmp_path: Path) -> None:
    names = '"[drive] pair": [feeder.steps_per_mm, {quantity: motor.run_current, unit: mA rms}]\n'
    found = named(tmp_path, names, sectioned("[drive]\npair = 438, 450\n"))
    assert {reading.quantity: reading.value for reading in found.readings} == {
        "feeder.steps_per_mm": 438,
        "motor.run_current": 0.45,
    }


@pytest.mark.parametrize("ignored", ["ignore", "{quantity: ignore}"])
def test_one_number_of_a_list_may_be_ignored(tmp_path: Path, ignored: str) -> None:
    document = sectioned("[drive]\npair = 438, 450, 7\n")
    names = f'"[drive] pair": [feeder.steps_per_mm, {ignored}, retraction.length]\n'
    found = named(tmp_path, names, document)
    assert {each.quantity: each.value for each in found.readings} == {
        "feeder.steps_per_mm": 438,
        "retraction.length": 7,
    }
    assert found.doubts == () and found.unread == ()


def test_of_two_feeders_and_an_ignored_number_each_has_its_own(tmp_path: Path) -> None:
    names = '"[drive] pull": [retraction.length, retraction.length, ignore]\n'
    found = named(tmp_path, names, sectioned("[drive]\npull = 6.5, 5.5, 1\n"))
    assert {str(each.holder): each.value for each in found.readings} == {"feeder 1": 6.5, "feeder 2": 5.5}


@pytest.mark.parametrize(
    ("meaning", "value", "last"),
    [
        ("axis.@.max_speed", "120 130 8 30", ("feeder.max_speed", 30)),
        ("axis.@.max_speed", "120 130 8", ("axis.z.max_speed", 8)),
        ("{quantity: axis.@.run_current, unit: mA rms}", "800 800 900 700", ("motor.run_current", 0.7)),
        ("axis.@.max", "230 240", ("axis.y.max", 240)),
        ('"axis.x.max, axis.z.max"', "230 250", ("axis.z.max", 250)),
    ],
)
def test_a_row_for_all_axes_is_taught_by_one_word(
    tmp_path: Path, meaning: str, value: str, last: tuple[str, float]
) -> None:
    found = named(tmp_path, f'"[of it] row": {meaning}\n', sectioned(f"[of it]\nrow = {value}\n"))
    assert len(found.readings) == len(value.split())
    assert (found.readings[-1].quantity, found.readings[-1].value) == (last[0], pytest.approx(last[1]))
    assert not found.doubts and all(each.editable for each in found.readings)


def test_a_row_that_does_not_fit_its_meaning_is_one_clear_question(tmp_path: Path) -> None:
    found = named(tmp_path, '"[of it] row": axis.@.max\n', sectioned("[of it]\nrow = 230 240 250 7\n"))
    (doubt,) = found.doubts
    assert "different counts of numbers: 3 and 4" in doubt.why and "ignore" in doubt.remedy


@pytest.mark.parametrize("row", ["amps = 0.8 0.8 0.9 0.7", "row = 80 80 9 40"])
def test_the_line_that_is_shown_for_a_row_teaches_all_of_it(tmp_path: Path, row: str) -> None:
    document = sectioned(f"[speeds]\n{row}\n")
    shown = survey_of(recognise([document])).to_json()
    remedies = [each["remedy"] for each in (*shown["unrecognised"], *shown["doubts"])]
    found = named(tmp_path, remedies[0].partition("under meanings: ")[2] + "\n", document)
    assert len(found.readings) == 4 and not found.doubts and not found.unread


def test_a_list_of_names_must_be_as_long_as_the_value(tmp_path: Path) -> None:
    found = named(
        tmp_path, '"[drive] pair": [feeder.steps_per_mm]\n', sectioned("[drive]\npair = 438, 450\n")
    )
    assert "different counts of numbers: 1 and 2" in found.doubts[0].why


def test_the_same_thing_of_a_feeder_for_each_number_is_one_feeder_s_each(tmp_path: Path) -> None:
    names = '"[drive] pair": [retraction.length, retraction.length]\n'
    found = named(tmp_path, names, sectioned("[drive]\npair = 6.5, 5.5\n"))
    assert {str(reading.holder): reading.value for reading in found.readings} == {
        "feeder 1": 6.5,
        "feeder 2": 5.5,
    }
    assert found.doubts == ()


def test_a_line_for_one_file_holds_in_that_file_alone(tmp_path: Path) -> None:
    documents = [sectioned("[a]\npull = 4\n", "one.ini"), sectioned("[a]\npull = 5\n", "two.ini")]
    found = named(tmp_path, '"two.ini [a] pull": retraction.length\n', *documents)
    reading = found.get("retraction.length")
    assert reading is not None and reading.place.file == "two.ini"
    assert len(found.unread) == 1


def test_case_and_blanks_of_a_setting_name_do_not_matter(tmp_path: Path) -> None:
    found = named(
        tmp_path, '"[DRIVE]  One Way": feeder.feed_per_turn\n', sectioned("[drive]\none way = 22\n")
    )
    assert found.get("feeder.feed_per_turn") is not None


def test_a_setting_that_is_not_there_is_a_doubt_with_the_nearest_that_is(tmp_path: Path) -> None:
    found = named(tmp_path, '"[drive] one wey": feeder.feed_per_turn\n', sectioned("[drive]\none way = 22\n"))
    (doubt,) = found.doubts
    assert (doubt.place.line, doubt.place.column) == (1, 1)
    assert "[drive] one way" in doubt.remedy


@pytest.mark.parametrize("meaning", ["axis.z.max", "{quantity: retraction.length, unit: mm}", "ignore"])
@pytest.mark.parametrize("key", ["max temperature", "watch for"])
def test_a_names_file_never_makes_a_protected_setting_writable(
    tmp_path: Path, key: str, meaning: str
) -> None:
    """Law 7."""
    found = named(tmp_path, f'"[bed heater] {key}": {meaning}\n', sectioned(f"[bed heater]\n{key} = 110\n"))
    (reading,) = found.readings
    assert quantity(reading.quantity).protected
    assert "protected by its own words" in found.doubts[0].why


def test_a_names_file_never_makes_a_protected_word_of_a_code_writable(tmp_path: Path) -> None:
    spots = [
        Spot(line, each)
        for code, letters in table_codes().items()
        for line in (
            read(
                "knot.nc",
                f"{code} {' '.join(f'{letter}21.5' for letter in sorted(letters))}\n".encode(),
                "command",
            ),
        )
        for each in line.settings
        if (fit := code_fit(each)) and quantity(fit.quantity).protected
    ]
    assert spots
    for spot in spots:
        found = named(tmp_path, f'"{spot.setting.name}": retraction.length\n', spot.document)
        (own,) = [each for each in found.readings if each.start == spot.setting.start]
        assert quantity(own.quantity).protected
        assert [doubt.why for doubt in found.doubts if "protected by its own words" in doubt.why]


def test_a_names_file_may_protect_a_setting(tmp_path: Path) -> None:
    names = '"[plate] hottest": heater.bed.max_temperature\n'
    found = named(tmp_path, names, sectioned("[plate]\nhottest = 110\n"))
    reading = found.get("heater.bed.max_temperature")
    assert reading is not None and reading.value == 110


@pytest.mark.parametrize(
    ("text", "place", "says"),
    [
        ('"[a] b": feeder.step_per_mm\n', ":1:10", "did you mean feeder.steps_per_mm"),
        ('"[a] b": pull.length\n', ":1:10", "retraction.length"),
        ('"[a] b": retraction.pull\n', ":1:10", "retraction.length"),
        ('# note\n\n"[a] b": {quantity: motor.run_current, unit: volts}\n', ":3:46", "possible: A, mA"),
        ('"[a] b": {quantity: motor.run_current, uint: mA}\n', ":1:10", "{quantity: …, unit: …}"),
        ('"[a] b": {unit: mA}\n', ":1:10", "quantity"),
        ('"[a] b": []\n', ":1:10", "empty list"),
        ('"[a] b": 3\n', ":1:10", "quantity"),
        ('"[a] b": protected.heater_line\n', ":1:10", "no quantity"),
        ("[a] b: retraction.length\n", ":1:", "quotes"),
        ("- one\n- two\n", ":1", "setting: quantity"),
        ('"[a] b": retraction.length\n"[a] b": ignore\n', ":2:1", "a second time"),
        ('"[a] b": retraction.length\n"[A]  B": ignore\n', ":2:1", "twice"),
    ],
)
def test_a_wrong_names_file_is_one_error_with_place_and_remedy(
    tmp_path: Path, text: str, place: str, says: str
) -> None:
    path = tmp_path / "names.yaml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(BadInput) as raised:
        read_names(path)
    assert f"names.yaml{place}" in str(raised.value)
    assert says in str(raised.value)


def test_a_names_file_that_is_not_there_or_no_text_is_an_error(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="can't be read"):
        read_names(tmp_path / "none.yaml")
    (tmp_path / "bytes.yaml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(BadInput, match="UTF-8"):
        read_names(tmp_path / "bytes.yaml")


def test_an_empty_names_file_says_nothing_and_the_header_is_one(tmp_path: Path) -> None:
    path = tmp_path / "names.yaml"
    path.write_text(HEADER, encoding="utf-8")
    assert read_names(path).entries == {}


def test_a_site_file_given_as_names_file_is_told_where_it_belongs(tmp_path: Path) -> None:
    path = tmp_path / "site.yaml"
    path.write_text("site: 1\nmeanings: {pull: retraction.length}\n", encoding="utf-8")
    with pytest.raises(BadInput, match="a site file, and no names file") as raised:
        read_names(path)
    assert "call it cfgmigrate.yaml" in raised.value.remedy


@pytest.mark.parametrize(
    ("line", "meaning"),
    [
        ("lag seconds = 0.82", "{quantity: lag.coefficient, unit: ms}"),
        ("coil mA peak = 900", "{quantity: motor.run_current, unit: mA rms}"),
        ("full steps = 200", "feeder.steps_per_mm"),
        ("steps per mm = 200", "feeder.full_steps"),
        ("microsteps = 32", "feeder.full_steps"),
        ("filament diameter = 1.75", "motor.run_current"),
        ("y highest = 208", "axis.x.max"),
        ("x resonance Hz = 44", "resonance.y"),
    ],
)
def test_a_meaning_against_the_key_s_own_unit_or_words_is_a_doubt_and_nothing_is_edited(
    tmp_path: Path, line: str, meaning: str
) -> None:
    key = line.partition(" =")[0]
    found = named(tmp_path, f'"[drive] {key}": {meaning}\n', sectioned(f"[drive]\n{line}\n"))
    (reading,) = found.readings
    assert not reading.editable and "its key says" in reading.why_not
    assert any("its key says" in doubt.why for doubt in found.doubts)


def test_a_meaning_of_another_axis_holds_where_its_unit_says_that_it_is_meant(tmp_path: Path) -> None:
    names = '"[limits] y highest": {quantity: axis.x.max, unit: mm}\n'
    (reading,) = named(tmp_path, names, sectioned("[limits]\ny highest = 208\n")).readings
    assert reading.editable and reading.quantity == "axis.x.max"


def test_bare_steps_may_be_answered_with_either_that_is_asked(tmp_path: Path) -> None:
    found = named(tmp_path, '"[feeder] steps": feeder.full_steps\n', sectioned("[feeder]\nsteps = 200\n"))
    assert found.readings[0].editable


def test_a_meaning_with_the_key_s_own_unit_is_edited(tmp_path: Path) -> None:
    names = '"[drive] lag seconds": {quantity: lag.coefficient, unit: s}\n'
    (reading,) = named(tmp_path, names, sectioned("[drive]\nlag seconds = 0.82\n")).readings
    assert reading.editable and reading.value == 0.82


def test_what_may_be_protected_or_not_can_be_said_to_be_nothing(tmp_path: Path) -> None:
    document = read("m.h", b"#define FEEDER_BIGGEST 60\n", "header")
    assert [each.text for each in recognise([document]).doubts] == ["FEEDER_BIGGEST = 60"]
    (tmp_path / "names.yaml").write_text("FEEDER_BIGGEST: ignore\n")
    found = recognise([document], read_names(tmp_path / "names.yaml"))
    assert not found.doubts and not found.every_reading


@pytest.mark.parametrize(
    ("unit", "text", "value"),
    [
        ("% of 2 A rms", "60 %", 1.2),
        ("% of 2 A rms", "60", 1.2),
        ("1.9/31 A rms", "22", 22 * 1.9 / 31),
        ("1/31 of 1900 mA rms", "22", 22 * 1.9 / 31),
        ("(step+1)/32 of 1.25 A rms", "27", 28 * 1.25 / 32),
        ("(step + 1)/32 of 1250 mA peak", "27", 28 * 1.25 / 32 / 2**0.5),
    ],
)
def test_a_unit_may_be_a_part_of_another(unit: str, text: str, value: float) -> None:
    site = f'site: 1\nmeanings: {{"[push] cur": {{quantity: motor.run_current, unit: "{unit}"}}}}\n'
    names = names_said(None, parse_site(site.encode(), "cfgmigrate.yaml"))
    document = read("a.ini", f"[push]\ncur = {text}\n".encode(), "sectioned")
    (found,) = recognise([document], names).readings
    assert found.value == pytest.approx(value) and found.editable
    assert found.form.to_written(value) == pytest.approx(float(text.strip("% ")))


@pytest.mark.parametrize(
    "unit",
    ["% A", "1/0 A", "2 of 3 lamps", "% of A", "1.9 per 31 A", "(step+1)/0 of 2 A", "(step+2)/32 of 2 A"],
)
def test_what_is_no_part_of_a_unit_is_refused(unit: str) -> None:
    site = f'site: 1\nmeanings: {{"[push] cur": {{quantity: motor.run_current, unit: "{unit}"}}}}\n'
    with pytest.raises(BadInput, match="a part of one, as in"):
        names_said(None, parse_site(site.encode(), "cfgmigrate.yaml"))


@pytest.mark.parametrize("share", ["% of the run current", "% of its running current"])
def test_a_current_at_rest_may_be_said_to_follow_the_running_one(share: str, tmp_path: Path) -> None:
    text = "# currents in mA rms\n[feeder]\nrun current = 1100\nhold current = 45\n"
    line = f'"[feeder] hold current": {{quantity: motor.hold_current, unit: "{share}"}}\n'
    found = named(tmp_path, line, sectioned(text))
    assert [each.quantity for each in found.readings] == ["motor.run_current"] and not found.doubts


@pytest.mark.parametrize(
    ("line", "asked"),
    [
        ("hold current = 45 mA", True),
        ("hold current = 0.45 A rms", True),
        ("hold current mA = 45", True),
        ("hold current = 45  # mA", True),
        ("hold current = 45", False),
        ("hold current = 45 %", False),
        ("hold current = 45  # % of the run current", False),
    ],
)
def test_a_share_of_the_run_current_is_not_believed_of_a_line_in_amperes(
    line: str, asked: bool, tmp_path: Path
) -> None:
    text = f"[feeder]\nrun current = 1100 mA rms\n{line}\n"
    key = line.partition(" =")[0]
    said = f'"[feeder] {key}": {{quantity: motor.hold_current, unit: "% of the run current"}}\n'
    doubts = named(tmp_path, said, sectioned(text)).doubts
    assert any("a share of the run current" in each.why and each.place.line == 3 for each in doubts) is asked


def test_per_cent_of_nothing_said_is_refused_with_the_way_to_say_of_what(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="can't be in '%'") as refused:
        named(tmp_path, '"a": {quantity: motor.hold_current, unit: "%"}\n', sectioned("[feeder]\na = 45\n"))
    assert "% of the run current" in str(refused.value)
