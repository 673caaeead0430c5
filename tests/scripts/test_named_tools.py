"""A script that takes a tool by a feeder's name means that tip from then on, and no other one's limits."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.model import Plan
from cfgmigrate.scripts.named_tools import is_heading, leaves_the_tool, named_tool
from cfgmigrate.scripts.reading import read_script
from cfgmigrate.scripts.tools import first_tool

NAMES = {"near": 1, "far": 2}
FRAME = """\
[axis x]
lowest spot = -6
highest spot = 268
[tips]
{reference}
[feeder near]
steps per mm = 138.5
microsteps = 16
retraction length = 5.2
[feeder far]
steps per mm = 137.5
microsteps = 16
retraction length = 5.4
"""
SITE = "site: 1\nfeeders: {near: {known_as: [near]}, far: {known_as: [far]}}\n"
SHEET = """\
feeders:
  far: {old: {drive: tube-fed, tube: {length: 460 mm}}, new: {drive: on the carriage, tube: {length: 32 mm}}}
carriage: {one_nozzle: no}
clearance: {less_at_high_x: 12 mm}
"""


@pytest.mark.parametrize(
    ("tools", "first"), [((0, 1), 0), ((1, 2), 1), ((2,), 1), ((1,), None), ((0,), 0), ((), None)]
)
def test_the_first_tool_is_0_where_there_is_one_and_1_only_beside_a_2(
    tools: tuple[int, ...], first: int | None
) -> None:
    text = "G1 X1\n" + "".join(f"T{tool}\nG1 X{tool + 5}\n" for tool in tools)
    assert first_tool(recognise([read("end.nc", text.encode(), "command")])) == first


@pytest.mark.parametrize("line", ["tip far", "use far", "SELECT_TIP far", "tool far", "far"])
def test_a_line_that_names_a_feeder_and_a_tip_takes_it(line: str) -> None:
    assert named_tool(line, NAMES) == 2


@pytest.mark.parametrize("line", ["heat far 205 wait", "take_in far 480", "tip near far", "tip", "park far"])
def test_a_line_that_does_something_else_takes_none(line: str) -> None:
    assert named_tool(line, NAMES) is None


def test_heating_leaves_the_tool_as_it_was_and_a_word_of_its_own_may_not() -> None:
    assert leaves_the_tool("heat far 205 wait", NAMES)
    assert not leaves_the_tool("swap_now far", NAMES)


def test_a_heading_is_one_word_in_a_line_of_its_own() -> None:
    assert is_heading("#to_near") and not is_heading("; far goes to sleep")


def planned(folder: Path, script: str, reference: str = "reference = near") -> Plan:
    config = folder / "config"
    config.mkdir()
    (config / "machine.txt").write_text(FRAME.format(reference=reference))
    (config / "routines.cmd").write_text(script)
    (config / "cfgmigrate.yaml").write_text(SITE)
    (folder / "sheet.yaml").write_text(SHEET)
    return api.prepare([config], folder / "sheet.yaml", out=folder / "packet").plan


def edited(plan: Plan) -> list[int]:
    return sorted(
        edit.line for each in plan.changes for edit in each.edits if each.quantity.startswith("script.")
    )


SCRIPT = """\
#aside
G28
tip far
G90
G1 Z8 F600
G1 X265 F6000
G1 Y10 F6000
tip near
G90
G1 X264 F6000
G1 Y12 F6000
"""


def test_only_the_reference_tips_moves_go_to_the_new_limit_and_the_others_are_told(tmp_path: Path) -> None:
    plan = planned(tmp_path, SCRIPT)
    assert edited(plan) == [10]
    (doubt,) = [each for each in plan.doubts if each.place.file == "routines.cmd" and "X265" in each.text]
    assert "another tip" in doubt.why


def test_where_nothing_says_which_tip_is_the_reference_no_move_is_changed(tmp_path: Path) -> None:
    plan = planned(tmp_path, SCRIPT, reference="heated = yes")
    assert not edited(plan)
    assert (
        len([each for each in plan.doubts if each.place.file == "routines.cmd" and "X26" in each.text]) == 2
    )


def test_under_a_heading_of_its_own_nothing_says_which_tip_is_on(tmp_path: Path) -> None:
    plan = planned(tmp_path, f"{SCRIPT}#aside\nG90\nG1 X263 F6000\n")
    assert edited(plan) == [10]
    assert [each for each in plan.doubts if "X263" in each.text]


def test_a_line_that_only_heats_leaves_a_tool_that_was_taken_by_its_number() -> None:
    script = b"T1\nheat 210\nG91\nG1 E30 F300\nbrush now\nG1 E5\n"
    assert [move.tool for move in read_script(script, 0, len(script), "nested")] == [1, None]


@pytest.mark.parametrize(
    ("line", "waits"),
    [
        ("DWELL 4", True),
        ("wait 2.5 s", True),
        ("BEEP", False),
        ("WAIT", False),
        ("PAUSE 4", False),
        ("wait for the bed", False),
    ],
)
def test_a_line_that_only_waits_leaves_modes_and_tool_as_they_are(line: str, waits: bool) -> None:
    script = f"use far\nG91\nG1 E-20 F1200\n{line}\nG1 E-400 F1200\n"
    last = read_script(script.encode(), 0, len(script), "command", "E", NAMES)[-1]
    assert last.feed is not None
    assert (last.feeder, last.feed.length) == ((2, -400.0) if waits else (None, None))
