"""What the files call their feeders: sides, names, labels and numbers; what is no name; a name of two."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.called_feeders import called, names_of_feeders
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise

OWN = "[{}]\n{}steps per mm = 96\nretraction length = 5\n"


def machine(first: str, second: str, one: str = "", other: str = "") -> Machine:
    text = OWN.format(first, one) + OWN.format(second, other)
    return recognise([read("f", text.encode(), "sectioned")])


@pytest.mark.parametrize(
    ("first", "second", "names"),
    [
        ("feeder left", "feeder right", {1: "left", 2: "right"}),
        ("right feeder", "left feeder", {1: "left", 2: "right"}),
        ("feeder", "feeder right", {2: "right"}),
        ("feeder a", "feeder b", {1: "a", 2: "b"}),
        ("feeder.red", "feeder.blue", {1: "red", 2: "blue"}),
        ('pusher "rigid"', 'pusher "flex"', {1: "rigid", 2: "flex"}),
        ("feeder 1", "feeder 2", {}),
        ("feeder 0", "feeder 1", {1: "feeder 0 in the files", 2: "feeder 1 in the files"}),
        ("T0", "T1", {1: "tool 0 in the files", 2: "tool 1 in the files"}),
        ("feeder left", "axis x", {1: "left"}),
    ],
)
def test_a_feeder_is_called_as_the_files_call_it(first: str, second: str, names: dict[int, str]) -> None:
    found = machine(first, second)
    assert called(found) == (names if len(found.feeders) > 1 else {})


def test_a_label_in_its_section_is_its_name_and_one_of_two_is_of_neither() -> None:
    assert called(machine("feeder 1", "feeder 2", "name = Red\n", "label = 'blue'\n")) == {
        1: "red",
        2: "blue",
    }
    found = machine("feeder 1", "feeder 2", "name = red\n", "name = red\n")
    assert names_of_feeders(found) == {"red": (1, 2)} and called(found) == {}


def test_what_is_left_behind_is_no_side() -> None:
    found = machine("feeder 1", "feeder 2", other="filament left after runout = 80\n")
    assert called(found) == {}
