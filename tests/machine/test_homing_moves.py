"""How far an axis goes back from its switch is no retraction, whatever the axis is called."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.near_lengths import lengths_of
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.teach import teachable
from cfgmigrate.machine.teachable import RETRACTION

FEEDER = "[feeder]\nturn length = 22.9\nretraction length = 5\n"


def machine(section: str) -> Machine:
    return recognise([read("stint.ini", (FEEDER + section).encode(), "sectioned")])


def pulls(found: Machine) -> list[int]:
    read = [each.place.line for each in found.every_reading if each.quantity == "retraction.length"]
    near = [
        each.settings[0].place.line for each in teachable(found, lengths_of(found)) if each.near == RETRACTION
    ]
    return [*read, *near]


@pytest.mark.parametrize("name", ["along", "across", "deck", "x"])
@pytest.mark.parametrize("key", ["back-off", "back off", "backOff"])
def test_a_back_off_beside_a_homing_is_no_retraction(name: str, key: str) -> None:
    found = machine(f"[{name}]\nhome = front\nhome-speed = 45\n{key} = 5\n")
    assert pulls(found) == [3]


def test_a_back_off_of_the_feeder_is_one() -> None:
    text = "[filament]\nback off = 5\n"
    assert len(pulls(recognise([read("stint.ini", text.encode(), "sectioned")]))) == 1


def test_a_pull_in_a_section_that_homes_too_is_not_lost() -> None:
    assert pulls(machine("[all]\nhome speed = 45\npull at pause = 5\n")) == [3, 6]


@pytest.mark.parametrize(
    ("text", "asked"),
    [
        ("homing-withdrawal = 5\n", False),
        ("[axes.reference run]\nretreat way = 5\n", False),
        ("withdrawal way = 5\n", True),
        ("homing of the filament, withdrawal way = 5\n", True),
    ],
)
def test_how_far_an_axis_retreats_by_its_own_name_is_near_no_retraction(text: str, asked: bool) -> None:
    found = recognise([read("stint.ini", text.encode(), "sectioned")])
    near = [each.near for each in teachable(found, lengths_of(found)) if each.near]
    assert bool(near or found.readings or found.doubts) is asked
