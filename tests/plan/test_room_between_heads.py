"""Where a drive comes onto one of two heads, the lines that keep the heads apart are told: no file says how far it stands out."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.plan.room_between_heads import ROOM_BETWEEN_HEADS

FILE = """\
feeders:
  wren: {steps per mm: 96}
  heron: {steps per mm: 96}
axes:
  x heron: {lowest: 40, highest: 300, microsteps: 16}
  x wren: {lowest: -30, highest: 260}
gap between heads: 62
stay_apart: 58
lines apart: wide
"""


@pytest.mark.parametrize(
    ("drive", "nozzles", "lines"),
    [
        ("on the carriage", "no", {5, 7, 8}),
        ("on the carriage", "yes", set()),
        ("tube-fed", "no", set()),
    ],
)
def test_what_keeps_heads_apart_and_where_the_swapped_one_ends_is_shown(
    drive: str, nozzles: str, lines: set[int], tmp_path: Path
) -> None:
    (tmp_path / "a.yaml").write_text(FILE)
    (tmp_path / "swap.yaml").write_text(
        f"feeder: heron\nold: {{drive: tube-fed}}\nnew: {{drive: {drive}}}\ncarriage: {{one_nozzle: {nozzles}}}\n"
    )
    plan = api.work_out(tmp_path / "a.yaml", tmp_path / "swap.yaml").plan
    items = [each for each in plan.by_hand if each.rule == ROOM_BETWEEN_HEADS]
    assert {int(step.split(":")[1]) for each in items for step in each.steps} == lines
    assert all(each.cautions and each.when == "before it moves" for each in items)
