"""A line of codes with the old lag's number may send it and is asked about; a wait of as long is none."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api

FILE = """\
[feeder]
steps per mm = 97.3
flow lag = 0.58 s
[occasions]
{}
"""
SHEET = """\
old: {drive: tube-fed, tube: {length: 550 mm}, lag: 0.66 s}
new:
  drive: on the carriage
  feed_per_turn: 23.0 mm
  microsteps: 16
  path_length: 60 mm
  recommended_lag: 0.05 s
  motor: {step_angle: 1.8 deg}
filament: {material: PLA, diameter: 1.75 mm}
"""


@pytest.mark.parametrize(
    ("line", "asked"),
    [
        ("at change = M861 S580", True),
        ("at change = M861 S0.58", True),
        ("at change = M861 S580 G4 P580", True),
        ("at change = G4 P580", False),
        ("at change = G04 P580", False),
        ("at change = M861 S575", False),
    ],
)
def test_a_wait_is_no_lag_whatever_its_number(line: str, asked: bool, tmp_path: Path) -> None:
    (tmp_path / "m.conf").write_text(FILE.format(line))
    (tmp_path / "sheet.yaml").write_text(SHEET)
    plan = api.work_out(tmp_path / "m.conf", tmp_path / "sheet.yaml").plan
    assert "lag.coefficient" in {each.quantity for each in plan.changes}
    assert any("while it runs" in each.why for each in plan.doubts) is asked
