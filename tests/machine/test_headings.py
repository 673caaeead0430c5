"""A section's heading states the unit of all numbers below it, and clauses that say nothing of what it is about."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.headings import heading
from cfgmigrate.machine.recognise import recognise


def read_as(text: str, dialect: str = "sectioned") -> dict[str, float | None]:
    found = recognise([read("siskin.ini", text.encode(), dialect)])
    return {reading.quantity: reading.value for reading in found.readings}


@pytest.mark.parametrize(
    ("section", "left", "unit", "qualifier"),
    [
        ("top speed mm/min", "top speed", "mm/min", ""),
        ("holding current, mA peak", "holding current", "mA", "peak"),
        ("lag (ms)", "lag", "ms", ""),
        ("mirrored y/n", "mirrored", None, ""),
        ("withdrawal unless a spool says so", "withdrawal", None, ""),
        ("steps per mm", "steps per mm", None, ""),
        ("motor A", "motor A", None, ""),
        ("limits min", "limits min", None, ""),
    ],
)
def test_a_heading_is_parted_into_what_it_is_about_and_the_unit_below(
    section: str, left: str, unit: str | None, qualifier: str
) -> None:
    rest, told = heading(section)
    assert rest == left
    assert (told.unit.name if told.unit else None) == unit
    assert told.qualifier == qualifier


def test_a_table_of_one_kind_of_number_has_the_axes_as_keys() -> None:
    assert read_as("[top speed mm/min]\nx = 12000\ny = 9000\ne = 2400\n") == {
        "axis.x.max_speed": 200,
        "axis.y.max_speed": 150,
        "feeder.max_speed": 40,
    }
    assert read_as("[mirrored y/n]\nx = n\ny = y\n") == {"axis.x.direction": 0, "axis.y.direction": 1}
    assert read_as("[soft limits, mm]\nx lo = -3\nx hi = 190\n") == {"axis.x.min": -3, "axis.x.max": 190}


def test_back_beside_forth_is_the_retraction_and_by_itself_it_is_open() -> None:
    assert read_as("[retraction mm/s]\nback = 42\nforth = 27\n") == {
        "retraction.speed": 42,
        "retraction.return_speed": 27,
    }
    assert read_as("[retraction]\nspeed back = 42 mm/s\n") == {}


def test_a_machines_own_size_is_no_size_that_a_profile_prints() -> None:
    assert "build.x" not in read_as("[machine]\nBuildWidth = 180\n")
    assert read_as("[print]\nbuild width = 180\n") == {"build.x": 180}


def test_the_teeth_of_a_pair_in_two_lines_are_one_ratio_that_is_never_written() -> None:
    text = b"[feeder]\nmotor gear teeth = 17\ndriven gear teeth = 50\n"
    (reading,) = recognise([read("siskin.ini", text, "sectioned")]).readings
    assert (reading.quantity, reading.editable) == ("feeder.gear_ratio", False)
    assert reading.value == 50 / 17 and "neither is written without the other" in reading.why_not


@pytest.mark.parametrize(("value", "editable"), [("0", False), ("0 s", True), ("0.4", True)])
def test_a_lone_zero_of_a_time_may_be_off_and_is_not_edited(value: str, editable: bool) -> None:
    (reading,) = recognise(
        [read("siskin.ini", f"[lag]\ncoefficient = {value}\n".encode(), "sectioned")]
    ).readings
    assert reading.editable is editable
