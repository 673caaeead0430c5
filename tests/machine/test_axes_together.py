"""A name of several axes means of each what it means with that axis alone."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.axes_together import _reach, letters_of
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.words import read_name


def machine(text: str, dialect: str = "flat") -> Machine:
    return recognise([read("grebe.txt", text.encode(), dialect)])


def read_as(found: Machine) -> dict[str, float | None]:
    return {reading.quantity: reading.value for reading in found.readings}


@pytest.mark.parametrize(
    ("text", "dialect"),
    [
        ("xyz_speed_limit = 300, 280, 14", "flat"),
        ("[axes, X Y Z]\ntop speed = 300, 280, 14", "sectioned"),
        ("#define LIMIT_SPEED_XYZ {300, 280, 14}", "header"),
        ('{"max speed of x, y and z": [300, 280, 14]}', "nested"),
    ],
)
def test_a_list_has_a_number_for_each_axis_that_the_name_has(text: str, dialect: str) -> None:
    wanted = {"axis.x.max_speed": 300, "axis.y.max_speed": 280, "axis.z.max_speed": 14}
    assert read_as(machine(text + "\n", dialect)) == wanted


def test_a_list_of_ratios_is_a_ratio_for_each_axis_and_no_product() -> None:
    found = machine('{"gear_ratio_xyz": ["32:16", "48:16", "1:1"]}', "nested")
    assert read_as(found) == {"axis.x.gear_ratio": 2, "axis.y.gear_ratio": 3, "axis.z.gear_ratio": 1}


def test_one_number_for_two_axes_is_read_for_both_and_never_edited() -> None:
    found = machine("xy_hardest = 2600\n")
    assert read_as(found) == {"axis.x.max_acceleration": 2600, "axis.y.max_acceleration": 2600}
    assert {reading.why_not for reading in found.readings} == {"one number stands for X and Y"}
    assert found.doubts == ()


@pytest.mark.parametrize(
    "text",
    ["homing speed xyz = 20, 20, 4", "xyz_speed_limit = 300, 280", "turntable xyz speed limit = 3, 2, 1"],
)
def test_what_is_of_something_else_or_of_another_number_of_axes_is_not_read(text: str) -> None:
    assert machine(text + "\n").readings == ()


def test_what_z_has_none_of_is_0_in_a_list_of_three() -> None:
    found = machine("[axes x y z]\nringing frequency = 62, 47, 0\n", "sectioned")
    assert read_as(found) == {"resonance.x": 62, "resonance.y": 47}


def test_a_list_of_two_is_of_x_and_y_where_z_has_none_of_it() -> None:
    assert read_as(machine("ringing_frequency = 62, 47\n")) == {"resonance.x": 62, "resonance.y": 47}
    assert read_as(machine("top_speeds = 300, 280\n")) == {}


def test_a_list_of_three_or_four_without_axes_is_in_the_usual_order() -> None:
    three = {"axis.x.max_acceleration": 3000, "axis.y.max_acceleration": 2000, "axis.z.max_acceleration": 100}
    assert read_as(machine("acceleration limits = 3000, 2000, 100\n")) == three
    assert read_as(machine("acceleration limits = 3000, 2000, 100, 5000\n")) == {
        **three,
        "feeder.max_acceleration": 5000,
    }


def test_only_axes_and_what_joins_them_are_looked_at_together() -> None:
    assert _reach(("a",) * 500_000, 0) == 0
    assert _reach(("x", "and", "y", "speed"), 0) == 3
    assert _reach(("speed", "xy"), 1) == 2


@pytest.mark.parametrize(
    ("section", "key", "letters", "rest"),
    [
        ("", "max speed xy", "xy", ("max", "speed")),
        ("", "max speed x y", "xy", ("max", "speed")),
        ("", "max speed x and y", "xy", ("max", "speed")),
        ("", "xyze steps", "xyze", ("step",)),
        ("", "and x y", "xy", ("and",)),
        ("", "x y speed z e", "xy", ("speed", "z", "e")),
        ("xyz", "speed", "xyz", ("speed",)),
        ("axis x y", "speed", "xy", ("axis", "speed")),
        ("", "yx speed", "", ("yx", "speed")),
        ("", "xx speed", "", ("xx", "speed")),
        ("", "x speed y", "", ("x", "speed", "y")),
        ("x", "y speed", "", ("x", "y", "speed")),
        ("", "x speed", "", ("x", "speed")),
    ],
)
def test_axes_side_by_side_in_their_order_are_named_together(
    section: str, key: str, letters: str, rest: tuple[str, ...]
) -> None:
    found, without = letters_of(read_name(section, key))
    assert (found, without.words if not without.section else (*without.section, *without.key)) == (
        letters,
        rest,
    )


@pytest.mark.parametrize(
    ("line", "values", "editable"),
    [
        ("max speed xy = 200, 180", {"x": 200, "y": 180}, True),
        ("max speed xy = 200", {"x": 200, "y": 200}, False),
        ("max speed xyz = 200, 180, 12", {"x": 200, "y": 180, "z": 12}, True),
        ("max speed xy = 200, 180, 12", {}, True),
        ("max speed xyz = 200, 180", {}, True),
        ("max speed x = 200, 180", {}, True),
    ],
)
def test_a_number_each_is_each_axis_s_and_one_number_for_several_is_never_edited(
    line: str, values: dict[str, float], editable: bool
) -> None:
    found = recognise([read("one.ini", f"[motion]\n{line}\n".encode(), "sectioned")])
    read_as = {each.quantity: each for each in found.readings}
    assert {name: each.value for name, each in read_as.items()} == {
        f"axis.{a}.max_speed": v for a, v in values.items()
    }
    assert all(each.editable is editable for each in read_as.values())
