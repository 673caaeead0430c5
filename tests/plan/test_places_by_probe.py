"""A place that was chosen so that the probe stood over a round one is told where the probe's offset changes."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.plan.lines_left import LINES_LEFT

FILE = """\
[axis x]
highest = 240
[axis y]
highest = 240
[probe]
x offset = -27.3
y offset = 11
[z finding]
home over = 147.3, 114
[levelling]
screw one = {}
[lamp]
colours = 120, 125
"""
SHEET = "new: {{drive: on the carriage}}\ncarriage: {{probe_offset: {{x: {} mm, y: {} mm}}, nozzle_shift: {{x: 0 mm, y: 0 mm, z: 0 mm}}}}\n"


def told(folder: Path, x: float, y: float, screw: str = "57.3, 19") -> list[str]:
    (folder / "m").mkdir()
    (folder / "m" / "a.conf").write_text(FILE.format(screw))
    (folder / "s.yaml").write_text(SHEET.format(x, y))
    plan = api.work_out(folder / "m", folder / "s.yaml").plan
    steps = [step for item in plan.by_hand if item.rule == LINES_LEFT for step in item.steps]
    return [step for step in steps if "the probe stood over" in step]


def test_such_places_are_told_with_where_they_have_to_go(tmp_path: Path) -> None:
    # 147.3 - 27.3 = 120, 114 + 11 = 125; 120 - 18.5 = 101.5, 125 + 6 = 131
    home, screw = told(tmp_path, 18.5, -6)
    assert "a.conf:9" in home and "stood over 120, 125" in home and "101.5, 131" in home
    assert "a.conf:11" in screw and "11.5, 36" in screw  # 57.3 - 27.3 = 30, 19 + 11 = 30


@pytest.mark.parametrize(("x", "y", "screw"), [(-27.3, 11, "57.3, 19"), (18.5, -6, "57, 19")])
def test_where_the_offset_stays_or_nothing_comes_to_a_round_place_nothing_is_told(
    tmp_path: Path, x: float, y: float, screw: str
) -> None:
    assert not [step for step in told(tmp_path, x, y, screw) if "a.conf:11" in step]
