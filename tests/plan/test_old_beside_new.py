"""What goes with a value of the swap by its name or its number is told with its line, though no rule writes it."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.plan.lines_left import LINES_LEFT
from cfgmigrate.plan.model import Plan

HEADER = """\
#define X_ACCELERATION 3600
#define X_JUMP 9
#define Y_ACCELERATION 2800
#define Z_ACCELERATION 120
#define Z_JUMP 0.4
#define FEEDER_STEPS_PER_MM 96.4
#define FEEDER_SCREW_VOLTS 0.86
#define X_SCREW_VOLTS 0.92
#define FEEDER_LAMP_VOLTS 12
#define RETRACTION_LENGTH 4.6
#define RETRACTION_SPEED 30
#define BOARD_RETRACTION_SPEED 30
#define RETRACTION_LIFT 0.3
#define RETRACTION_RETURN_SPEED 24
#define BOARD_RETRACTION_RETURN_SPEED 24
"""
SHEET = """\
old: {drive: tube-fed, tube: {length: 420 mm, bore: 2 mm, bend: 180 deg}, driver: {set_by: screw, reference_voltage: 0.86 V}}
new:
  drive: on the carriage
  steps_per_mm: 426.7 1/mm
  microsteps: 16
  tube: {length: 40 mm, bore: 2 mm, bend: 0 deg}
  motor: {rated_current: 0.7 A, step_angle: 1.8 deg}
  driver: {part: A4988, set_by: screw, sense_resistor: 0.1 ohm}
carriage: {old_mass: 330 g, new_mass: 505 g}
filament: {material: PLA, diameter: 1.75 mm}
"""


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> Plan:
    folder = tmp_path_factory.mktemp("beside")
    (folder / "machine").mkdir()
    (folder / "machine" / "pitcher.h").write_text(HEADER)
    (folder / "swap.yaml").write_text(SHEET)
    return api.work_out(folder / "machine", folder / "swap.yaml").plan


def steps(plan: Plan, rule: str) -> str:
    return "\n".join(step for item in plan.by_hand if item.rule == rule for step in item.steps)


def test_what_an_axis_changes_at_once_is_named_where_its_acceleration_is_lowered(plan: Plan) -> None:
    assert "axis.x.max_acceleration" in {change.quantity for change in plan.changes}
    told = steps(plan, LINES_LEFT)
    assert "pitcher.h:2: X_JUMP = 9 (what this axis changes at once" in told and "pitcher.h:5:" not in told


def test_a_note_of_the_screws_voltage_is_named_with_the_old_one_and_no_other_axis_s(plan: Plan) -> None:
    told = steps(plan, "motor.reference_voltage")
    assert "0.86 V, by the sheet" in told and "pitcher.h:7 (" in told
    assert "pitcher.h:8" not in told and "pitcher.h:9" not in told


def test_what_has_the_whole_name_and_the_number_of_a_setting_of_the_drive_is_named_beside_it(
    plan: Plan,
) -> None:
    told = steps(plan, LINES_LEFT)
    assert (
        "pitcher.h:15: BOARD_RETRACTION_RETURN_SPEED = 24 (named as RETRACTION_RETURN_SPEED at pitcher.h:14"
        in told
    )


def test_a_value_that_stays_is_told_with_each_line_that_has_it(tmp_path: Path) -> None:
    """Two settings that mean one value move together, and stay together."""
    (tmp_path / "machine").mkdir()
    (tmp_path / "machine" / "pitcher.h").write_text(HEADER)
    (tmp_path / "machine" / "cfgmigrate.yaml").write_text(
        "site: 1\nmeanings: {BOARD_RETRACTION_SPEED: retraction.speed, BOARD_RETRACTION_RETURN_SPEED: retraction.return_speed}\n"
    )
    (tmp_path / "swap.yaml").write_text(SHEET)
    both = api.work_out(tmp_path / "machine", tmp_path / "swap.yaml").plan
    (why,) = [left.why for left in both.left_alone if left.quantity == "retraction.speed"]
    assert why == "already 30 at pitcher.h:12, 11"
    assert "pitcher.h:15: BOARD_RETRACTION_RETURN_SPEED = 24 (return speed" in steps(both, LINES_LEFT)


def test_what_stays_for_the_first_print_is_told_with_its_line(plan: Plan) -> None:
    assert "pitcher.h:13 (RETRACTION_LIFT = 0.3)" in steps(plan, "retraction.lift")


def test_the_note_of_the_voltage_is_named_too_where_the_new_one_is_not_known_yet(tmp_path: Path) -> None:
    (tmp_path / "pitcher.h").write_text(HEADER)
    (tmp_path / "swap.yaml").write_text(SHEET.replace("part: A4988, ", ""))
    told = steps(api.work_out([tmp_path / "pitcher.h"], tmp_path / "swap.yaml").plan, "motor.current_to_set")
    assert "0.86 V, by the sheet" in told and "pitcher.h:7 (" in told
