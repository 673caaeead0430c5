"""A line of the feeder with the very number of an old gear is named, whatever its words are."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.plan.lines_left import LINES_LEFT

FILE = """\
#define {name}_COGS_IN 13
#define {name}_COGS_OUT 41
#define {name}_BITE_DIA 8.30
#define {name}_STEPS_PER_MM 388.4
#define {name}_TRIES 12
#define LAMP_COUNT 13
"""
SHEET = """\
old: {drive: tube-fed, drive_gear: {effective_diameter: 8.3 mm, gear_ratio: "41:13"}}
new: {drive: on the carriage, drive_gear: {effective_diameter: 7.4 mm, gear_ratio: "47:12"}, microsteps: 16, motor: {step_angle: 1.8 deg}}
"""


@pytest.mark.parametrize("name", ["FEEDER", "OUZEL"])
def test_the_old_gears_are_named_by_their_numbers(tmp_path: Path, name: str) -> None:
    (tmp_path / "m").mkdir()
    (tmp_path / "m" / "a.h").write_text(FILE.format(name=name))
    (tmp_path / "m" / "cfgmigrate.yaml").write_text(
        "site: 1\nroles: {a.h: in force}\n" + ("words: {ouzel: feeder}\n" if name == "OUZEL" else "")
    )
    (tmp_path / "s.yaml").write_text(SHEET)
    plan = api.work_out(tmp_path / "m", tmp_path / "s.yaml").plan
    steps = [step for item in plan.by_hand if item.rule == LINES_LEFT for step in item.steps]
    told = {int(step.split(":")[1]): step for step in steps if step.startswith("a.h:")}
    asked = {doubt.place.line for doubt in plan.doubts}
    assert {1, 2, 3} <= told.keys() | asked
    assert "the very number" in told[3]
    if name == "OUZEL":
        assert all("teeth of an old gear" in told[at] for at in (1, 2))
