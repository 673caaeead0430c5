"""An edge of the probed field for which the tip goes to the very end of an axis is named, though it stays."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.plan.lines_left import LINES_LEFT

FILE = """\
[axis x]
minimum = -8
maximum = 232
[feeder]
steps per mm = 97.3
sort = far away, with a long hose
colour = grey
[feed]
kind = far away, through the hose
[touch probe]
right of the nozzle, x mm = 22
behind the nozzle, y mm = 0
[mesh]
x from = {edge}
x to = 230
"""
SHEET = """\
old: {drive: tube-fed, tube: {length: 430 mm}}
new: {drive: on the carriage, steps_per_mm: 512 1/mm, tube: {length: 35 mm}}
carriage: {nozzle_shift: {x: -4 mm, y: 0 mm, z: 0 mm}, probe_shift: {x: 0 mm, y: 0 mm}}
"""


def told(folder: Path, edge: int) -> dict[int, str]:
    (folder / "config").mkdir()
    (folder / "config" / "machine.conf").write_text(FILE.format(edge=edge))
    (folder / "swap.yaml").write_text(SHEET)
    plan = api.prepare(folder / "config", folder / "swap.yaml", out=folder / "packet").plan
    steps = [step for item in plan.by_hand if item.rule == LINES_LEFT for step in item.steps]
    return {int(step.split(":")[1]): step for step in steps}


@pytest.mark.parametrize(("edge", "named"), [(18, True), (24, False)])
def test_the_probe_stands_26_mm_ahead_now_so_that_18_takes_the_tip_to_the_end(
    tmp_path: Path, edge: int, named: bool
) -> None:
    line = told(tmp_path, edge).get(14, "")
    assert ("for it the tip goes to -8 mm, with nothing to spare" in line) is named


def test_a_setting_of_the_feeder_that_tells_of_the_hose_in_words_is_named(tmp_path: Path) -> None:
    found = told(tmp_path, 24)
    assert all("it tells of the drive or its tube" in found[line] for line in (6, 9)) and 7 not in found
