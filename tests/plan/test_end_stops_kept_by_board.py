"""Where an end stop stands may be kept by the board and be in the header as well: each line is told with what it becomes, none of
them twice, and no line that says in full where the end stop stands is asked to be anything else."""

from __future__ import annotations

from pathlib import Path

from cfgmigrate import api
from cfgmigrate.plan.model import Plan

SHEET = """\
machine_kind: moving head
old: {drive: tube-fed, path_length: 610 mm}
new: {drive: on the carriage, path_length: 52 mm}
carriage: {nozzle_shift: {x: 2.5 mm, y: 0 mm, z: -1.4 mm}, z_stop: switch above}
clearance: {as_before: yes, less_at_high_x: 4 mm}
"""


def planned(folder: Path, header: str, kept: str) -> Plan:
    config = folder / "config"
    config.mkdir()
    (config / "machine.h").write_text(header)
    (config / "kept.txt").write_text(kept)
    (config / "cfgmigrate.yaml").write_text('site: 1\nroles: {"kept.txt": saved values}\n')
    (folder / "sheet.yaml").write_text(SHEET)
    return api.prepare([config], folder / "sheet.yaml", out=folder / "packet").plan


def steps(plan: Plan, rule: str) -> tuple[str, ...]:
    (item,) = [each for each in plan.by_hand if each.rule == rule]
    return item.steps


def test_a_limit_that_is_stored_anew_is_not_moved_by_hand_as_well(tmp_path: Path) -> None:
    header = "#define X_AT_SWITCH 0.0\n#define X_FAR 232.0\n"
    plan = planned(tmp_path, header, "at switch X = 0.00\nfar X = 232.00\n")
    moved, *others = steps(plan, "protected.end_stop_x")
    assert moved.startswith("The lines: ") and "far X" not in moved and "X_FAR" not in moved
    assert any("kept.txt:2 (far X)" in step and "add nothing to it" in step for step in others)
    assert any(step.startswith("far X: 232.00 → ") for step in steps(plan, "files.at_console"))


def test_a_limit_at_the_switch_that_nothing_writes_is_still_moved_by_hand(tmp_path: Path) -> None:
    plan = planned(tmp_path, "#define X_AT_SWITCH 0.0\n", "at switch X = 0.00\nx minimum = 0.00\n")
    assert "kept.txt:2 (x minimum = 0.00, becomes 2.5)" in steps(plan, "protected.end_stop_x")[0]


def test_each_line_of_an_end_stop_moves_from_its_own_number(tmp_path: Path) -> None:
    header = "#define Z_SWITCH_SIDE BOTTOM\n#define Z_AT_SWITCH 281.4\n"
    plan = planned(tmp_path, header, "at switch Z = 281.90\n")
    first = steps(plan, "protected.end_stop_z")[0]
    assert "(at switch Z = 281.90, becomes 280.5)" in first and "(Z_AT_SWITCH = 281.4, becomes 280)" in first


def test_a_place_of_the_z_switch_is_not_asked_to_be_the_highest_z_and_its_height_is_set_by_hand(
    tmp_path: Path,
) -> None:
    header = "#define Z_SWITCH_SIDE BOTTOM\n#define Z_AT_SWITCH 281.4\n"
    plan = planned(tmp_path, header, "at switch Z = 281.90\n")
    assert not any("axis.z.max" in doubt.remedy for doubt in plan.doubts)
    assert next(light.state for light in plan.lights if light.light == "height") == "by hand"
