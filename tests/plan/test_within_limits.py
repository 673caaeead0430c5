"""What is kept within a limit is within it as both are written, whatever digits each of them gets."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api

MACHINE = """\
[axis z]
high end = 240
[feeder]
steps per mm = 96.4
microsteps = 16
top speed = {top}
[retraction]
length = 4.8
speed = {pull}
return speed = {back}
"""
SHEET = """\
old: {drive: tube-fed, path_length: 640 mm}
new:
  drive: on the carriage
  path_length: 61 mm
  motor: {step_angle: 1.8 deg}
  microsteps: 16
  drive_gear: {effective_diameter: WIDTH, gear_ratio: "35:14 x 54:18"}
controller: {max_step_rate: 40 kHz}
"""


@pytest.mark.parametrize("width", ["7.51 ± 0.03 mm", "7.51 mm", "7.4 ± 0.4 mm", "7.513(4) mm"])
@pytest.mark.parametrize(("top", "pull", "back"), [("80", "45", "40"), ("80.0", "45.00", "40.000")])
def test_no_retraction_is_written_faster_than_the_feeders_top_speed(
    tmp_path: Path, width: str, top: str, pull: str, back: str
) -> None:
    (tmp_path / "ladle").mkdir()
    (tmp_path / "ladle" / "ladle.conf").write_text(MACHINE.format(top=top, pull=pull, back=back))
    (tmp_path / "swap.yaml").write_text(SHEET.replace("WIDTH", width))
    packet = api.prepare(tmp_path / "ladle", tmp_path / "swap.yaml", out=tmp_path / "packet")
    written = {change.quantity: change.edits[0].new for change in packet.plan.changes}
    most = float(written["feeder.max_speed"])
    for name in ("retraction.speed", "retraction.return_speed"):
        assert 0 < float(written[name]) <= most, (name, written)
    assert float(written["retraction.return_speed"]) <= float(written["retraction.speed"])
