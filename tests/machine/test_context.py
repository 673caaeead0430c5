"""What stands beside a key says what it is: a unit in the key, and the keys of its section."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.context import key_dimension
from cfgmigrate.machine.recognise import recognise


@pytest.mark.parametrize(
    ("key", "measure"),
    [
        ("max mm per min", "speed"),
        ("speed mm s", "speed"),
        ("length mm", "length"),
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
    ("section", "keys", "read_as"),
    [
        ("axis x", "speed acceleration", {"axis.x.max_speed", "axis.x.max_acceleration"}),
        ("axis x", "speed", set()),
        ("axis x", "speed quux", set()),
        ("feeder", "speed acceleration", {"feeder.max_speed", "feeder.max_acceleration"}),
        ("feeder", "speed", set()),
        ("speed", "x y", {"axis.x.max_speed", "axis.y.max_speed"}),
        ("speed", "x y feeder", {"axis.x.max_speed", "axis.y.max_speed", "feeder.max_speed"}),
        ("speed", "x", set()),
        ("retraction", "speed", {"retraction.speed"}),
        ("lamp", "speed acceleration", set()),
    ],
)
def test_speeds_are_limits_where_they_stand_beside_accelerations_or_for_several_axes(
    section: str, keys: str, read_as: set[str]
) -> None:
    text = f"[{section}]\n" + "".join(
        f"{key} = {900 if key == 'acceleration' else 40}\n" for key in keys.split()
    )
    found = recognise([read("one.ini", text.encode(), "sectioned")])
    assert {each.quantity for each in found.readings} == read_as


def test_a_rest_beside_a_current_is_one() -> None:
    for keys, read_as in (("rest = 0.4 A rms\ncurrent = 0.8 A rms\n", True), ("rest = 4\nwait = 8\n", False)):
        found = recognise([read("one.ini", f"[feeder driver]\n{keys}".encode(), "sectioned")])
        assert ("motor.hold_current" in {each.quantity for each in found.readings}) is read_as
