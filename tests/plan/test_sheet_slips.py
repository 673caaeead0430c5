"""What stands in the sheet and can hardly be meant is asked about at its line."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.plan.model import Plan

FILES = "[feeder]\nturn length = 22.9\n[z axis]\nfarthest = 268\n[y axis]\nfarthest = 208\n[spool petg clear]\nmaterial = PETG\nnozzle = 240\nretraction length = 5.1\n"
SHEET = """\
old: {drive: tube-fed, tube: {length: 430 mm, bore: 2 mm, bend: 180 deg}}
new: {drive: on the carriage, tube: {length: 40 mm, bore: 2 mm, bend: 0 deg}}
filament: {material: PLA, diameter: 1.75 mm}
"""


def planned(folder: Path, more: str) -> Plan:
    (folder / "m").mkdir()
    (folder / "m" / "machine.conf").write_text(FILES)
    (folder / "swap.yaml").write_text(SHEET + more)
    return api.work_out(folder / "m", folder / "swap.yaml").plan


def of_line_four(plan: Plan) -> list[Doubt]:
    return [each for each in plan.doubts if each.place.file.endswith("swap.yaml") and each.place.line == 4]


def test_a_filament_that_no_profile_has_is_asked_about_with_the_nearest(tmp_path: Path) -> None:
    (doubt,) = of_line_four(planned(tmp_path, "filaments: {petg clera: {material: TPU}}\n"))
    assert doubt.text == "filaments: petg clera" and doubt.remedy == "did you mean petg clear?"


@pytest.mark.parametrize("name", ["petg clear", "PETG_Clear"])
def test_a_filament_that_a_profile_has_is_not_asked_about(tmp_path: Path, name: str) -> None:
    assert of_line_four(planned(tmp_path, f"filaments: {{{name}: {{material: PETG}}}}\n")) == []


@pytest.mark.parametrize(
    ("said", "asked"), [("2550 mm", True), ("25.5 mm", True), ("255 mm", False), ("140 mm", False)]
)
def test_a_clearance_of_ten_times_or_a_tenth_is_asked_about(tmp_path: Path, said: str, asked: bool) -> None:
    doubts = planned(tmp_path, f"clearance: {{highest_z: {said}, keep_clear: 2 mm}}\n").doubts
    assert any("the decimal point" in each.why for each in doubts) is asked


@pytest.mark.parametrize(("said", "asked"), [("-5 in", True), ("90 mm", True), ("-5 mm", False)])
def test_a_shift_far_beyond_what_is_usual_is_asked_about(tmp_path: Path, said: str, asked: bool) -> None:
    doubts = of_line_four(planned(tmp_path, f"carriage: {{nozzle_shift: {{x: 0 mm, y: {said}, z: 0 mm}}}}\n"))
    assert any("is very far" in each.why for each in doubts) is asked


@pytest.mark.parametrize(
    ("line", "asked"),
    [
        ("nozzle_shift: {x: 0 mm, y: 0 mm, z: -1.2 mm}  # z by a paper test", True),
        ("probe_room: 2.5 mm   # paper", True),
        ("probe_room: 2.5 mm by paper", False),
        ("probe_room: 2.5 ± 0.1 mm   # paper", False),
        ("probe_room: 2.5 mm   # by the maker's papers", False),
    ],
)
def test_a_height_by_a_slip_of_paper_is_not_taken_as_measured(tmp_path: Path, line: str, asked: bool) -> None:
    doubts = of_line_four(planned(tmp_path, f"carriage: {{{line}\n  }}\n"))
    assert any("paper test" in each.why and "± 0.1 mm" in each.remedy for each in doubts) is asked
