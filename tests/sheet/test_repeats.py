"""Repeats of one measurement become their mean, its standard error and their spread.

Numbers: GUM, JCGM 100:2008, H.2, table H.2, the voltages 5.007, 4.994, 5.005, 4.990, 4.999 V with mean 4.999 V
and standard error 0.0032 V (read); 4.2.2, 4.2.3 and 4.3.7 for the formulas.
"""

from __future__ import annotations

import math

import pytest

from cfgmigrate.ground.findings import BadInput
from cfgmigrate.machine.model import Machine
from cfgmigrate.sheet.model import Sheet
from cfgmigrate.sheet.reader import parse_sheet
from cfgmigrate.sheet.schema import measured_schema, sheet_schema
from cfgmigrate.sheet.starter import measured_starter


def feed(moved: str, error: str = "") -> Sheet:
    line = f"\n    reading_error: {error}" if error else ""
    source = f"measured:\n  feed:\n    asked: 5 mm\n    moved: {moved}{line}\n"
    return parse_sheet(source.encode(), "measured.yaml", measured_schema())


def value(sheet: Sheet, name: str) -> float:
    entry = sheet.get(f"measured.feed.moved{name}")
    assert entry is not None and entry.value is not None
    return entry.value


def error(sheet: Sheet) -> float:
    entry = sheet.get("measured.feed.moved")
    assert entry is not None
    return entry.uncertainty


def test_five_readings_of_the_guide_have_its_mean_and_its_standard_error() -> None:
    sheet = feed("[5.007 mm, 4.994 mm, 5.005 mm, 4.990 mm, 4.999 mm]")
    assert value(sheet, "") == pytest.approx(4.999, abs=1e-12)
    assert value(sheet, ".count") == 5
    assert value(sheet, ".spread") == pytest.approx(0.00717635, rel=1e-6)  # s/√5 = 0.0032094
    assert error(sheet) == pytest.approx(0.0032094, rel=1e-4)


def test_units_may_be_mixed() -> None:
    assert value(feed("[0.5 cm, 5 mm, 5000 um]"), "") == pytest.approx(5)


def test_repeats_that_agree_better_than_the_tool_can_read_are_not_surer_than_it() -> None:
    # 0.3 mm as half width of a rectangle: 0.3/√3 for one reading, over √3 for three: 0.1 mm
    assert error(feed("[5 mm, 5 mm, 5 mm]", "0.3 mm")) == pytest.approx(0.1)


def test_repeats_that_scatter_more_than_the_tool_errs_go_by_their_scatter() -> None:
    # s = 1 mm over √3
    assert error(feed("[4 mm, 5 mm, 6 mm]", "0.3 mm")) == pytest.approx(1 / math.sqrt(3))


def test_one_reading_has_the_error_of_the_tool_and_no_spread() -> None:
    for written in ("4.9 mm", "[4.9 mm]"):
        sheet = feed(written, "0.3 mm")
        assert error(sheet) == pytest.approx(0.3 / math.sqrt(3))
        assert sheet.get("measured.feed.moved.spread") is None
        assert value(sheet, ".count") == 1


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("[98 mm, 99]", "has no unit"),
        ("[98 mm, 99 K]", ""),
        ("[98 mm, {a: 1}]", "takes a list of values"),
        ("[98 ± 1 mm]", "no ± of its own"),
        ("{a: 98 mm}", "takes a list of values"),
        ("[-98 mm]", "is negative"),
    ],
)
def test_what_is_no_list_of_lengths_is_one_error_at_its_line(written: str, said: str) -> None:
    with pytest.raises(BadInput) as caught:
        feed(written)
    assert said in str(caught.value)
    assert caught.value.place is not None and (caught.value.place.file, caught.value.place.line) == (
        "measured.yaml",
        4,
    )


def test_every_field_reads_its_own_example() -> None:
    for path, field in measured_schema().fields.items():
        *sections, name = path.split(".")
        lines = [f"{'  ' * depth}{section}:" for depth, section in enumerate(sections)]
        lines.append(f"{'  ' * len(sections)}{name}: {field.example}")
        assert parse_sheet("\n".join(lines).encode(), "m.yaml", measured_schema()).get(path), path


def test_no_field_of_the_measured_sheet_is_one_of_the_swap_sheets_but_the_machine() -> None:
    assert set(measured_schema().fields) & set(sheet_schema().fields) == {"machine"}


def test_the_starter_with_every_comment_taken_away_is_a_sheet_with_every_field() -> None:
    text = measured_starter(Machine((), ()), "wren", "swap.yaml")
    assert parse_sheet(text.encode(), "m.yaml", measured_schema()).machine == "wren"
    # the two temperatures of a winding and the like stand as examples, each by itself right
    lines = [line.replace("# ", "", 1) if "## " not in line else "" for line in text.splitlines()]
    filled = parse_sheet("\n".join(lines).encode(), "m.yaml", measured_schema())
    fields = measured_schema().fields.values()
    assert {field.path for field in fields if not field.several} <= set(filled.entries)
