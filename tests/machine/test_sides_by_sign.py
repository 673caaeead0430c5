"""Sides of the nozzle in remarks beside the signs of the numbers."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise


@pytest.mark.parametrize(
    ("remark", "numbers", "read_as"),
    [
        ("stylus sits left of the nozzle", "X-28 Y3", {"probe.offset_x": -28, "probe.offset_y": 3}),
        ("stylus in front of the nozzle, mm", "X4 Y-19", {"probe.offset_x": 4, "probe.offset_y": -19}),
        ("stylus sits left of the nozzle", "X28 Y3", {}),
        ("nozzle sits left of the stylus", "X-28 Y3", {}),
        ("offset of the nozzle, left of the stylus", "X-28 Y3", {}),
        ("brush hangs left of the nozzle", "X-28 Y3", {}),
    ],
)
def test_a_side_that_the_sign_says_as_well_leaves_the_offset(
    remark: str, numbers: str, read_as: dict[str, float]
) -> None:
    found = recognise([read("one.nc", f"; {remark}\nC12 {numbers}\n".encode(), "command")])
    assert {each.quantity: each.value for each in found.readings} == read_as
