"""A remark that would make another thing of a setting than its name says is asked about."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise


def machine(text: str, dialect: str = "sectioned") -> Machine:
    return recognise([read("rail", text.encode(), dialect)])


@pytest.mark.parametrize(
    ("text", "about"),
    [
        ("[feeder]\ncurrent = 0.82 ; hold is half\n", "motor.run_current"),
        ("[feeder]\ncurrent = 0.82 # resting 0.4\n", "motor.run_current"),
        ("[machine]\nretraction = 6.0 ; inherits speed\n", "retraction.length"),
        ("[machine]\nlag = 0.48 ; averaging off\n", "lag.coefficient"),
        ("[z]\nlimit = 252 ; speed 12\n", "axis.z.max"),
    ],
)
def test_nothing_is_taken_where_name_and_remark_say_two_things(text: str, about: str) -> None:
    found = machine(text)
    assert not found.readings
    assert [doubt.about for doubt in found.doubts] == [about]


@pytest.mark.parametrize(
    ("text", "quantity"),
    [
        ("[feeder]\ncurrent = 0.82 ; amperes rms\n", "motor.run_current"),
        ("[feeder]\nhold = 0.4 ; current in A\n", "motor.hold_current"),
        ("[machine]\nretraction length = 6.0 ; inherits speed\n", "retraction.length"),
    ],
)
def test_a_remark_that_completes_a_name_or_says_nothing_else_is_heeded(text: str, quantity: str) -> None:
    assert [reading.quantity for reading in machine(text).readings] == [quantity]


def test_a_header_s_remark_is_none_of_the_name_either() -> None:
    found = machine(
        "#define Z_MAX 252  // homes at 5 mm/s\n#define FEEDER_CURRENT 820 // mA; hold 50 %\n", "header"
    )
    assert {reading.quantity for reading in found.readings} <= {"axis.z.max", "motor.run_current"}
