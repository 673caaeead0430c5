"""What a line in doubt may be is remembered with it: its light is unknown, and nothing is worked out as if it were not there."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api

FILE = """\
[axis z]
high end = 240
[feeder]
mm per turn = 21.4
{ratio}
run current = 0.8 A
[retraction]
{retraction}
"""
SHEET = """\
old: {drive: tube-fed, tube: {length: 420 mm}}
new:
  drive: on the carriage
  drive_gear: {effective_diameter: 8 mm, gear_ratio: "50:9"}
  motor: {step_angle: 1.8 deg, rated_current: 1.0 A}
  tube: {length: 40 mm}
clearance: {as_before: yes}
"""


def plan_of(
    folder: Path,
    ratio: str = "gear ratio = 3:1",
    retraction: str = "length = 5.5",
    sheet: str = SHEET,
    current: str = "run current = 0.8 A",
    file: str = FILE,
):
    (folder / "config").mkdir(exist_ok=True)
    text = file.replace("run current = 0.8 A", current).format(ratio=ratio, retraction=retraction)
    (folder / "config" / "a.conf").write_text(text)
    (folder / "swap.yaml").write_text(sheet)
    return api.prepare((folder / "config",), folder / "swap.yaml", out=folder / "packet").plan


def light(plan, name: str):
    return next(each for each in plan.lights if each.light == name)


def test_with_nothing_in_doubt_both_are_written(tmp_path: Path) -> None:
    plan = plan_of(tmp_path)
    assert {"feeder.feed_per_turn", "feeder.gear_ratio", "retraction.length"} <= {
        change.quantity for change in plan.changes
    }
    assert (light(plan, "feed").state, light(plan, "retraction").state) == ("set", "set")


@pytest.mark.parametrize("ratio", ["gear ratio = 1:3", "gear ratio = 0.33", "gear ratio = [3, 1]"])
def test_beside_a_gear_ratio_in_doubt_no_feed_per_turn_is_written(tmp_path: Path, ratio: str) -> None:
    plan = plan_of(tmp_path, ratio=ratio)
    assert not [change for change in plan.changes if change.quantity.startswith("feeder.feed")]
    assert light(plan, "feed").state == "unknown"
    (asked,) = [doubt for doubt in plan.doubts if "a gear ratio counts beside it" in doubt.why]
    assert "is right here only where no gear ratio counts" in asked.remedy


def test_beside_two_gear_ratios_no_feed_per_turn_is_written(tmp_path: Path) -> None:
    plan = plan_of(tmp_path, ratio="gear ratio = 3:1\nratio = 1.5")
    assert not [change for change in plan.changes if change.quantity.startswith("feeder.")]
    assert light(plan, "feed").state == "unknown"


@pytest.mark.parametrize(
    "retraction",
    ["length = 5,5", "length = 5.5 %", "length = 5.5 (inches)", "length = 4..5.5", "quux length = 390"],
)
def test_a_retraction_in_doubt_is_no_retraction_of_somewhere_else(tmp_path: Path, retraction: str) -> None:
    plan = plan_of(tmp_path, retraction=retraction)
    told = light(plan, "retraction")
    assert told.state == "unknown"
    assert "a.conf:8" in told.why
    (item,) = [item for item in plan.by_hand if item.rule == "retraction.length"]
    assert item.steps[0].startswith("It may be a.conf:8")


def test_paths_that_changed_places_are_asked_about(tmp_path: Path) -> None:
    sheet = SHEET.replace("420 mm", "41 mm").replace("length: 40 mm", "length: 365 mm")
    plan = plan_of(tmp_path, sheet=sheet)
    assert light(plan, "retraction").state == "unknown"
    assert "Look at the two lengths" in light(plan, "retraction").why


@pytest.mark.parametrize(
    ("line", "state"),
    [
        ("current = 70 ; percent of 1 A", "unknown"),
        ("reference = 0.55 V", "unknown"),
        ("MOTOR_CURRENT_LIST = 600, 700, 700, 820", "unknown"),
        ("[zorp thing]\nfeeder run current = 0.7 A rms", "unknown"),
        ("[bed]\ncurrent = 70 ; percent of 1 A", "by hand"),
        ("[axis x]\ncurrent = 70 ; percent of 1 A", "by hand"),
    ],
)
def test_a_line_that_names_a_current_and_was_not_read_is_no_current_of_somewhere_else(
    tmp_path: Path, line: str, state: str
) -> None:
    told = light(plan_of(tmp_path, current=line), "current")
    assert told.state == state
    assert ("a.conf" in told.why) is (state == "unknown")


@pytest.mark.parametrize("line", ["[hoist thing]\nhigh = 262", "[room]\nwelkin = 210 210 262"])
def test_where_a_line_may_be_the_highest_z_its_light_names_it_and_the_line_is_asked_about(
    tmp_path: Path, line: str
) -> None:
    sheet = SHEET.replace("{as_before: yes}", "{highest_z: 228 mm}")
    plan = plan_of(tmp_path, sheet=sheet, file=FILE.replace("[axis z]\nhigh end = 240", line))
    told = light(plan, "height")
    assert told.state == "unknown" and "a.conf:2" in told.why
    assert any(doubt.place.file == "a.conf" and "axis.z.max" in doubt.remedy for doubt in plan.doubts)


def test_a_height_that_stays_as_before_asks_for_no_line(tmp_path: Path) -> None:
    sheet = SHEET + "carriage: {height_as_before: yes}\n"
    plan = plan_of(tmp_path, sheet=sheet, file=FILE.replace("[axis z]\nhigh end", "[hoist thing]\nhigh"))
    assert light(plan, "height").state == "unaffected"


@pytest.mark.parametrize(("name", "state"), [("LET retraction length", "unknown"), ("SHOW colour", "set")])
def test_a_line_of_another_file_that_ends_in_the_whole_name_of_one_that_was_read_may_win(
    tmp_path: Path, name: str, state: str
) -> None:
    (tmp_path / "config").mkdir()
    (tmp_path / "config" / "b.conf").write_text(f"[start]\nfan speed = 40\n{name} = 5.2\n")
    assert light(plan_of(tmp_path), "retraction").state == state
