"""What a person wrote by hand because they were told to is no sign that all else was changed as well."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.plan.model import Plan

FILE = """[feeder]
teeth on motor = {}
teeth on wheel = {}
wheel turn feeds = {}
microsteps = 32
full steps = 200
retraction length = 4.6
lag coefficient = 0.5
filament diameter = 1.75
"""
SHEET = """old: {{drive: tube-fed, path_length: 690 mm}}
new:
  drive: on the carriage
  microsteps: 32
  path_length: 54 mm
  motor: {{step_angle: 0.9 deg, rated_current: 0.8 A}}
  drive_gear: {{effective_diameter: 7.2 ± 0.01 mm, gear_ratio: 58:9}}
filament: {{material: PLA}}
{}"""


def prepared(desk: Path, counts: tuple[int, int], feeds: str, more: str = "") -> Plan:
    desk.mkdir()
    (desk / "stint.conf").write_text(FILE.format(*counts, feeds))
    (desk / "sheet.yaml").write_text(SHEET.format(more))
    return api.prepare([desk / "stint.conf"], desk / "sheet.yaml", out=desk / "packet").plan


def lit(plan: Plan, name: str) -> tuple[str, str]:
    return next((each.state, each.why) for each in plan.lights if each.light == name)


@pytest.mark.parametrize("feeds", ["22.62", "22.60", "22.65"])
def test_what_stands_there_as_near_as_it_is_known_is_set(tmp_path: Path, feeds: str) -> None:
    plan = prepared(tmp_path / "desk", (9, 58), feeds, "values: old\n")
    assert lit(plan, "feed")[0] == "set"
    assert "feeder.gear_ratio" not in {change.quantity for change in plan.changes}


def test_beside_a_feed_written_by_hand_the_light_says_how_the_rest_goes_on(tmp_path: Path) -> None:
    first = prepared(tmp_path / "first", (9, 58), "22.62")
    state, why = lit(first, "retraction")
    assert state == "unknown" and "say values: old in the sheet" in why[:120], first.ages
    again = prepared(tmp_path / "again", (9, 58), "22.62", "values: old\n")
    assert lit(again, "retraction")[0] == "set"
    assert {"retraction.length", "lag.coefficient"} <= {change.quantity for change in again.changes}


@pytest.mark.parametrize(("feeds", "state"), [("22.62", "set"), ("33.9", "unknown")])
def test_what_is_never_written_is_no_question_where_it_is_what_is_wanted(
    tmp_path: Path, feeds: str, state: str
) -> None:
    (tmp_path / "stint.conf").write_text(FILE.format(9, 58, feeds) + "gears ahead of it = 1.5\n")
    (tmp_path / "sheet.yaml").write_text(SHEET.format("values: old\n"))
    plan = api.prepare([tmp_path / "stint.conf"], tmp_path / "sheet.yaml", out=tmp_path / "packet").plan
    assert "feeder.feed_per_turn" not in {change.quantity for change in plan.changes}
    assert lit(plan, "feed")[0] == state
    assert any("gears ahead" in each.text for each in plan.doubts)
