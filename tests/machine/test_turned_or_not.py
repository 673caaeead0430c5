"""A remark that says how a motor runs, beside a number that says no, is a question."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise

ASKED, READ = True, False


@pytest.mark.parametrize(
    ("text", "dialect", "asked"),
    [
        ("Q31 P3 S0 ; feeder motor reversed\n", "command", ASKED),
        ("Q31 P3 S1 ; feeder motor reversed\n", "command", READ),
        ("Q31 E0 ; feeder reversed, 1 = yes\n", "command", READ),
        ("Q31 X1 Y1 Z1 E0 ; reversed\n", "command", READ),
        ("[feeder]\ndirection = 0 # the other way round\n", "sectioned", ASKED),
        ("[feeder]\ninverted = 0 # reversed\n", "sectioned", READ),
    ],
)
def test_a_0_beside_a_remark_that_a_motor_is_reversed_is_asked_about(
    text: str, dialect: str, asked: bool
) -> None:
    found = recognise([read("knot", text.encode(), dialect)])
    read_as = [each for each in found.readings if each.quantity == "feeder.direction"]
    about = [doubt for doubt in found.doubts if doubt.about == "feeder.direction"]
    assert (len(read_as), len(about)) == ((0, 1) if asked else (1, 0))
