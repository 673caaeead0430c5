"""A current that a driver takes in steps is written as the step below it; asked beside one that is set, it keeps the light unknown."""

from __future__ import annotations

from pathlib import Path

from cfgmigrate.dialects import read
from cfgmigrate.machine.names import read_names
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.model import Plan
from cfgmigrate.plan.planning import plan_changes
from cfgmigrate.rules import library
from cfgmigrate.rules.lanes import work_out_lanes
from cfgmigrate.sheet.reader import parse_sheet

SHEET = b"""\
new:
  drive: on the carriage
  motor: {rated_current: 0.6 A, step_angle: 1.8 deg}
  driver: {set_by: serial, max_current: 1.25 A}
"""
STEP = "#define FEED_PULSES_PER_MM 140.2\n#define FEED_CS 27 /* 1.09 A rms */\n"


def planned(folder: Path, text: str, names: str = "") -> Plan:
    (folder / "names.yaml").write_text(names or "OTHER: ignore\n")
    document = read("heron.h", text.encode(), "header")
    machine = recognise([document], read_names(folder / "names.yaml"))
    sheet, book = parse_sheet(SHEET, "sheet.yaml"), library.book()
    return plan_changes(work_out_lanes(book, machine, sheet, library.tables()), book, machine, sheet, ".")


def light(plan: Plan) -> str:
    return next(each.state for each in plan.lights if each.light == "current")


def said(scale: str) -> str:
    return f'FEED_CS: {{quantity: motor.run_current, unit: "(step+1)/32 of {scale} A rms"}}\n'


def test_a_step_that_nobody_explained_keeps_the_light_unknown_though_another_line_is_set(
    tmp_path: Path,
) -> None:
    plan = planned(tmp_path, STEP + "#define FEED_RUN_CURRENT_MA 1090\n")
    assert [each.new.text for each in plan.changes if each.quantity == "motor.run_current"] == ["390"]
    assert light(plan) == "unknown"
    assert any("a step of the driver's" in each.why and each.place.line == 2 for each in plan.doubts)


def test_said_to_be_nothing_it_keeps_nothing_open(tmp_path: Path) -> None:
    plan = planned(tmp_path, STEP + "#define FEED_RUN_CURRENT_MA 1090\n", "FEED_CS: ignore\n")
    assert light(plan) == "set"


def test_an_explained_one_is_written_as_the_whole_step_below_the_new_current(tmp_path: Path) -> None:
    """0.39 A of 1.25 A are 9.98 thirty-seconds: nine of them, which step 8 gives."""
    plan = planned(tmp_path, STEP, said("1.25"))
    (change,) = [each for each in plan.changes if each.quantity == "motor.run_current"]
    assert (change.new.text, change.new.value) == ("8", 9 / 32 * 1.25)
    assert light(plan) == "set"


def test_a_scale_whose_lowest_steps_are_too_much_is_not_written(tmp_path: Path) -> None:
    plan = planned(tmp_path, STEP.replace("27", "3"), said("8"))
    assert not [each for each in plan.changes if each.quantity == "motor.run_current"]
    assert light(plan) != "set"
