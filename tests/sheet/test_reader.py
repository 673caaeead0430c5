"""Reading a swap sheet: every right sheet comes out as values, every wrong one as one clear error."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from cfgmigrate.ground.findings import BadInput
from cfgmigrate.sheet.model import SheetEntry
from cfgmigrate.sheet.reader import parse_sheet, read_sheet
from cfgmigrate.sheet.schema import Field, sheet_schema

SCHEMA = sheet_schema()
NAMES = [(section, name) for section in ("", *SCHEMA.sections) for name in SCHEMA.names_in(section)]
LETTERS = "abcdefghijklmnopqrstuvwxyz_"

#: the design's own sheet
SHEET = """\
machine: Wren
old:
  drive: tube-fed                    # or: on the carriage
  tube: {length: 420 mm, bore: 2.0 mm, bend: 200 deg}
  retraction: 5.4 mm
  lag: 0.55 s
new:
  drive: on the carriage
  drive_gear: {effective_diameter: 7.33 ± 0.06 mm, gear_ratio: 50:9, external_meshes: 1}
  feed_per_turn: 4.15 mm
  tube: {length: 38 mm, bore: 2.0 mm, bend: 0 deg}
  motor: {rated_current: 1.0 A, recommended_current: 0.45 A, step_angle: 1.8 deg, winding_resistance: 2.1 ohm, holding_torque: 9 N*cm}
  driver: {part: TMC2209, set_by: serial, sense_resistor: 0.11 ohm}
  mount: {material: ABS}
filament: {material: PLA, diameter: 1.75 mm}
surroundings: {air: 45 degC}
carriage: {old_mass: 310 g, new_mass: 395 g, nozzle_shift: {x: 0 mm, y: -3.5 mm}}
clearance: {highest_z: 188.5 mm, keep_clear: 2 mm}
"""


def entries(text: str) -> dict[str, SheetEntry]:
    return dict(parse_sheet(text.encode(), "s.yaml").entries)


def refusal(text: str | bytes) -> BadInput:
    with pytest.raises(BadInput) as caught:
        parse_sheet(text if isinstance(text, bytes) else text.encode(), "s.yaml")
    return caught.value


def nested(path: str, value: str) -> str:
    *above, name = path.split(".")
    lines = [f"{'  ' * depth}{word}:" for depth, word in enumerate(above)]
    return "\n".join([*lines, f"{'  ' * len(above)}{name}: {value}"]) + "\n"


@pytest.mark.parametrize(
    ("said", "rule"),
    [("1.25 A/V", 0.8), ("0.8 V/A", 0.8), ("one volt is 1.25 ampere", 0.8), ("1 A/V", 1.0)],
)
def test_the_rule_of_a_screw_may_stand_either_way_round(said: str, rule: float) -> None:
    name = "new.driver.volts_per_amp"
    assert entries(nested(name, said))[name].value == pytest.approx(rule)


def test_the_sheet_of_the_design_is_read_with_values_units_and_lines() -> None:
    sheet = parse_sheet(SHEET.encode(), "s.yaml")
    assert sheet.machine == "Wren" and sheet.source == SHEET.encode() and len(sheet.entries) == 33
    gear = sheet.entries["new.drive_gear.effective_diameter"]
    assert (gear.value, gear.uncertainty, gear.unit, gear.text) == (7.33, 0.06, "mm", "7.33 ± 0.06 mm")
    assert (gear.place.line, SHEET.splitlines()[8][gear.place.column - 1 :][:4]) == (9, "7.33")
    ratio = sheet.entries["new.drive_gear.gear_ratio"]
    assert (ratio.value, ratio.text) == (pytest.approx(50 / 9), "50:9")
    assert sheet.entries["carriage.nozzle_shift.y"].value == -3.5
    assert sheet.entries["surroundings.air"].value == 45.0
    assert (sheet.entries["old.drive"].word, sheet.entries["filament.material"].word) == ("tube-fed", "PLA")


@pytest.mark.parametrize("field", SCHEMA.fields.values(), ids=lambda field: field.path)
def test_every_field_s_example_reads_from_a_sheet_that_has_it_alone(field: Field) -> None:
    found = entries(nested(field.path, field.example))
    assert list(found) == [field.path]


@pytest.mark.parametrize(
    "text", ["", "# nothing\n", "---\n", "old:\nnew:\n  tube:\n", "old: {retraction: }\n", "old: {lag: ~}\n"]
)
def test_what_is_empty_is_missing(text: str) -> None:
    assert entries(text) == {}
    assert entries(text.replace("\n", "\r\n")) == {}


def test_a_byte_order_mark_and_carriage_returns_change_nothing() -> None:
    plain = entries(SHEET)
    assert (
        dict(parse_sheet(b"\xef\xbb\xbf" + SHEET.replace("\n", "\r\n").encode(), "s.yaml").entries) == plain
    )


def test_words_are_read_in_any_case_and_spacing_and_kept_in_one() -> None:
    text = "new: {drive: On_the  CARRIAGE, driver: {part: tmc2209}, mount: {material: petg}}\nsurroundings: {enclosed: TRUE}\n"
    assert [entry.word for entry in entries(text).values()] == ["on the carriage", "TMC2209", "PETG", "yes"]


@st.composite
def misspelt(draw: st.DrawFn) -> tuple[str, str, str]:
    """A section, a name that may stand in it, and that name with one letter wrong."""
    section, name = draw(st.sampled_from(NAMES))
    at = draw(st.integers(0, len(name) - 1))
    letter = draw(st.sampled_from(LETTERS))
    wrong = draw(
        st.sampled_from(
            [
                name[:at] + letter + name[at + 1 :],
                name[:at] + letter + name[at:],
                name[:at] + name[at + 1 :],
                name[:at] + name[at + 1 : at + 2] + name[at] + name[at + 2 :],
                name[:at] + name[at].upper() + name[at + 1 :],
                name.replace("_", "-") if "_" in name else name.title(),
            ]
        )
    )
    assume(wrong and wrong not in SCHEMA.names_in(section))
    return section, name, wrong


@given(misspelt())
def test_a_name_with_one_letter_wrong_gets_the_right_one_proposed(case: tuple[str, str, str]) -> None:
    section, name, wrong = case
    path = f"{section}.{wrong}" if section else wrong
    error = refusal(nested(path.replace(wrong, f"'{wrong}'") if not section else f"{section}.'{wrong}'", "1"))
    assert error.place is not None and error.place.line == len(section.split(".")) * bool(section) + 1
    assert f"there is no field {path}" in error.what
    assert re.search(rf"(?<![\w]){name}(?![\w])", error.remedy), (case, error.remedy)


@pytest.mark.parametrize(
    ("text", "place", "what", "remedy"),
    [
        ("nwe: {drive: x}\n", "1:1", "there is no field nwe", "Did you mean new?"),
        ("new:\n  tube: {lenght: 5 mm}\n", "2:10", "there is no field new.tube.lenght", "new.tube.length"),
        ("new:\n  tube_length: 5 mm\n", "2:3", "there is no field new.tube_length", "new.tube.length"),
        ("carriage:\n  mass_added: 190 g\n", "2:3", "no field carriage.mass_added", "carriage.new_mass"),
        ("new:\n  sensor_distance: 90 mm\n", "2:3", "no field new.sensor_distance", "new.filament_behind_sensor"),
        ("new:\n  gear_ratio: 46:12\n", "2:3", "no field new.gear_ratio", "new.drive_gear.gear_ratio"),
        ("carriage:\n  beam_weight: 2 kg\n", "2:3", "no field carriage.beam_weight", "carriage.beam_mass"),
        ("bore: 2 mm\n", "1:1", "there is no field bore", "old.tube.bore, new.tube.bore"),
        ("carriage: {nozzle_shift: {w: 1 mm}}\n", "1:27", "there is no field", "Allowed here: x, y, z."),
        ("<<: {machine: Wren}\n", "1:1", "there is no field <<", "Allowed here"),
        ("old: {tube: {length: 420 V}}\n", "1:22", "'V' is a unit of voltage, not of length", "in mm"),
        ("old: {tube: {length: 420}}\n", "1:22", "'420' has no unit", "420 mm"),
        ("old: {tube: {length: -420 mm}}\n", "1:22", "negative", "The length of the tube"),
        ("old: {tube: {length: 420 m}}\n", "1:22", "can't be right", "from 0 to 5000 mm"),
        ("new: {feed_per_turn: 4.15 ± -1 mm}\n", "1:22", "below 0", ""),
        ("new: {feed_per_turn: nan mm}\n", "1:22", "not a finite number", ""),
        ("new: {feed_per_turn: .inf}\n", "1:22", "no number", ""),
        ("new: {feed_per_turn: ''}\n", "1:22", "nothing between the quotes", "4.15 mm"),
        ("new: {feed_per_turn: {value: 4.15 mm}}\n", "1:22", "takes one value", "4.15 mm"),
        ("new: {feed_per_turn: [4.15 mm]}\n", "1:22", "takes one value", "4.15 mm"),
        ("new: {drive_gear: {gear_ratio: 46:15, 3:1}}\n", "1:39", "no field", "46:15 x 3:1"),
        ("new: {drive_gear: {gear_ratio: [46:15, 3:1]}}\n", "1:32", "takes one value", "46:15 x 3:1"),
        ("new: {drive_gear: {external_meshes: 1.5}}\n", "1:37", "no whole number", "digits only"),
        ("new: {microsteps: 12}\n", "1:19", "no driver makes so many", "1, 2, 4, 8, 16"),
        ("new: {drive_gear: {efficiency: 130 %}}\n", "1:32", "can't be right", "from 0.05 to 1"),
        ("new: {drive: carriage}\n", "1:14", "not one of its words", "Did you mean on the carriage?"),
        ("filament: {material: PTEG}\n", "1:22", "not one of its words", "Did you mean PETG?"),
        ("new: {driver: {part: TMC2290}}\n", "1:22", "not one of its words", "Did you mean TMC2209?"),
        ("surroundings: {enclosed: 2}\n", "1:26", "not one of its words", "yes, no"),
        ("machine: ''\n", "1:10", "not a line of text", "Wren"),
        ('machine: "a\\nb"\n', "1:10", "not a line of text", "Wren"),
        ("old: 5 mm\n", "1:6", "old holds fields, not one value", "drive, tube"),
        ("old:\n- 5 mm\n", "2:1", "old holds fields, not a list", "drive, tube"),
        ("- 5 mm\n", "1:1", "a swap sheet holds fields, not a list", "machine"),
        ("just words\n", "1:1", "a swap sheet holds fields, not one value", "machine"),
        ("old: {lag: 0.5 s}\nold: {}\n", "2:1", "second time", "one of the two"),
        ("filament: {diameter: 1.75 mm}\nnew: {tube: {bore: 1.7 mm}}\n", "2:20", "not more than filament.diameter", "slip"),
        ("old: {tube: {bore: 1,9 mm}}\n", "1:20", "'1,9 mm' has a comma in its number", "Write 1.9 mm instead"),
        ("old: {tube: {length: 1,455 mm}}\n", "1:22", "has a comma", "Write 1.455 mm or 1455 mm instead"),
        ("old: {retraction: 5,5 ± 0,5 mm}\n", "1:19", "'5,5' has a comma in its number", "Write 5.5 instead"),
        ("old: {tube: {length: 4, 9 mm}}\n", "1:22", "'4' has no unit. Write 4 mm", ""),
        ("new: {motor: {recommended_current: 0.6 ohm peak}}\n", "1:36", "'ohm' is a unit of resistance", "Write it in A"),
        ("a: [", "1:5", "not YAML", ""),
        ("new: {feed_per_turn: 9.2 ± 20 mm}\n", "1:22", "a slip", "leave it out"),
        ("new: {feed_per_turn: 9.2 ± 9.2 mm}\n", "1:22", "a slip", "leave it out"),
        ("new: {feed_per_turn: 9.2 ± 4.7 mm}\n", "1:22", "a slip", "leave it out"),
        ("new: {feed_per_turn: 9.2 ± 1e4 mm}\n", "1:22", "a slip", "leave it out"),
        ("new: {feed_per_turn: 9.2 ± 1e155 mm}\n", "1:22", "a slip", "leave it out"),
        ("new: {feed_per_turn: 9.2 mm ± 100 %}\n", "1:22", "a slip", "leave it out"),
        ("new: {feed_per_turn: 9.2(1)e999 mm}\n", "1:22", "not a finite number", ""),
        ("new: {tube: {bend: 0 ± 400 deg}}\n", "1:20", "a slip", "leave it out"),
        ("surroundings: {air: 40 ± 40 K}\n", "1:21", "can't be right", ""),
        ("surroundings: {air: 40 degC ± 40 K}\n", "1:21", "a slip", "leave it out"),
        ("carriage: {nozzle_shift: {x: 0.2 ± 150 mm}}\n", "1:30", "a slip", "leave it out"),
        ("carriage: {nozzle_shift: {x: 9.2 ± 20 mm}}\n", "1:30", "a slip", "leave it out"),
        ("carriage: {nozzle_shift: {z: 0 ± 20 mm}}\n", "1:30", "a slip", "leave it out"),
        ("clearance: {lowest_x: -2 ± 60 mm}\n", "1:23", "a slip", "leave it out"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_said_where_it_stands(text: str, place: str, what: str, remedy: str) -> None:
    error = refusal(text)
    assert str(error.place) == f"s.yaml:{place}"
    assert what in error.what and remedy in error.remedy
    assert error.status == 2


@pytest.mark.parametrize(
    "text",
    [
        "new: {feed_per_turn: 9.2 ± 4.5 mm}",
        "new: {tube: {bend: 0 ± 5 deg}}",
        "carriage: {nozzle_shift: {x: 0.2 ± 0.3 mm}}",
        "surroundings: {air: 5 degC ± 8 K}",
    ],
)
def test_a_large_uncertainty_that_can_be_meant_is_believed(text: str) -> None:
    (entry,) = entries(text).values()
    assert entry.uncertainty > 0


@pytest.mark.parametrize("field", SCHEMA.fields.values(), ids=lambda field: field.path)
def test_every_number_is_bounded(field: Field) -> None:
    assert not field.numeric or field.high < 1e6


def test_several_wrong_lines_are_told_at_once_in_the_order_of_the_sheet() -> None:
    text = "new:\n  tube: {lenght: 5 mm, bore: 2 V}\nclearance: [3 mm]\nfilament: {material: PTEG}\n"
    told = str(refusal(text)).splitlines()
    assert [line.split(": ")[0] for line in told] == [
        "s.yaml:2:10",
        "s.yaml:2:30",
        "s.yaml:3:12",
        "s.yaml:4:22",
    ]


def test_a_sheet_that_is_not_there_or_is_a_folder_is_one_clear_error(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="can't be read"):
        read_sheet(tmp_path / "none.yaml")
    with pytest.raises(BadInput, match="is not an ordinary file"):
        read_sheet(tmp_path)
    sheet = tmp_path / "wren.yaml"
    sheet.write_text(SHEET, encoding="utf-8")
    assert read_sheet(sheet).entries["machine"].place.file == str(sheet)


@pytest.mark.parametrize(
    "path",
    sorted((Path(__file__).parents[2] / "sample_configs/sheets").glob("*.yaml")),
    ids=lambda path: path.name,
)
def test_every_sheet_of_the_samples_reads(path: Path) -> None:
    assert len(read_sheet(path).entries) > 5


pieces = st.sampled_from(
    ["new", "old", "tube", "length", "machine", ": ", ":\n", "\n", "  ", "{", "}", "[", "]", ", ", "- ", "5 mm", "±", "&a ", "*a", "'", '"', "#", "50:9", "\t"]
)  # fmt: skip


@given(st.lists(pieces, max_size=30).map("".join))
def test_any_text_is_a_sheet_or_one_clear_error(text: str) -> None:
    try:
        sheet = parse_sheet(text.encode(), "s.yaml")
    except BadInput as error:
        assert error.what and error.place is not None
    else:
        assert set(sheet.entries) <= set(SCHEMA.fields)


def test_a_field_that_had_another_name_before_is_still_read_by_it() -> None:
    before = entries("old: {prime_speed: 30 mm/s, prime_extra: 0.05 mm, lag_smoothing: 40 ms}\n")
    now = entries("old: {return_speed: 30 mm/s, extra_on_return: 0.05 mm, lag_averaging: 40 ms}\n")
    assert {path: entry.value for path, entry in before.items()} == {
        path: entry.value for path, entry in now.items()
    }
    assert "is here twice" in str(refusal("old: {prime_speed: 30 mm/s, return_speed: 30 mm/s}\n"))


@pytest.mark.parametrize(
    ("text", "path", "value"),
    [
        ("new: {drive_gear: {effective_diameter: 118 mm in 5 turns}}\n", "new.drive_gear.effective_diameter", 7.51211),
        ("carriage: {new_mass: 285 g + 168 g}\n", "carriage.new_mass", 0.453),
        ("new: {path_length: between 58 and 64 mm}\n", "new.path_length", 61.0),
        ("new: {drive_gear: {gear_ratio: '14 -> 35, then 18 -> 54'}}\n", "new.drive_gear.gear_ratio", 7.5),
    ],
)  # fmt: skip
def test_a_sheet_takes_what_the_interview_takes_at_the_bench(text: str, path: str, value: float) -> None:
    entry = parse_sheet(text.encode(), "s.yaml").entries[path]
    scale = 1000.0 if entry.unit == "g" else 1.0
    assert entry.value == pytest.approx(value * scale, rel=1e-5)


@pytest.mark.parametrize("text", ["between 58 and 64", "58 to 64", "about 60"])
def test_a_sheet_adds_no_unit_to_what_has_none(text: str) -> None:
    with pytest.raises(BadInput):
        parse_sheet(f"new: {{path_length: {text}}}\n".encode(), "s.yaml")
