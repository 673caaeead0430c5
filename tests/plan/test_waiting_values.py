"""What would be written but for a value behind it that nobody knows the age of is told; what is the new drive's waits for nothing."""

from __future__ import annotations

from pathlib import Path

from cfgmigrate import api

MACHINE = "[y]\nlowest = 0\nhighest = 232\n[park]\ny = 230\n[retraction]\nlength = 0.65\n"
SHEET = """\
old: {drive: tube-fed, tube: {length: 400 mm}, path_length: 440 mm}
new: {drive: on the carriage, tube: {length: 30 mm}, path_length: 70 mm, recommended_retraction: 0.5 mm}
carriage: {nozzle_shift: {x: 0 mm, y: 4 mm, z: 0 mm}}
clearance: {highest_y: 228 mm}
values: new
"""


def test_of_what_is_the_new_drives_already_nothing_is_said_to_wait(tmp_path: Path) -> None:
    (tmp_path / "a.conf").write_text(MACHINE)
    (tmp_path / "swap.yaml").write_text(SHEET)
    plan = api.work_out(tmp_path / "a.conf", tmp_path / "swap.yaml").plan
    assert not [step for item in plan.by_hand for step in item.steps if "once what it follows from" in step]
