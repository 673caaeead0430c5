"""A current that was entered for the new motor already is not raised, nor is the one at rest scaled by it: both are asked."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.model import Plan
from cfgmigrate.plan.planning import plan_changes
from cfgmigrate.rules import library
from cfgmigrate.rules.lanes import work_out_lanes
from cfgmigrate.sheet.reader import parse_sheet

SHEET = """\
values: old
old:
  drive: tube-fed
  run_current: {old}
  drive_gear: {{gear_ratio: "60:20"}}
new:
  drive: on the carriage
  drive_gear: {{gear_ratio: "60:8", effective_diameter: 8.6 mm}}
  motor: {{rated_current: 0.83 A, step_angle: 0.9 deg}}
  driver: {{set_by: serial, max_current: 1.25 A}}
"""


def planned(ratio: str, old: str) -> Plan:
    text = f"[feeder]\ngear ratio = {ratio}\nrun current mA = 530\nhold current mA = 500\n"
    machine = recognise([read("heron.conf", text.encode(), "sectioned")])
    sheet, book = parse_sheet(SHEET.format(old=old).encode(), "sheet.yaml"), library.book()
    return plan_changes(work_out_lanes(book, machine, sheet, library.tables()), book, machine, sheet, ".")


@pytest.mark.parametrize(
    ("ratio", "old", "raised"),
    [("60:8", "530 mA", False), ("60:20", "1000 mA", False), ("60:20", "530 mA", True)],
)
def test_it_is_asked_where_gears_or_current_of_the_files_are_not_the_old_ones(
    ratio: str, old: str, raised: bool
) -> None:
    plan = planned(ratio, old)
    changed = {each.quantity for each in plan.changes}
    assert ({"motor.run_current", "motor.hold_current"} <= changed) is raised
    assert ({"motor.run_current", "motor.hold_current"}.isdisjoint(changed)) is not raised
    (light,) = [each for each in plan.lights if each.light == "current"]
    assert (light.state == "unknown") is not raised
    assert any("set for the new motor already" in each.why for each in plan.doubts) is not raised
