"""A wheel's or a gear's number that the sheet gives of the old drive is shown, by whatever letter the file calls the drive."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api

SHEET = (
    "old: {drive: tube-fed, drive_gear: {effective_diameter: 10.95 mm, gear_ratio: 1:1}}\n"
    "new: {drive: on the carriage, drive_gear: {effective_diameter: 8.1 mm, gear_ratio: 52:11}}\n"
)


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("Q_WHEEL_EFF 10.95", True),
        ("Q_TEETH_MOTOR 1", True),
        ("Q_WHEEL_EFF 10.5", False),
        ("Q_WHEELS 1", False),
        ("Y_BELT_TEETH 1", False),
        ("LAMP_EFF 10.95", False),
    ],
    ids=["the diameter", "a count", "another diameter", "a lone 1", "a belt's", "no wheel"],
)
def test_a_number_of_the_old_wheel_is_shown(line: str, told: bool, tmp_path: Path) -> None:
    (tmp_path / "wren.h").write_text(
        f"#define STEPS_X 80.0\n#define X_MAX 223.0\n#define PULL_LEN 6.0\n#define THREAD_DIA 1.75\n#define {line}\n"
    )
    (tmp_path / "sheet.yaml").write_text(SHEET)
    plan = api.work_out([tmp_path / "wren.h"], tmp_path / "sheet.yaml").plan
    steps = [step for each in plan.by_hand for step in each.steps if "wren.h:5" in step]
    assert any("the sheet gives as" in each or "a count of" in each for each in steps) is told
    assert not any(edit.line == 5 for each in plan.changes for edit in each.edits)
