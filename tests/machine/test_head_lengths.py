"""A file whose head says that all lengths are in inches, or in parts of a mm, is not read as if it had them in mm."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects.sectioned import read
from cfgmigrate.machine.recognise import recognise

BODY = "[feeder]\nsteps per mm = 94.6\n[retraction]\nlength = 0.22\nspeed = 40 mm/s\nlift = 0.2 mm\n"


def machine_of(head: str):
    return recognise([read("t.conf", f"# {head}\n{BODY}".encode())])


@pytest.mark.parametrize(
    "head",
    [
        "Merganser: all lengths in inches, speeds in inches per second",
        "Lengths: inches",
        "All lengths are in inches.",
        "Units: inch",
        "everything here is in inches",
        "lengths in 1/100 mm",
        "numbers are hundredths of a millimetre",
        "units of 0.1 mm",
        "lengths: 0.1 mm",
        "lengths: 1/10 mm",
        "all lengths [0.01 mm]",
        "lengths are mm * 10",
    ],
)
def test_a_length_below_such_a_head_is_a_question_unless_its_line_states_its_unit(head: str) -> None:
    machine = machine_of(head)
    assert {each.quantity for each in machine.readings} == {
        "feeder.steps_per_mm",
        "retraction.speed",
        "retraction.lift",
    }
    assert machine.in_doubt["retraction.length"].line == 5
    assert any("head says lengths in" in doubt.why for doubt in machine.doubts)


@pytest.mark.parametrize(
    "head",
    ["an 8 inch bed", "all lengths in mm, the pipe is of half an inch", "all 12 inch plates fit", "in mm"],
)
def test_inches_in_passing_say_nothing_of_the_lengths(head: str) -> None:
    assert machine_of(head).get("retraction.length").value == 0.22


@pytest.mark.parametrize(
    ("head", "unit"),
    [("lengths in 0.1 mm", "mm/10"), ("lengths in 0.01 mm", "mm/100"), ("lengths are mm * 10", "mm/10")],
)
def test_the_line_that_is_offered_has_the_part_of_a_mm(head: str, unit: str) -> None:
    (asked,) = machine_of(head).doubts
    assert f"unit: {unit}}}" in asked.remedy


@pytest.mark.parametrize("head", ["lengths in mm, 0.1 mm accurate", "all values measured to 0.1 mm"])
def test_how_well_all_lengths_are_known_is_no_unit(head: str) -> None:
    assert machine_of(head).get("retraction.length").value == 0.22
