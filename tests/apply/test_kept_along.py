"""Where a person keeps a value that was edited in one file, its other places stay as the packet wrote them, and that is said."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api

CONFIG = "[feeder]\nsteps per mm = 97.35\nmicrosteps = 16\nretraction length = 5.8\n"
SHEET = """\
old: {drive: tube-fed, tube: {length: 530 mm}}
new: {drive: on the carriage, microsteps: 16, feed_per_turn: 23.0 mm, motor: {step_angle: 1.8 deg}}
"""


@pytest.mark.parametrize("edited", [True, False])
def test_a_place_that_nobody_edited_is_told_where_the_value_is_kept_for_another_one(
    tmp_path: Path, edited: bool
) -> None:
    """Found in a made-up folder, who wanted the old value everywhere else."""
    folder = tmp_path / "config"
    folder.mkdir()
    (folder / "mill.conf").write_text(CONFIG)
    (folder / "mill.h").write_text("#define FEED_STEPS_PER_MM 97.35\n")
    (tmp_path / "swap.yaml").write_text(SHEET)
    plan = api.prepare([folder], tmp_path / "swap.yaml", out=tmp_path / "p").plan
    api.install(tmp_path / "p", accept_unknown=[each.name for each in plan.lights if each.state == "unknown"])
    (change,) = [each for each in plan.changes if each.quantity == "feeder.steps_per_mm"]
    assert {edit.file for edit in change.edits} == {"mill.conf", "mill.h"}
    if edited:
        text = (folder / "mill.conf").read_text()
        line = next(each for each in text.splitlines() if each.startswith("steps per mm"))
        (folder / "mill.conf").write_text(text.replace(line, "steps per mm = 140.5"))
    report = api.revert(tmp_path / "p", keep=["feeder.steps_per_mm"])
    told = [note for note in report.notes if "as the packet wrote it" in note]
    assert bool(told) is edited
    if edited:
        assert len(told) == 1 and told[0].startswith("mill.h:1: ") and "it was 97.35" in told[0]
