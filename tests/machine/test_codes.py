"""Word-address lines: a word is a setting by its code and letter. The lines are shaped as in RS-274 (NISTIR
6556); which code sets what is common practice, no source."""

from __future__ import annotations

from pathlib import Path

import pytest
from feederbench import values
from msgspec.structs import replace

from cfgmigrate.dialects import read
from cfgmigrate.ground.units import units
from cfgmigrate.machine.codes import as_told, code_said, coded, table_codes
from cfgmigrate.machine.matching import Fit
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.spots import Said, Spot
from cfgmigrate.machine.survey import survey_of
from cfgmigrate.workflow.prepare import read_machine


def commands(text: str, path: str = "knot.nc") -> Machine:
    return recognise([read(path, text.encode(), "command")])


def test_each_word_is_a_reading_of_its_own_with_its_own_span() -> None:
    text = "N40 M92 X84 Y86 Z410 E438.40 ; counted\n"
    found = commands(text)
    assert values(found) == {
        "axis.x.steps_per_mm": 84,
        "axis.y.steps_per_mm": 86,
        "axis.z.steps_per_mm": 410,
        "feeder.steps_per_mm": 438.4,
    }
    reading = found.get("feeder.steps_per_mm")
    assert reading is not None and text[reading.start : reading.end] == "438.40" == reading.text


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("M203 X200 Z12 E40", {"axis.x.max_speed": 200, "axis.z.max_speed": 12, "feeder.max_speed": 40}),
        ("M201 E1500", {"feeder.max_acceleration": 1500}),
        ("M906 E450", {"motor.run_current": 0.45}),
        ("M207 S5.1 F2100 Z0.2", {"retraction.length": 5.1, "retraction.speed": 35, "retraction.lift": 0.2}),
        ("M350 E16", {"feeder.microsteps": 16}),
        (
            "M301 P19 I1.2 D80",
            {"heater.hotend.tuning_p": 19, "heater.hotend.tuning_i": 1.2, "heater.hotend.tuning_d": 80},
        ),
        ("m092 e96", {"feeder.steps_per_mm": 96}),
    ],
)
def test_the_shared_codes_are_understood(line: str, expected: dict[str, float]) -> None:
    assert values(commands(line + "\n")) == pytest.approx(expected)


def test_a_later_line_overrides_an_earlier_one() -> None:
    found = commands("M92 E96\nM92 E438\n")
    assert values(found) == {"feeder.steps_per_mm": 438}
    assert [reading.text for reading in found.twins["feeder.steps_per_mm"]] == ["96"]
    assert found.doubts[0].place.line == 1


def test_a_tool_letter_beside_what_a_line_sets_is_a_doubt() -> None:
    found = commands("M203 T1 E55\n")
    assert values(found) == {}
    assert found.doubts[0].place.line == 1


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("D40 E96.5 ; steps per mm\n", {"feeder.steps_per_mm": 96.5}),
        ("D41 X9000 Y9000 ; fastest x and y, mm/min\n", {"axis.x.max_speed": 150, "axis.y.max_speed": 150}),
        ("D42 E1.0 ; run current in A peak\n", {"motor.run_current": 0.70710678}),
        ("D43 L5.5 ; retraction length\n", {"retraction.length": 5.5}),
        (
            "(retraction: length, speed in mm/min)\nD44 L5 F2400\n",
            {"retraction.length": 5, "retraction.speed": 40},
        ),
        ("(probe)\nD45 X-20 Y4 ; offset from the nozzle\n", {"probe.offset_x": -20, "probe.offset_y": 4}),
        ("D46 E1 ; motor reversed\n", {"feeder.direction": 1}),
        ("D47 L0.5 ; lag, s\n", {"lag.coefficient": 0.5}),
        ("D48 L12 ; height of the wind vane, mm\n", {}),
        ("(turntable)\nD49 E96.5 ; steps per mm\n", {}),
        ("D50 E0.4 ; run current of the flour mill\n", {}),
        ("D51 E96.5\n", {}),
    ],
)
def test_a_code_that_no_table_has_is_read_by_the_remark_that_explains_every_word(
    text: str, expected: dict[str, float]
) -> None:
    assert values(commands(text)) == pytest.approx(expected)


def test_what_only_a_remark_explains_is_editable_where_its_unit_is_stated() -> None:
    (told,) = commands("D43 L5.5 ; retraction length\n").readings
    assert not told.editable and "unit" in told.why_not
    (stated,) = commands("D43 L5.5 ; retraction length, mm\n").readings
    assert stated.editable


def test_the_survey_offers_the_line_that_teaches_a_code_which_only_a_remark_explains(tmp_path: Path) -> None:
    text = "M933 L0.4 ; lag of the feed\n"
    (told,) = commands(text).readings
    assert not told.editable
    offered = told.why_not.partition("under codes: ")[2]
    assert offered == "M933.L: {quantity: lag.coefficient, unit: s}"
    (tmp_path / "knot.nc").write_text("G21\nM92 X84 Y86 E96\n" + text)
    (tmp_path / "cfgmigrate.yaml").write_text(f"site: 1\ncodes: {{{offered}}}\n")
    found = read_machine(tmp_path)[1].get("lag.coefficient")
    assert found is not None and found.editable


def test_a_word_whose_remark_only_comes_close_is_offered_as_a_code_too() -> None:
    found = commands("M933 W40 ; max fidget speed of the feeder\n")
    (unread,) = survey_of(found).to_json()["unrecognised"]
    assert "under codes: M933.W: {quantity: feeder.max_speed, unit: mm/s}" in unread["remedy"]


def test_a_tool_that_was_chosen_holds_for_the_lines_behind_it() -> None:
    assert values(commands("T0\nM92 E96\nT1\nM92 E438\n")) == {
        "feeder.steps_per_mm": 96,
        "feeder2.steps_per_mm": 438,
    }


def test_words_of_a_line_with_a_checksum_are_read_and_never_edited() -> None:
    (reading,) = commands("N1 M92 E96*57\n").readings
    assert reading.value == 96 and not reading.editable and "checksum" in reading.why_not


def test_a_numbered_parameter_is_read_by_its_remark() -> None:
    text = "G21\n#101 = 96.5 (feeder, steps per mm)\n"
    (reading,) = commands(text).readings
    assert (reading.quantity, text[reading.start : reading.end]) == ("feeder.steps_per_mm", "96.5")


def test_a_file_of_moves_is_a_script_named_by_its_file() -> None:
    text = "G91\nG1 Z10 F600\nG90\nG1 X4 Y210\n"
    (reading,) = commands(text, "parts/end_of_print.nc").readings
    assert (reading.quantity, reading.text) == ("script.end", text)


def test_a_setting_among_moves_is_not_part_of_their_scripts() -> None:
    text = "G1 Z10\nM92 E96\nG1 Z5\n"
    found = commands(text)
    assert [(r.quantity, r.text) for r in found.readings] == [
        ("script.other", "G1 Z10\n"),
        ("feeder.steps_per_mm", "96"),
        ("script.other2", "G1 Z5\n"),
    ]


def test_every_code_of_the_table_reads_what_its_letters_say() -> None:
    plausible = {"X": 100, "Y": 100, "Z": 10, "E": 100, "S": 1, "F": 1500, "P": 5, "I": 5, "D": 5}
    for code, letters in table_codes().items():
        said = {}
        for letter in letters:
            value = {"M200": 1.75, "M350": 16, "M906": 400, "M201": 500, "M203": 30}.get(
                code, plausible[letter]
            )
            said.update(values(commands(f"{code} {letter}{value}\n")))
        assert said, code


@pytest.mark.parametrize(
    ("text", "code"), [("m92", "M92"), ("M092", "M92"), ("G0", "G0"), ("G28.1", "G28.1"), ("G00", "G0")]
)
def test_a_code_is_the_same_in_any_case_and_with_leading_zeros(text: str, code: str) -> None:
    assert coded(text) == code


@pytest.mark.parametrize("number", [99, 100, 2200])
def test_a_feeder_past_all_counting_is_a_doubt(number: int) -> None:
    found = commands(f"T0\nM207 S5\nT{number}\nM207 S6\n")
    assert values(found) == {"retraction.length": 5}
    assert [(doubt.place.line, doubt.why) for doubt in found.doubts] == [
        (4, f"retraction length: number {number} is more than machines are counted up to")
    ]


def test_several_numbers_joined_in_one_word_are_a_doubt() -> None:
    found = commands("M92 E97 Z402.5/398 ; two screws\n")
    assert values(found) == {"feeder.steps_per_mm": 97}
    assert found.doubts


@pytest.mark.parametrize(
    ("unit", "editable", "kept"),
    [
        ("mm", True, (True, "")),
        ("mm", False, (False, "one number stands for two")),
        ("", True, (False, "no unit is stated")),
        ("", False, (False, "no unit is stated")),
    ],
)
def test_what_only_a_remark_explains_is_edited_with_its_unit_alone_and_never_what_is_not_edited_anyway(
    unit: str, editable: bool, kept: tuple[bool, str]
) -> None:
    document = read("knot.nc", b"Q30 S5.2\n", "command")
    setting = next(each for each in document.settings if each.key == "S")
    spot = Spot(document, setting, unit=units().get(unit) if unit else None)
    (own,) = code_said(spot, Fit("retraction.length", "", "")).readings
    said = Said((replace(own, editable=editable, why_not="" if editable else "one number stands for two"),))
    (found,) = as_told(said, spot).readings
    assert (found.value, found.editable) == (5.2, kept[0])
    assert kept[1] in found.why_not


def test_a_number_with_blanks_in_it_would_be_edited_as_a_whole() -> None:
    """RS-274 ignores blanks within a number (NISTIR 6556, 3.3.2.1, from memory)."""
    text = "M92 X8 4.5 E4 38.40\n"
    found = {each.quantity: (each.value, text[each.start : each.end]) for each in commands(text).readings}
    assert found == {"axis.x.steps_per_mm": (84.5, "8 4.5"), "feeder.steps_per_mm": (438.4, "4 38.40")}


def test_two_numbers_of_the_feeder_s_letter_are_two_feeders() -> None:
    machine = recognise([read("one.gc", b"M92 X80 Y80 Z400 E91.5:92.25\nM203 E40:35\nM92 E405\n", "command")])
    found = {
        (each.quantity, each.holder.name): each.value
        for each in machine.readings
        if each.quantity.startswith("feeder")
    }
    assert found["feeder.max_speed", "1"] == 40
    assert found["feeder.max_speed", "2"] == 35


@pytest.mark.parametrize("last", ["", "T0\n"])
def test_a_tool_s_1_beside_two_numbers_of_one_word_is_the_second_feeder(last: str) -> None:
    machine = recognise([read("one.gc", b"M92 E91.5:92.25\nT1\nM92 E95\n" + last.encode(), "command")])
    found = {str(each.holder): each.value for each in machine.readings}
    assert found == {"feeder 1": 91.5, "feeder 2": 95}
    assert not any("only number of a feeder" in doubt.why for doubt in machine.doubts)


def test_a_diameter_of_0_switches_counting_by_volume_off_and_is_no_filament_s() -> None:
    found = commands("M200 D0\nM92 E96\n")
    assert values(found) == {"feeder.steps_per_mm": 96}
    assert not [each for each in found.doubts if each.place.line == 1]
