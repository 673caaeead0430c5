"""Two numbers are a range where the name says of which axis, and several are a list of the axes where it says of none."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise

X = {"axis.x.min": 0, "axis.x.max": 235}


@pytest.mark.parametrize(
    ("name", "read_as"),
    [
        ("x travel", X),
        ("range of x", X),
        ("travel", {}),
        ("range", {}),
        ("limits", {}),
        ("fan limits", {}),
        ("x fan limits", {}),
    ],
)
def test_a_range_is_of_one_axis_that_its_name_has(name: str, read_as: dict[str, float]) -> None:
    found = recognise([read("one.conf", f"{name} = 0, 235\n".encode(), "flat")])
    assert {each.quantity: each.value for each in found.readings} == read_as


@pytest.mark.parametrize(
    ("name", "there"), [("top speeds", True), ("fan speeds", False), ("quux top speeds", False)]
)
def test_a_list_of_three_is_of_the_axes_unless_its_name_has_something_else(name: str, there: bool) -> None:
    found = recognise([read("one.conf", f"{name} = 300, 280, 14\n".encode(), "flat")])
    assert [each.value for each in found.readings if each.editable] == ([300, 280, 14] if there else [])


@pytest.mark.parametrize("value", ["1, 0, 1", "yes, no, yes"])
def test_a_list_of_directions_is_a_truth_for_each_axis(value: str) -> None:
    found = recognise([read("one.conf", f"motor directions inverted = {value}\n".encode(), "flat")])
    assert [(each.quantity, each.value) for each in found.readings] == [
        ("axis.x.direction", 1),
        ("axis.y.direction", 0),
        ("axis.z.direction", 1),
    ]
    assert found.doubts == ()
