"""A machine with several feeders: whose values are worked out is said, and the others are left alone."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.plan.model import Plan

SHEET = """\
machine: Turnstone
old:
  drive: tube-fed
  tube: {length: 460 mm, bore: 2.0 mm, bend: 220 deg}
new:
  drive: on the carriage
  rotation_distance: 4.30 mm
  tube: {length: 32 mm, bore: 1.9 mm, bend: 0 deg}
"""
FEEDER = """\
feeder.{0}.steps_per_mm = 138.5
feeder.{0}.full_steps = 200
feeder.{0}.microsteps = 16
feeder.{0}.retraction.length_mm = 5.2
"""
OTHER = """\
"feeder.1.steps_per_mm": feeder2.steps_per_mm
"feeder.1.full_steps": feeder2.full_steps
"feeder.1.microsteps": feeder2.microsteps
"feeder.1.retraction.length_mm": retraction2.length
"feeder.2.steps_per_mm": feeder.steps_per_mm
"feeder.2.full_steps": feeder.full_steps
"feeder.2.microsteps": feeder.microsteps
"feeder.2.retraction.length_mm": retraction.length
"""


def planned(folder: Path, feeders: int, names: str = "") -> Plan:
    """The plan for a machine with so many feeders, each after the other in one file."""
    text = "axis.z.max = 310\n" + "".join(FEEDER.format(number) for number in range(1, feeders + 1))
    (folder / "feeders.txt").write_text(text)
    (folder / "swap.yaml").write_text(SHEET + "clearance: {highest_z: 301 mm}\n")
    (folder / "names.yaml").write_text(names)
    said = folder / "names.yaml" if names else None
    return api.prepare([folder / "feeders.txt"], folder / "swap.yaml", out=folder / "packet", names=said).plan


def test_with_one_feeder_there_is_nothing_to_say(tmp_path: Path) -> None:
    assert not [
        text for change in planned(tmp_path, 1).changes for text in change.warnings if "first" in text
    ]


@pytest.mark.parametrize(
    ("feeders", "others"), [(2, "the second, from feeders.txt:6"), (3, "the third, from")]
)
def test_the_first_feeder_s_values_say_that_there_are_others(
    tmp_path: Path, feeders: int, others: str
) -> None:
    plan = planned(tmp_path, feeders)
    said = {
        change.quantity: any("go to the first feeder" in text and others in text for text in change.warnings)
        for change in plan.changes
    }
    assert said == {"axis.z.max": False, "feeder.steps_per_mm": True, "retraction.length": True}
    left = {item.quantity for item in plan.left_alone if "first feeder" in item.why}
    assert {"feeder2.steps_per_mm", "retraction2.length"} <= left
    assert {edit.line for change in plan.changes for edit in change.edits} == {1, 2, 5}


def test_a_names_file_makes_another_feeder_the_first(tmp_path: Path) -> None:
    plan = planned(tmp_path, 2, OTHER)
    lines = {change.quantity: [edit.line for edit in change.edits] for change in plan.changes}
    assert lines == {"axis.z.max": [1], "feeder.steps_per_mm": [6], "retraction.length": [9]}
