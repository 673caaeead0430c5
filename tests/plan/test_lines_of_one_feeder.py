"""Lines of one of two feeders: the watcher of the swapped one is its own, and the tip that has moved is told with its sum."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.plan.model import Plan

FEEDER = """[feeder {name}]
full steps = 200
turn length = 22.9
retraction length = 4.6
lag coefficient = 0.5
[watcher {name}]
filament-left = {left}
"""
TIP = """[second tip]
right = 24.15
back = -0.4
lift = 0.8
[gears]
bite-to-tip = 700
"""
SHEET = """feeder: 2
old: {{drive: tube-fed, path_length: 690 mm, filament_behind_sensor: 742 mm}}
new: {{drive: on the carriage, path_length: 54 mm, feed_per_turn: 6.5 mm{more}}}
carriage: {{one_nozzle: no, nozzle_shift: {{x: 3 mm, y: 1.5 mm, z: 0 mm}}}}
"""
NAMES = {"sides": ("left", "right"), "names": ("port", "starboard"), "numbers": ("one", "two")}


def prepared(desk: Path, names: tuple[str, str], more: str) -> Plan:
    (desk / "ladle").mkdir(parents=True)
    text = "".join(FEEDER.format(name=name, left=left) for name, left in zip(names, (735, 742), strict=True))
    (desk / "ladle" / "ladle.ini").write_text(text + TIP)
    lines = "".join(f'  "[watcher {name}] filament-left": runout.distance\n' for name in names)
    (desk / "ladle" / "cfgmigrate.yaml").write_text(f"site: 1\nmeanings:\n{lines}")
    (desk / "sheet.yaml").write_text(SHEET.format(more=more))
    return api.prepare(desk / "ladle", desk / "sheet.yaml", out=desk / "packet").plan


@pytest.mark.parametrize("names", NAMES.values(), ids=NAMES)
def test_the_watcher_of_the_swapped_feeder_is_written_and_no_other(
    tmp_path: Path, names: tuple[str, str]
) -> None:
    plan = prepared(tmp_path, names, ", filament_behind_sensor: 527 mm")
    (change,) = [each for each in plan.changes if each.quantity == "runout.distance"]
    assert [(edit.old, edit.new) for edit in change.edits] == [("742", "527")]


@pytest.mark.parametrize("names", NAMES.values(), ids=NAMES)
def test_unsaid_it_is_to_be_measured_at_that_line_alone(tmp_path: Path, names: tuple[str, str]) -> None:
    plan = prepared(tmp_path, names, "")
    (item,) = [each for each in plan.by_hand if each.rule == "runout.to_measure"]
    assert "ladle.ini:14 " in item.steps[0] and "735" not in item.steps[0]


def test_the_tip_that_has_moved_is_told_at_its_line_with_what_it_becomes(tmp_path: Path) -> None:
    plan = prepared(tmp_path, NAMES["numbers"], "")
    told = {item.rule: " ".join(item.steps) for item in plan.by_hand if item.rule.startswith("tips.")}
    assert "right = 24.15" in told["tips.x"] and "27.15" in told["tips.x"]
    assert "back = -0.4" in told["tips.y"] and "1.10" in told["tips.y"]
    assert "back" not in told["tips.x"] and "right" not in told["tips.y"]
    assert not any("bite-to-tip" in text or "lift" in text for text in told.values())
