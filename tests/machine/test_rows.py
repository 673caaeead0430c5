"""A number of a row for all axes is taught as the row, and a row by a part of its measure's words is near it."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.rows import nearest_rows, taught_as
from cfgmigrate.machine.words import read_name


@pytest.mark.parametrize(
    ("value", "quantity", "taught"),
    [
        ("8 9 7 5", "motor.run_current", "axis.@.run_current"),
        ("8 9 7", "axis.y.run_current", "axis.@.run_current"),
        ("8 9 7", "motor.run_current", "motor.run_current"),
        ("8", "motor.run_current", "motor.run_current"),
        ("8 of 9", "axis.x.run_current", "axis.x.run_current"),
        ("8 9 7 5", "retraction.length", "retraction.length"),
    ],
)
def test_what_a_number_is_taught_as(value: str, quantity: str, taught: str) -> None:
    (setting,) = read("hen", f"[it]\nrow = {value}\n".encode(), "sectioned").settings
    assert taught_as(setting, quantity) == taught


@pytest.mark.parametrize(
    ("section", "value", "last"),
    [
        ("speeds", "9 9 2 40", "feeder.max_speed"),
        ("speeds", "9 9 2", "axis.z.max_speed"),
        ("speeds", "9", ""),
        ("lamp", "9 9 2", ""),
    ],
)
def test_a_row_below_a_part_of_a_measure_is_near_it(section: str, value: str, last: str) -> None:
    assert (*nearest_rows(read_name(section, "row"), value), "")[-2 if last else 0] == last
