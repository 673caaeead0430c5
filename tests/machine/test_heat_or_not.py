"""Words of heat are a limit of a temperature where the number can be one."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise


def machine(lines: str) -> Machine:
    return recognise([read("one.ini", (lines.replace("|", "\n") + "\n").encode(), "sectioned")])


@pytest.mark.parametrize(
    ("lines", "quantity"),
    [
        ("[hotend]|min temp = 170", "feeder.min_feed_temperature"),
        ("[hotend]|min temp = 100", "feeder.min_feed_temperature"),
        ("[hotend]|min temp = 99", "heater.hotend.min_temperature"),
        ("[feeder]|min temp = 170", "feeder.min_feed_temperature"),
        ("[bed]|min temp = 170", "heater.bed.min_temperature"),
        ("[hotend]|sensor = NTC 100k", "heater.hotend.sensor"),
    ],
)
def test_a_least_temperature_that_melts_plastic_guards_the_feed_and_any_other_the_sensor(
    lines: str, quantity: str
) -> None:
    assert [each.quantity for each in machine(lines).readings] == [quantity]


@pytest.mark.parametrize(
    ("text", "dialect", "held"),
    [
        ('{"pushers": {"both": {"top": 60, "steps per mm": 96.5}}}', "nested", False),
        ("[pusher]\ntop = 60\n", "sectioned", False),
        ("[pusher]\ntop = 275\n", "sectioned", True),
        ("[pusher]\ntop temperature = 120\n", "sectioned", True),
        ("[pusher]\ntop = 4500\n", "sectioned", False),
        ("[pusher]\ntop = 500\n", "sectioned", True),
        ("[hotend]\ntop = 554\n", "sectioned", True),
    ],
)
def test_a_top_that_no_hot_end_has_as_its_limit_is_asked_about_and_not_protected(
    text: str, dialect: str, held: bool
) -> None:
    machine = recognise([read("m.txt", text.encode(), dialect)])
    assert ("heater.hotend.max_temperature" in {each.quantity for each in machine.readings}) is held
    assert bool(machine.doubts) is not held
