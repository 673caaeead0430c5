"""What is explained of a code as a jerk, an acceleration or a lag, and no rule has, is told once a line, where it was made for the old drive."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.perhaps import perhaps
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.teach import teachable
from cfgmigrate.machine.teachable import PATH
from cfgmigrate.plan.dynamics_in_codes import dynamics_in_codes

FILE = """\
; K10 steps per mm
; K22 jerk, mm per minute
; K23 acceleration: P printing  R pull back  T travel
; K90 glow of the lamp
K10 X80 Y80 Z800 E188.2
K22 X540 Y480 Z24
K22 Z24
K22 E300
K23 P2500 R4000 T3000
K90 P30
K22 E0
"""
LOWERED, OF_THE_DRIVE = "axis.x.max_acceleration", "feeder.steps_per_mm"


@pytest.mark.parametrize(
    ("changed", "lines"),
    [
        ({LOWERED}, [6, 9]),
        # the jerk of the feed is a quantity, told where it stays (lines_left)
        ({OF_THE_DRIVE}, [9]),
        ({LOWERED, OF_THE_DRIVE}, [6, 9]),
        ({"axis.z.max"}, []),
    ],
)
def test_only_what_the_swap_is_about_is_told(changed: set[str], lines: list[int]) -> None:
    machine = recognise([read("setup.nc", FILE.encode(), "command")])
    found = list(dynamics_in_codes(machine, changed))
    assert [line for _, line, _, _ in found] == lines
    assert all(FILE.splitlines()[line - 1] == text for _, line, text, _ in found)
    whys = {line: why for _, line, _, why in found}
    assert all(("a jerk" if line < 9 else "an acceleration") in why for line, why in whys.items())


def test_a_lag_of_which_nobody_says_which_letter_it_is_is_told() -> None:
    text = "M92 E95.5\nK72 D0 S0.68 ; lag in seconds\n"
    found = dynamics_in_codes(recognise([read("setup.nc", text.encode(), "command")]), {OF_THE_DRIVE})
    assert [(line, why.partition(" by ")[0]) for _, line, _, why in found] == [(2, "a lag")]


LISTING = """\
board: steps per unit:
board:  M92 X80.00 Y80.00 Z400.00 E148.90
board: lag of the flow:
board:  K72 D0 S0.66
board: filament load/unload lengths:
board:  K73 L480.00 U560.00
"""


def test_what_stands_below_a_title_of_a_console_is_what_the_title_says() -> None:
    machine = recognise([read("board.txt", LISTING.encode(), "command")])
    found = dynamics_in_codes(machine, {OF_THE_DRIVE})
    assert [(line, why.partition(" by ")[0]) for _, line, _, why in found] == [(4, "a lag")]
    assert not perhaps(machine)  # a length to load is no height, whatever its number
    near = [each for each in teachable(machine, {480: PATH}) if each.near]
    assert [each.text for each in near] == ["480.00", "560.00"]
