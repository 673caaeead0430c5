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
    assert any("a slip of the point" in each.why for each in doubts) is asked


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


@pytest.mark.parametrize(("said", "asked"), [("yes", True), ("no", False)])
def test_a_path_as_before_beside_another_tube_is_asked_about(tmp_path: Path, said: str, asked: bool) -> None:
    sheet = SHEET.replace("new: {", f"new: {{path_as_before: {said}, ")
    (tmp_path / "m").mkdir()
    (tmp_path / "m" / "machine.conf").write_text(FILES)
    (tmp_path / "swap.yaml").write_text(sheet)
    doubts = api.work_out(tmp_path / "m", tmp_path / "swap.yaml").plan.doubts
    assert any("tube.length is 40 mm in place of 430 mm" in each.why for each in doubts) is asked


@pytest.mark.parametrize(
    ("said", "light", "asked"),
    [
        (
            "clearance: {as_before: yes, highest_z: 250 mm, keep_clear: 2 mm}",
            "unknown",
            "touches from 250 mm on",
        ),
        ("clearance: {as_before: yes, less_at_high_z: 20 mm}", "unknown", "less_at_high_z is 20 mm"),
        ("clearance: {as_before: yes, less_at_high_z: 0 mm}", "unaffected", ""),
    ],
)
def test_a_height_as_before_beside_one_that_is_not_leaves_the_light_unknown(
    tmp_path: Path, said: str, light: str, asked: str
) -> None:
    plan = planned(tmp_path, f"{said}\ncarriage: {{height_as_before: yes}}\n")
    (height,) = (each for each in plan.lights if each.light == "height")
    assert height.state == light and not any(each.quantity == "axis.z.max" for each in plan.changes)
    assert any(asked in each.why for each in plan.doubts if asked) is bool(asked)


@pytest.mark.parametrize(("feed", "light"), [("4.15 mm", "unknown"), ("22.9 mm", "set")])
def test_gears_as_before_beside_the_feed_of_others_leave_the_light_unknown(
    tmp_path: Path, feed: str, light: str
) -> None:
    sheet = SHEET.replace(
        "new: {", f"new: {{gears_as_before: yes, motor_as_before: yes, feed_per_turn: {feed}, "
    )
    (tmp_path / "m").mkdir()
    (tmp_path / "m" / "machine.conf").write_text(FILES)
    (tmp_path / "swap.yaml").write_text(sheet)
    plan = api.work_out(tmp_path / "m", tmp_path / "swap.yaml").plan
    (told,) = (each for each in plan.lights if each.light == "feed")
    assert told.state == light
    assert not any(each.quantity == "feeder.feed_per_turn" for each in plan.changes)


@pytest.mark.parametrize(
    "figure",
    [
        "steps_per_mm: 690 1/mm, steps_per_mm_at: 16",
        "drive_gear: {effective_diameter: 11 mm}, microsteps: 16",
    ],
)
def test_gears_as_before_beside_a_figure_of_new_ones_are_asked_about_where_the_files_have_a_ratio(
    tmp_path: Path, figure: str
) -> None:
    """Nothing is worked out of the figure there, so that no value shows that the two don't agree."""
    sheet = SHEET.replace(
        "new: {", f"new: {{gears_as_before: yes, motor: {{step_angle: 1.8 deg}}, {figure}, "
    )
    (tmp_path / "m").mkdir()
    counts = "turn length = 22.9\ngear ratio = 3:1\nmicrosteps = 16\nfull steps = 200\n"
    (tmp_path / "m" / "machine.conf").write_text(FILES.replace("turn length = 22.9\n", counts))
    (tmp_path / "swap.yaml").write_text(sheet)
    plan = api.work_out(tmp_path / "m", tmp_path / "swap.yaml").plan
    (told,) = (each for each in plan.lights if each.light == "feed")
    assert told.state == "unknown"
    assert any(each.text == "new.gears_as_before: yes" and "by another" in each.why for each in plan.doubts)
