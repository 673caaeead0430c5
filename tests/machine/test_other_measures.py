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


@pytest.mark.parametrize(
    "remark",
    [
        "units of 0.1 mm",
        "[0.1 mm]",
        "(0.1 mm)",
        "0.1 mm",
        "in 0,1 mm",
        "counted in 0.1 mm",
        "mm * 10",
        "mm x 10",
        "x0.1 mm",
        "10 = 1 mm",
        "steps of 0.1 mm",
        "unit: 0.1 mm",
    ],
)
def test_a_part_of_a_mm_is_no_mm(remark: str) -> None:
    found = machine(f"length = 12 ; {remark}", "retraction")
    assert not found.readings
    assert [doubt.about for doubt in found.doubts] == ["retraction.length"]


@pytest.mark.parametrize(
    "remark",
    [
        "to 0.1 mm",
        "by 0.1 mm",
        "measured, +-0.1 mm",
        "0.1 mm more than before",
        "mm, 10 before",
        "good to 0.1 mm",
        "10 mm before",
    ],
)
def test_how_well_a_number_is_known_is_no_measure_of_it(remark: str) -> None:
    assert [each.value for each in machine(f"length = 12 ; {remark}", "retraction").readings] == [12]


def test_a_number_with_a_point_is_set_in_steps_and_not_counted_in_them() -> None:
    assert [each.value for each in machine("length = 1.2 ; in steps of 0.1 mm", "retraction").readings] == [
        1.2
    ]


@pytest.mark.parametrize(
    ("head", "line", "own"),
    [
        ("speeds in 0.1 mm/s", "speed = 35", "speed mm/s = 35"),
        ("speeds are mm/s * 10", "speed = 35", "speed = 35 ; mm/s"),
    ],
)
def test_a_head_may_say_so_of_all_speeds_but_of_one_that_states_its_own_unit(
    head: str, line: str, own: str
) -> None:
    asked, read_ = (machine(each, "retraction", f"; {head}\n\n") for each in (line, own))
    assert not asked.readings and [doubt.about for doubt in asked.doubts] == ["retraction.speed"]
    assert [each.value for each in read_.readings] == [35]


def test_how_finely_a_number_is_set_is_no_unit_of_it() -> None:
    text = b"[feeder motor]\nrun current = 800 ; mA rms, adjustable in steps of 10 mA\n"
    (reading,) = recognise([read("m.conf", text, "sectioned")]).readings
    assert reading.value == 0.8
