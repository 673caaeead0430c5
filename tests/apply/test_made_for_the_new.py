"""A line that a step by hand named, and that was edited since, is told apart from the other edits of a revert."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api

CONFIG = """\
[feeder]
steps per mm = 97.35
microsteps = 16
retraction length = 5.8
direction reversed = no
colour = 3
"""
SHEET = """\
old: {drive: tube-fed, tube: {length: 530 mm}}
new: {drive: on the carriage, microsteps: 16, feed_per_turn: 23.0 mm, motor: {step_angle: 1.8 deg}}
"""


@pytest.mark.parametrize("to", [False, True])
def test_an_edit_of_a_line_that_a_step_named_is_asked_about_and_stays(tmp_path: Path, to: bool) -> None:
    mill = tmp_path / "config" / "mill.conf"
    mill.parent.mkdir()
    mill.write_text(CONFIG)
    (tmp_path / "swap.yaml").write_text(SHEET)
    plan = api.prepare([mill.parent], tmp_path / "swap.yaml", out=tmp_path / "p").plan
    api.install(tmp_path / "p", accept_unknown=[each.name for each in plan.lights if each.state == "unknown"])
    mill.write_text(mill.read_text().replace("= no", "= yes").replace("colour = 3", "colour = 4"))
    report = api.revert_to(mill.parent, "start") if to else api.revert(tmp_path / "p")
    told = [note for note in report.notes if "made for the new drive?" in note]
    assert len(told) == 1 and told[0].startswith("mill.conf:5: ") and '"direction reversed = no"' in told[0]
    assert mill.read_text() == CONFIG.replace("= no", "= yes").replace("colour = 3", "colour = 4")
