"""What is the drive's by its section or by its name, and was not understood, is shown to a person."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.lines_of_the_drive import lines_of_the_drive

_DRIVE = "[wire drive]\nsteps per mm = 96\nrun current = 0.9 A\nzing = 80\npin = 7\nshown = yes\ninverted gate = 1\n"


def shown(text: str, dialect: str) -> list[int]:
    machine = recognise([read("m.cfg", text.encode(), dialect)])
    return [line for _, line, _, _ in lines_of_the_drive(machine, (1,), ())]


def test_a_number_beside_what_was_read_of_the_drive_is_shown_and_no_pin_and_no_switch() -> None:
    assert shown(_DRIVE, "sectioned") == [4]


@pytest.mark.parametrize(
    "other", ["[x axis]\nsteps per mm = 80\nrun current = 1.1 A\nzing = 80\n", "[lamp]\nzing = 3\n"]
)
def test_what_stands_beside_other_things_is_not(other: str) -> None:
    assert shown(other + _DRIVE, "sectioned") == [other.count("\n") + 4]


def test_a_section_with_an_axis_of_its_own_is_not_the_drives() -> None:
    board = "[motors]\nfeeder steps per mm = 96\nfeeder full steps = 200\nzing = 80\n"
    assert shown(board, "sectioned") == [4]
    assert shown(board + "x steps per mm = 80\n", "sectioned") == []


def test_without_sections_the_name_says_so() -> None:
    text = "set x steps per mm 80\nset feeder steps per mm 96\nset feeder zing 80\nset lamp zing 4\nset x zing 5\n"
    assert shown(text, "flat") == [3]
