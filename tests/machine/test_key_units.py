"""A unit in a key says what is measured, and nothing else."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.key_units import key_dimension
from cfgmigrate.machine.recognise import recognise


@pytest.mark.parametrize(
    ("key", "measure"),
    [
        ("max mm per min", "speed"),
        ("speed mm s", "speed"),
        ("length mm", "length"),
        ("largest position in millimetres", "length"),
        ("top speed in millimetres per minute", "speed"),
        ("ramp millimeters per second squared", "acceleration"),
        ("ramp millimetres per second per second", "acceleration"),
        ("mm", "length"),
        ("current ma", "current"),
        ("current ma rms", "current"),
        ("a", "current"),
        ("a wait", ""),
        ("wait s", "time"),
        ("s wait", ""),
        ("steps per mm", ""),
        ("wait", ""),
        ("", ""),
    ],
)
def test_the_longest_unit_in_a_key_is_its_measure_and_a_letter_at_the_end_only(
    key: str, measure: str
) -> None:
    assert key_dimension(tuple(key.split())) == ((measure,) if measure else ())


@pytest.mark.parametrize(
    ("key", "read_as"),
    [
        ("speed in mm/min", "retraction.speed"),
        ("speed in mm per minute", "retraction.speed"),
        ("speed in, mm/min", "retraction.return_speed"),
        ("speed in", "retraction.return_speed"),
        ("push in mm", "feeder.load_length"),
        ("steps (steps/mm)", "feeder.steps_per_mm"),
        ("pulses in steps per mm", "feeder.steps_per_mm"),
        ("steps_for_50_mm", ""),
    ],
)
def test_a_unit_at_a_key_s_end_says_no_direction_and_no_further_thing(key: str, read_as: str) -> None:
    section = "retraction" if "speed" in key else "feeder"
    machine = recognise([read("a.conf", f"[{section}]\n{key} = 480\n".encode(), "sectioned")])
    assert [each.quantity for each in machine.readings] == [read_as] * bool(read_as)
