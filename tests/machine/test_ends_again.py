"""A line that says an end of x or y once more, by its side, is asked about; a side of another thing is none."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.perhaps import perhaps
from cfgmigrate.machine.recognise import recognise

OWN_ENDS = "[axis x]\nlow end = -3\nhigh end = 218\n[axis y]\nlow end = -7\nhigh end = 211\n"


@pytest.mark.parametrize(
    ("line", "end"),
    [
        ("reach left = -3", "axis.x.min"),
        ("furthest right = 218", "axis.x.max"),
        ("reach_front = -7", "axis.y.min"),
        ("reach back = 211", "axis.y.max"),
        ("reach left = -8", ""),
        ("left = -3", ""),
        ("margin left = -3", ""),
        ("mesh reach left = -3", ""),
        ("probe reach right = 218", ""),
        ("screen right = 218", ""),
    ],
)
def test_the_same_end_by_its_side_is_asked_about(line: str, end: str) -> None:
    table = read("b.conf", f"[sender]\n{line}\n".encode(), "sectioned")
    machine = recognise([read("a.conf", OWN_ENDS.encode(), "sectioned"), table])
    assert [each.quantity for each in perhaps(machine) if each.beside] == [end] * bool(end)
