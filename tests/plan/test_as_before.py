"""What the sheet says to be as before and by its own figures is not: asked about, and no light rests on it."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.plan.as_before import as_before_and_not, denied, told_otherwise
from cfgmigrate.plan.model import Plan
from cfgmigrate.sheet.reader import parse_sheet

FILES = "[feeder]\nturn length = 22.9\n[z axis]\nfarthest = 268\n[y axis]\nfarthest = 208\n"
SHEET = """\
old: {drive: tube-fed, tube: {length: 430 mm, bore: 2 mm, bend: 180 deg}}
new: {drive: on the carriage, tube: {length: 40 mm, bore: 2 mm, bend: 0 deg}}
filament: {material: PLA, diameter: 1.75 mm}
"""
FEED = "new.feed_per_turn"


def planned(folder: Path, more: str) -> Plan:
    (folder / "m").mkdir()
    (folder / "m" / "machine.conf").write_text(FILES)
    (folder / "swap.yaml").write_text(SHEET + more)
    return api.work_out(folder / "m", folder / "swap.yaml").plan


@pytest.mark.parametrize(
    ("old", "otherwise", "why"),
    [
        ("", True, "by another new.feed_per_turn is 4.15 mm"),
        ("old: {feed_per_turn: 4.15 mm}\n", False, ""),
        ("old: {feed_per_turn: 22.9 mm}\n", True, "by others feed_per_turn is 4.15 mm in place of 22.9 mm"),
    ],
)
def test_a_figure_of_the_new_part_is_the_old_one_s_only_where_that_is_said(
    old: str, otherwise: bool, why: str
) -> None:
    """Lights and questions go by one rule; what contradicts is asked once, with both numbers where both are there."""
    said = parse_sheet(f"{old}new: {{gears_as_before: yes, feed_per_turn: 4.15 mm}}\n".encode(), "s").entries
    assert (told_otherwise([FEED], said), denied("new.gears_as_before", said)) == (
        otherwise,
        FEED * otherwise,
    )
    asked = [each.why.removeprefix("it is as before by this line, and ") for each in as_before_and_not(said)]
    assert asked == [why] * otherwise


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
        "steps_per_mm: 704 1/mm, steps_per_mm_at: 16",
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
