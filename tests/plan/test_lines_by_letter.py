"""A letter in a line's name that a remark gives to another machine keeps this machine's packet out of that line."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.plan.model import Plan

MAIN = "[feeder]\nfeed per turn = 21.4 mm\nfull steps = 200\nmicrosteps = 16\nretraction length = 5.6 mm\n"
REELS = (
    "# {legend}.  mm, ms\npla-f-pull: 5.8\npla-f-lag: 540\nstuff-hue: grey\nstuff-dry-c: 56\nstuff-density: 1.22\n"
    "paint-walls: 3\npaint-seam: back\nfan-part-most: 1\nbed-glass-mm: 4\n"
)
SHEET = """machine: {name}
old:
  drive: tube-fed
  tube: {{length: 410 mm, bore: 1.9 mm, bend: 170 deg}}
new:
  drive: on the carriage
  tube: {{length: 38 mm, bore: 1.9 mm, bend: 20 deg}}
filament: {{material: PLA, diameter: 1.75 mm}}
"""


def planned(folder: Path, legend: str, name: str) -> Plan:
    config = folder / "config"
    config.mkdir()
    (config / "main.txt").write_text(MAIN)
    (config / "reels.txt").write_text(REELS.format(legend=legend))
    (config / "cfgmigrate.yaml").write_text(
        "site: 1\nroles: {main.txt: in force, reels.txt: profile}\ndialects: {reels.txt: flat}\n"
        'meanings: {"pla-f-pull": {quantity: retraction.length, unit: mm}, "pla-f-lag": {quantity: lag.coefficient, unit: ms}}\n'
    )
    (folder / "sheet.yaml").write_text(SHEET.format(name=name))
    return api.prepare([config], folder / "sheet.yaml", out=folder / "packet").plan


def lines(plan: Plan) -> set[str]:
    return {f"{edit.file}:{edit.line}" for change in plan.changes for edit in change.edits}


def test_a_line_of_the_other_machine_s_letter_is_asked_and_not_written(tmp_path: Path) -> None:
    plan = planned(tmp_path, "d = heron, f = teal", "heron")
    assert not {each for each in lines(plan) if each.startswith("reels.txt")}
    assert "main.txt:5" in lines(plan)
    asked = [each for each in plan.doubts if "stands for teal (reels.txt:1)" in each.why]
    assert [each.place.line for each in asked] == [2, 3]
    of_reels = [each for each in plan.lights if "pla" in each.holder and each.light == "retraction"]
    assert all(each.state in ("unknown", "by hand") for each in of_reels)


@pytest.mark.parametrize(
    ("legend", "name"),
    [("d = heron, f = teal", "teal"), ("d = duct, f = fast", "heron"), ("f = fast", "heron")],
)
def test_its_own_letter_and_one_of_no_machine_keep_nothing_back(
    tmp_path: Path, legend: str, name: str
) -> None:
    assert "reels.txt:2" in lines(planned(tmp_path, legend, name))
