"""Sides of the nozzle in remarks beside the signs of the numbers."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.sides_by_sign import end_by_sign


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


@pytest.mark.parametrize(
    ("key", "meant"),
    [("x-", "x min"), ("Y+", "Y max"), ("-z", "z min"), ("x axis +", "x max"), ("X_−", "X min"), ("e-", "e-"), ("-x-", "-x-"), ("x", "x"),
     ("", ""), ("-", "-"), ("x- pin", "x- pin"), ("max-", "max-")],
)  # fmt: skip
def test_an_axis_with_a_sign_is_one_of_its_ends(key: str, meant: str) -> None:
    assert end_by_sign(key) == meant


def test_the_lower_end_of_an_axis_is_no_limit_upwards() -> None:
    found = recognise(
        [read("one.ini", b"[limits]\nx- = 12\nx+ = 230\n[mesh]\nx- = 20\nx+ = 200\n", "sectioned")]
    )
    assert {each.quantity: each.value for each in found.readings} == {
        "axis.x.min": 12,
        "axis.x.max": 230,
        "mesh.from_x": 20,
        "mesh.to_x": 200,
    }
    assert not found.doubts
