"""What the board can send in steps a second is held against what the new drive takes of them at its top speed."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.plan.lines_left import LINES_LEFT

DRIVE = "[feeder]\nsteps per mm = 95\nmicrosteps = 16\nmax speed = 70\n"
SHEET = "new: {drive: on the carriage, steps_per_mm: 469 1/mm, microsteps: 16}\n"
LIMIT = "controller: {max_step_rate: 20 kHz}\n"


@pytest.mark.parametrize(
    ("line", "said", "asked", "named"),
    [
        ("board_pulses = 20000", "", True, False),
        ("pulse limit = 20 kHz", "", True, False),
        ("step_roof_khz = 20", "", True, False),
        ("board_pulses = 20000", LIMIT, False, True),
        ("pulses ceiling = 64000 /s", "", False, True),
        ("pulses per turn, max = 20000", "", False, False),
        ("step limit = 200", "", False, False),
    ],
)
def test_more_than_the_board_sends_is_a_question_and_less_is_told(
    tmp_path: Path, line: str, said: str, asked: bool, named: bool
) -> None:
    (tmp_path / "m").mkdir()
    (tmp_path / "m" / "hen.conf").write_text(f"{DRIVE}[board]\n{line}\n")
    (tmp_path / "s.yaml").write_text(SHEET + said)
    plan = api.work_out(tmp_path / "m", tmp_path / "s.yaml").plan
    at = DRIVE.count("\n") + 2
    doubts = [each for each in plan.doubts if each.place.line == at and "32830" in each.why]
    steps = [step for each in plan.by_hand if each.rule == LINES_LEFT for step in each.steps]
    assert bool(doubts) is asked and all("max_step_rate: 20 kHz" in each.remedy for each in doubts)
    assert any(step.startswith(f"hen.conf:{at}: ") for step in steps) is named
