"""A line that by its words says where a switch acts is told as dangerous where the end beside it came nearer."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.model import Plan
from cfgmigrate.plan.switch_lines import SWITCHES_BEYOND, switch_lines

LINES = """\
[axis x]
lowest = -2
highest = 250
[axis y]
lowest = -6
highest = 230
[ends]
left switch clicks at = -2
right stop = 262
front switch clicks at = -6
left switch pin = 3
filament switch = 1
"""


def planned(folder: Path, sheet: str) -> Plan:
    (folder / "hen.conf").write_text(LINES)
    (folder / "sheet.yaml").write_text(sheet)
    return api.prepare([folder / "hen.conf"], folder / "sheet.yaml", out=folder / "packet").plan


def test_the_line_of_a_switch_beyond_the_new_end_is_dangerous_and_is_named_once(tmp_path: Path) -> None:
    plan = planned(tmp_path, "new: {drive: on the carriage}\nclearance: {lowest_x: 5.5 mm}\n")
    (item,) = [each for each in plan.by_hand if each.rule == SWITCHES_BEYOND]
    assert len(item.steps) == 1 and item.steps[0].startswith("hen.conf:8 ") and item.warnings
    named = [step for each in plan.by_hand for step in each.steps if step.startswith("hen.conf:8")]
    assert named == list(item.steps)


def test_no_file_is_said_to_be_silent_of_an_end_stop_where_a_line_of_a_switch_is_there(
    tmp_path: Path,
) -> None:
    sheet = "new: {drive: on the carriage}\ncarriage: {nozzle_shift: {y: 4.5 mm}}\n"
    (item,) = [each for each in planned(tmp_path, sheet).by_hand if each.rule == "protected.end_stop_y"]
    (said,) = [each for each in item.warnings if "end stop stands" in each]
    assert said.startswith("Where the y end stop stands may be said by hen.conf:10: ")


@pytest.mark.parametrize(
    ("key", "told"),
    [
        ("x hot stop", False),
        ("x stop when hot", False),
        ("x cold end stop", False),
        ("x stop hot end temperature side", False),
        ("x stop at hot end side", True),
        ("x_stop_hot_side", True),
        ("x stop at cold side", True),
    ],
)
def test_where_a_chip_stops_for_heat_is_no_place_of_a_switch(key: str, told: bool, tmp_path: Path) -> None:
    (tmp_path / "chips.conf").write_text(f"[chips]\n{key} = 140\nx run current = 0.9\n")
    (tmp_path / "site.conf").write_text("[axis x]\nlowest = -2\nhighest = 250\n")
    (tmp_path / "sheet.yaml").write_text(
        "new: {drive: on the carriage}\ncarriage: {nozzle_shift: {x: 4.5 mm}}\n"
    )
    plan = api.prepare(
        [tmp_path / "chips.conf", tmp_path / "site.conf"], tmp_path / "sheet.yaml", out=tmp_path / "packet"
    ).plan
    (item,) = [each for each in plan.by_hand if each.rule == "protected.end_stop_x"]
    assert bool([each for each in (*item.steps, *item.warnings) if key in each]) is told


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("x_home_at = -2", True),
        ("home at x = -2", True),
        ("x home-at = -2", True),
        ("x_home_at_speed = 40", False),
        ("x_homing_speed = 40", False),
        ("x_home_again = 5", False),
        ("x_home_at = left", False),
        ("y_home_at = -8", False),
    ],
)
def test_where_an_axis_is_when_it_has_gone_home_is_a_place_of_its_switch(
    line: str, told: bool, tmp_path: Path
) -> None:
    (tmp_path / "site.conf").write_text(f"[frame]\nx min = -2\nx max = 250\ny max = 230\n{line}\n")
    (tmp_path / "sheet.yaml").write_text(
        "new: {drive: on the carriage}\ncarriage: {nozzle_shift: {x: 4.5 mm}}\n"
    )
    plan = api.prepare([tmp_path / "site.conf"], tmp_path / "sheet.yaml", out=tmp_path / "packet").plan
    (item,) = [each for each in plan.by_hand if each.rule == "protected.end_stop_x"]
    named = [each for each in item.steps if line in each]
    assert bool(named) is told and all("end_stop.x" in each for each in named)


@pytest.mark.parametrize(
    ("line", "named"),
    [
        ("home_at = -6", True),
        ("home_again_speed = 8", False),
        ("home_back_off = 4", False),
        ("stop = -6", False),
    ],
)
def test_in_the_section_of_an_axis_alone_a_key_says_where_its_switch_acts(line: str, named: bool) -> None:
    text = f"[x]\nswitch_side = low\n{line}\nlowest = -6\nhighest = 231\n[feeder]\nhome_at = 3\n"
    machine = recognise([read("a.cfg", text.encode(), "sectioned")])
    assert [place.line for place, *_ in switch_lines(machine, "x")] == ([3] if named else [])
    assert not list(switch_lines(machine, "y"))
