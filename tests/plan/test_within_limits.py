"""What is kept within a limit is within it as both are written, whatever digits each of them gets."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.plan.at_console import told_values

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


#: a top speed that stands in the board's listing alone, or that nothing sets
KEPT = {"kept": "feed top speed = 40\npull back speed = 45\n", "unset": "pull back speed = 45\n"}
HEADER = "#define FEED_STEPS_PER_MM 141.2\n#define PULL_BACK_RATE 2700 // mm/min\n"
BY_THE_MAKER = """\
old: {drive: tube-fed, path_length: 640 mm}
new:
  drive: on the carriage
  path_length: 61 mm
  feed_per_turn: 23 mm
  motor: {step_angle: 1.8 deg}
  microsteps: 16
  recommended_feed_speed: 19.4 mm/s
"""


@pytest.mark.parametrize(("kept", "most"), [("kept", "19"), ("unset", "19.4")])
def test_no_retraction_is_faster_than_the_top_speed_that_the_board_is_to_keep(
    tmp_path: Path, kept: str, most: str
) -> None:
    machine = tmp_path / "ladle"
    machine.mkdir()
    (machine / "ladle.h").write_text(HEADER)
    (machine / "kept.txt").write_text(KEPT[kept])
    (machine / "cfgmigrate.yaml").write_text('site: 1\nroles: {"kept.txt": saved values}\n')
    (tmp_path / "swap.yaml").write_text(BY_THE_MAKER)
    plan = api.prepare(machine, tmp_path / "swap.yaml", out=tmp_path / "packet").plan
    told = {name: new for item in plan.by_hand for _, name, _, new in told_values(item)}
    assert told.get("feed top speed", most) == most
    # 19.4 · 0.92: only the limit itself stands at the end of what the drive can turn
    assert told["pull back speed"] == "17"
    (edit,) = [each for change in plan.changes for each in change.edits if each.line == 2]
    assert float(edit.new) == pytest.approx(60 * 17)
