"""A number that a remark counts in something else than its name says is a question."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise


def machine(line: str, section: str = "feeder", head: str = "") -> Machine:
    return recognise([read("rail.ini", f"{head}[{section}]\n{line}\n".encode(), "sectioned")])


@pytest.mark.parametrize(
    ("section", "line", "about"),
    [
        ("feeder", "steps per mm = 40.1 ; per mm3", "feeder.steps_per_mm"),
        ("feeder", "steps per mm = 40.1 # steps per cubic mm", "feeder.steps_per_mm"),
        ("feeder", "steps per mm = 6.2 ; full steps, no microsteps in here", "feeder.steps_per_mm"),
        ("retraction", "length = 13.2 ; mm^3", "retraction.length"),
        ("retraction", "length = 2.2 ; in tenths of an inch", "retraction.length"),
        ("retraction", "length = 5.5 ; times nozzle diameter", "retraction.length"),
        ("retraction", "length = 55 ; x 0.1 mm", "retraction.length"),
        ("retraction", "length = 0.3 ; turns of the motor", "retraction.length"),
        ("feeder", "run current = 0.7 ; times the rated", "motor.run_current"),
    ],
)
def test_nothing_is_taken_from_it(section: str, line: str, about: str) -> None:
    found = machine(line, section)
    assert not found.readings
    assert {doubt.about for doubt in found.doubts} == {about}


@pytest.mark.parametrize(
    ("section", "line"),
    [
        ("retraction", "length = 5.5 ; mm"),
        ("retraction", "length = 5.5 ; three times measured"),
        ("retraction", "length = 5.5 ; it was 4 x as much"),
        ("feeder", "full steps = 200 ; full steps"),
        ("feeder", "steps per mm = 96.5 ; steps"),
    ],
)
def test_any_other_remark_is_let_be(section: str, line: str) -> None:
    assert len(machine(line, section).readings) == 1


def test_a_head_that_says_volumes_holds_for_what_is_fed() -> None:
    found = machine("length = 13.2\nspeed = 30 mm/s", "retraction", "# filament amounts are volumes, mm3\n")
    assert [each.quantity for each in found.readings] == ["retraction.speed"]
