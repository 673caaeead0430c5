"""The units that a file's opening remark states are of all its lines, unless it states two."""

from __future__ import annotations

import pytest

from cfgmigrate.machine.head_units import counts_in_mm, file_units


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


def test_a_step_of_what_a_code_sets_states_no_unit_of_the_file() -> None:
    assert not file_units("driver currents are codes: (n + 1) * 10 mA")
    assert set(file_units("driver currents in mA")) == {"current"}
