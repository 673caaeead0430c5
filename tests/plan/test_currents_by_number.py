"""A line of codes with just the old current of the sheet is named, whichever socket it is of, and never written."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.plan.model import LINES_LEFT

FILES = {"m.ini": "[feed]\nmicrosteps = 16\nsteps per mm = 307.2\nretraction length = 5.9 mm\n"}
SHEET = """old: {drive: tube-fed, path_length: 540 mm, tube: {length: 480 mm}, run_current: 1.45 A peak}
new:
  drive: on the carriage
  path_length: 49 mm
  feed_per_turn: 4.682 mm
  motor: {step_angle: 1.8 deg, rated_current: 0.7 A, recommended_current: 0.54 A}
filament: {material: PLA, diameter: 1.75 mm}
"""


@pytest.mark.parametrize(
    ("line", "named"),
    [
        ("M7303 S5 A1.45", True),
        ("M7303 S5 A1450", True),
        ("M7303 S5 A1.47", False),
        ("\n".join(f"M7303 S{number} A1.45" for number in range(1, 6)), False),
    ],
)
def test_the_sheet_s_old_current_is_found_by_its_number(
    line: str, named: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("m").mkdir()
    Path("m/m.ini").write_text(FILES["m.ini"])
    Path("m/kept.nc").write_text(f"; kept by the board, it wins\n{line}\n")
    Path("m/cfgmigrate.yaml").write_text("site: 1\nroles: {m.ini: in force, kept.nc: saved values}\n")
    Path("sheet.yaml").write_text(SHEET)
    plan = api.prepare("m", "sheet.yaml", out="packet").plan
    steps = " ".join(step for item in plan.by_hand if item.rule == LINES_LEFT for step in item.steps)
    assert ("the run current that the sheet says" in steps) is named, steps
    assert "kept.nc" not in {edit.file for change in plan.changes for edit in change.edits}
