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
        ("tick_ceiling = 20000", "", True, False),
        ("ceiling = 20000  # ticks/s this board can make", "", True, False),
        ("ceiling = 20000  # mm a minute", "", False, False),
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


def test_where_no_top_speed_is_known_the_line_is_told_with_the_feed_that_it_allows(tmp_path: Path) -> None:
    (tmp_path / "m").mkdir()
    (tmp_path / "m" / "hen.conf").write_text("[feeder]\nsteps per mm = 95\n[board]\ntick ceiling = 20000\n")
    (tmp_path / "s.yaml").write_text(SHEET)
    plan = api.work_out(tmp_path / "m", tmp_path / "s.yaml").plan
    (told,) = [
        s
        for each in plan.by_hand
        if each.rule == LINES_LEFT
        for s in each.steps
        if s.startswith("hen.conf:4: ")
    ]
    assert "no faster than 42.6 mm/s" in told
