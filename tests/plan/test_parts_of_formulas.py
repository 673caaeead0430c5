"""The parts of a formula for the feed are told with their old and new numbers, where it comes to the right one by them."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api

SHEET = """\
old:
  drive: tube-fed
  tube: {length: 430 mm}
  microsteps: 16
  drive_gear: {effective_diameter: 10.4 mm, gear_ratio: "36:12"}
  motor: {step_angle: 1.8 deg}
new:
  drive: on the carriage
  microsteps: 8
  drive_gear: {effective_diameter: 8.2 mm, gear_ratio: "66:11"}
  motor: {step_angle: 0.9 deg}
"""
HEADER = """\
#define RETRACTION_MM 5.5f
#define FEEDER_FULL_STEPS 200
#define FEED_FINE 16
#define FEED_BIG 36
#define FEED_SMALL 12
#define FEED_EFF_D 10.4f
#define FEED_TRIM %s
#define FEEDER_STEPS_PER_MM (FEEDER_FULL_STEPS * FEED_FINE * FEED_BIG / FEED_SMALL / (3.14159265f * FEED_EFF_D) * FEED_TRIM)
"""


@pytest.mark.parametrize("microsteps", ["  microsteps: 16\n", ""])
@pytest.mark.parametrize(("trim", "told"), [("0.9813f", True), ("1.3f", False)])
def test_each_part_is_told_where_all_of_them_lead_to_the_right_number(
    tmp_path: Path, trim: str, told: bool, microsteps: str
) -> None:
    """400 · 8 · 66 / 11 / (π · 8.2) = 745.3 steps for each mm."""
    (tmp_path / "egret").mkdir()
    (tmp_path / "egret" / "egret.h").write_text(HEADER % trim)
    (tmp_path / "swap.yaml").write_text(SHEET.replace("  microsteps: 16\n", microsteps))
    plan = api.prepare(
        tmp_path / "egret", tmp_path / "swap.yaml", out=tmp_path / "packet", browsed=False
    ).plan
    (asked,) = [each for each in plan.doubts if each.place.line == 8]
    parts = "FEEDER_FULL_STEPS 200 → 400, FEED_FINE 16 → 8, FEED_BIG 36 → 66, FEED_SMALL 12 → 11, FEED_EFF_D 10.4f → 8.2, FEED_TRIM 0.9813f → 1"
    assert (parts in asked.remedy and "in place of" not in asked.remedy) is told
    assert (parts in asked.remedy) is told
    assert not [each for each in plan.changes if each.quantity == "feeder.steps_per_mm"]
