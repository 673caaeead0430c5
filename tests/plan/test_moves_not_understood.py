"""No light is set while lines of a script move what it is about in words that nobody explained."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.workflow.prepare import work_out

FRAME = (
    "[axis z]\nhighest spot = 210\n[feeder]\nturn length = 22.9 mm\n[retraction]\nretraction length = 5.2\n"
)
SWAP = """machine: Plover
old: {drive: tube-fed, path_length: 465 mm}
new: {drive: on the carriage, path_length: 40 mm, feed_per_turn: 5.1 mm, recommended_retraction: 0.8 mm}
filament: {material: PLA}
clearance: {highest_z: 180 mm, keep_clear: 2 mm}
carriage: {nozzle_shift: {z: 0 mm}}
"""
SCRIPT = "; K = wire mm, D = up-down\nK4 V180\nD200 V800\nD150 V800\nhonk 3\nK-7 V900\n"
UNEXPLAINED = "K4 V180\nD200 V800\nD150 V800\nhonk 3\nK-480 V900\n"
LEFT = 'site: 1\nroles: {"quits/end.mv": no configuration}\n'
TOLD = 'site: 1\nmoves: {"quits/end.mv K": filament in, "quits/end.mv D": to z}\n'
PART = 'site: 1\nmoves: {"quits/end.mv D": to z}\n'


@pytest.mark.parametrize(
    ("script", "site", "pull", "end"),
    [
        (SCRIPT, "", "quits/end.mv:2, 6 seem", "quits/end.mv:3 seem"),
        (UNEXPLAINED, "", "quits/end.mv:5 seem", "quits/end.mv:2 seem"),
        (UNEXPLAINED, PART, "quits/end.mv:5 seem", ""),
        (SCRIPT, TOLD, "", ""),
        (SCRIPT, LEFT, "", ""),
    ],
    ids=["a remark says it", "by their numbers", "explained in part", "explained", "looked through"],
)
def test_lines_that_nobody_explained_are_named_by_the_light_that_they_are_about(
    tmp_path: Path, script: str, site: str, pull: str, end: str
) -> None:
    lay(tmp_path, script, site)
    plan = work_out([tmp_path / "config"], tmp_path / "swap.yaml").plan
    lights = {each.light: each for each in plan.lights}
    for light, lines in (("retraction", pull), ("height", end)):
        assert (lights[light].state == "unknown") is bool(lines), lights[light]
        assert lines in lights[light].why


def test_what_is_told_of_such_lines_follows_from_the_packet_alone(tmp_path: Path) -> None:
    lay(tmp_path, UNEXPLAINED, PART)
    api.prepare(tmp_path / "config", tmp_path / "swap.yaml", out=tmp_path / "packet")
    assert api.verify(tmp_path / "packet") == ()


@pytest.mark.parametrize(
    ("script", "lines"),
    [
        ("G91\nG1 P10 F240\nG1 P-20 F2400\nG0 X5\nG1 P-490 F2600\nG90\n", "quits/end.mv:2, 3, 5 seem"),
        ("G91\nG1 E10 F240\nG0 X5\nG1 X20 P-490\nG90\n", ""),
        ("G91\nG1 P10 F240\nG0 X5\nG1 P-20 F2600\nG90\n", ""),
    ],
)
def test_a_letter_that_is_moved_by_itself_by_an_old_path_leaves_the_retraction_unknown(
    tmp_path: Path, script: str, lines: str
) -> None:
    lay(tmp_path, script, "")
    plan = work_out([tmp_path / "config"], tmp_path / "swap.yaml").plan
    light = next(each for each in plan.lights if each.light == "retraction")
    assert lines in light.why and (light.state == "unknown") is bool(lines), light


def lay(folder: Path, script: str, site: str) -> None:
    (folder / "config" / "quits").mkdir(parents=True)
    (folder / "config" / "frame.conf").write_text(FRAME)
    (folder / "config" / "quits" / "end.mv").write_text(script)
    (folder / "swap.yaml").write_text(SWAP)
    if site:
        (folder / "config" / "cfgmigrate.yaml").write_text(site)
