"""What still tells of the old drive in lines that no rule has is named, line by line, as a thing to do by hand."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import pytest

from cfgmigrate import api
from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.lines_left import LINES_LEFT, MOST_PLACES_SHOWN, MOST_STEPS_SHOWN, _said_twice
from cfgmigrate.plan.lines_of_a_tip import OF_A_TIP, UNDER_ITS_TOOL
from cfgmigrate.plan.model import Edit
from cfgmigrate.plan.old_numbers import FormerNumber, OldNumbers

FILE = """\
; the drive stands behind, a hose leads to the head
[axis x]
high end = 210
steps per mm = 84
[feeder]
steps per mm = 97.25 ; 97.25 was counted
max speed = 62
[feeder hose]
whole way = 455
[bed]
warm = 97
; was 97.2500 for a year
[retraction]
length = 5.5
[filament gone]
mm left after the switch = 520
[errand fetch]
; 430 mm of hose came with it
[feeder]
jerk mm/s = 8
"""
SHEET = """\
old: {drive: tube-fed, tube: {length: 420 mm}}
new: {drive: on the carriage, steps_per_mm: 426.7 1/mm, microsteps: 16, tube: {length: 40 mm}}
carriage: {nozzle_shift: {x: 0 mm, y: 0 mm, z: 0 mm}}
clearance: {as_before: yes}
"""
SCRIPT = """\
G28
G1 E25 F240
G1 E430 F1800
G1 E60 F240
G1 X10 Y10 F3000
"""


def steps(folder: Path, sheet: str = SHEET) -> tuple[str, ...]:
    (folder / "ladle").mkdir()
    (folder / "ladle" / "ladle.conf").write_text(FILE)
    (folder / "ladle" / "errand.nc").write_text(SCRIPT)
    (folder / "swap.yaml").write_text(sheet)
    plan = api.prepare(folder / "ladle", folder / "swap.yaml", out=folder / "packet").plan
    return next((item.steps for item in plan.by_hand if item.rule == LINES_LEFT), ())


def named(folder: Path, sheet: str = SHEET) -> set[str]:
    return {step.partition(" ")[0].rstrip(":") for step in steps(folder, sheet)}


def test_settings_remarks_and_feeds_that_no_rule_has_are_named_by_their_lines(tmp_path: Path) -> None:
    found = named(tmp_path)
    assert {"ladle.conf:1", "ladle.conf:7", "ladle.conf:12", "ladle.conf:18", "ladle.conf:20"} <= found
    assert {"errand.nc:2", "errand.nc:4"} <= found


def test_what_is_changed_asked_or_of_another_thing_is_not_told_again(tmp_path: Path) -> None:
    found = named(tmp_path)
    changed, tube, bed, other_move = "ladle.conf:6", "ladle.conf:9", "ladle.conf:11", "errand.nc:5"
    assert found.isdisjoint({changed, tube, bed, other_move})


def test_what_may_be_the_filament_left_behind_a_sensor_is_asked_instead(tmp_path: Path) -> None:
    steps(tmp_path)
    plan = api.open_packet(tmp_path / "packet").plan
    assert "ladle.conf:16" in {f"{doubt.place.file}:{doubt.place.line}" for doubt in plan.doubts}


def test_each_says_why_it_is_pointed_at(tmp_path: Path) -> None:
    told = " ".join(steps(tmp_path))
    assert "near the old path" in told and "stays as it was for the old drive" in told


def test_where_only_the_motor_is_new_no_length_is_the_old_path_s(tmp_path: Path) -> None:
    sheet = (
        "new: {path_as_before: yes, steps_per_mm: 426.7 1/mm, microsteps: 16}\nclearance: {as_before: yes}\n"
    )
    assert named(tmp_path, sheet).isdisjoint({"ladle.conf:1", "ladle.conf:9", "ladle.conf:16", "errand.nc:2"})


def test_a_pull_of_a_pause_that_was_not_understood_is_told_with_the_new_retraction(tmp_path: Path) -> None:
    (tmp_path / "ladle").mkdir()
    text = FILE.replace(
        "[retraction]\n",
        "[waiting]\npull mm = 14\nlift mm = 0.4\nseconds = 30\npull after = 90  # s\n[retraction]\nbump = 0.15\n",
    )
    (tmp_path / "ladle" / "ladle.conf").write_text(text)
    (tmp_path / "swap.yaml").write_text(SHEET)
    plan = api.prepare(tmp_path / "ladle", tmp_path / "swap.yaml", out=tmp_path / "packet").plan
    (item,) = [each for each in plan.by_hand if each.rule == LINES_LEFT]
    told = [each for each in item.steps if "far longer than the new retraction" in each]
    assert [each.partition(": ")[0] for each in told] == ["ladle.conf:14"]
    assert any(each.startswith("ladle.conf:19") and "not understood" in each for each in item.steps)


def test_the_step_stands_in_the_checklist(tmp_path: Path) -> None:
    steps(tmp_path)
    assert "ladle.conf:7: \\[feeder\\] max speed = 62" in (tmp_path / "packet" / "checklist.md").read_text()


def test_of_many_lines_the_first_are_told_in_words_then_places_and_the_rest_is_counted(
    tmp_path: Path,
) -> None:
    (tmp_path / "ladle").mkdir()
    (tmp_path / "ladle" / "ladle.conf").write_text(FILE + "; through the hose\n" * 1000)
    (tmp_path / "swap.yaml").write_text(SHEET)
    plan = api.prepare(tmp_path / "ladle", tmp_path / "swap.yaml", out=tmp_path / "packet").plan
    (item,) = [each for each in plan.by_hand if each.rule == LINES_LEFT]
    assert len(item.steps) == MOST_STEPS_SHOWN + 1
    assert item.steps[-1].count("ladle.conf:") == 1 and item.steps[-1].endswith(" more")
    assert item.steps[-1].count(", ") == MOST_PLACES_SHOWN


def test_what_is_near_the_old_retraction_beyond_the_first_questions_is_told_too(tmp_path: Path) -> None:
    (tmp_path / "ladle").mkdir()
    strange = "".join(f"quibble {word} mm = 5.2\n" for word in ("a1", "b2", "c3", "d4", "e5", "f6", "g7"))
    (tmp_path / "ladle" / "ladle.conf").write_text(f"{FILE}[filament]\n{strange}")
    (tmp_path / "swap.yaml").write_text(SHEET)
    plan = api.prepare(tmp_path / "ladle", tmp_path / "swap.yaml", out=tmp_path / "packet").plan
    (item,) = [each for each in plan.by_hand if each.rule == LINES_LEFT]
    asked = {doubt.place.line for doubt in plan.doubts if "quibble" in doubt.text}
    told = {int(step.split(":")[1]) for step in item.steps if "quibble" in step}
    assert asked and told and len(asked | told) == 7


def test_of_two_old_numbers_near_a_line_the_same_one_is_told_in_every_process() -> None:
    olds = OldNumbers(
        by_word={
            word: (FormerNumber(324.0, f"{word} script", frozenset((word,))),)
            for word in ("park", "ends", "high", "rest")
        }
    )
    assert olds.said_of("rest and park, high up, where it ends: 322") == "near the old ends script"


def test_a_further_pull_at_a_pause_is_named_with_what_brings_it_back(tmp_path: Path) -> None:
    """Beyond the retraction itself; whatever a names file says that they are not."""
    (tmp_path / "drive.conf").write_text(
        "feeder.steps-per-mm = 97.25\nretraction.length = 5.2\npause.retraction = 5.0\npause.push = 5.0\npause.warm = 1200\n"
    )
    (tmp_path / "cfgmigrate.yaml").write_text(
        'site: 1\nmeanings: {"pause.retraction": ignore, "pause.push": ignore}\n'
    )
    (tmp_path / "sheet.yaml").write_text(SHEET)
    plan = api.prepare([tmp_path / "drive.conf"], tmp_path / "sheet.yaml", out=tmp_path / "packet").plan
    (item,) = [each for each in plan.by_hand if each.rule == LINES_LEFT]
    lines = {int(step.split(":")[1]) for step in item.steps if step.startswith("drive.conf:")}
    assert {3, 4} <= lines and 5 not in lines


OWN_SCRIPTS = """\
name: flint
material: PLA
flow_pct: 94
retraction: {length: 6.4}
start_script:
  - "G1 E4 F300"
  - "G92 E0"
  - "G1 X20 F3000"
end_script:
  - "G1 E-2 F1500"
"""


@pytest.mark.parametrize(
    ("sheet", "lines"),
    [(SHEET, [6, 10]), ("new: {motor: {rated_current: 1 A}}\nclearance: {as_before: yes}\n", [])],
)
def test_the_feeds_of_a_profile_s_own_scripts_are_named_where_the_drive_is_another_one(
    tmp_path: Path, sheet: str, lines: list[int]
) -> None:
    (tmp_path / "config" / "profiles").mkdir(parents=True)
    (tmp_path / "config" / "ladle.conf").write_text(
        "[feeder]\nfull steps = 200\nsteps per mm = 97.25\n[axis x]\nsteps per mm = 84\n"
    )
    (tmp_path / "config" / "profiles" / "flint.yaml").write_text(OWN_SCRIPTS)
    (tmp_path / "swap.yaml").write_text(sheet)
    plan = api.prepare(tmp_path / "config", tmp_path / "swap.yaml", out=tmp_path / "packet").plan
    told = [step for each in plan.by_hand if each.rule == LINES_LEFT for step in each.steps]
    named = {int(each.split(":")[1]) for each in told if each.startswith("profiles/flint.yaml")}
    assert named & {6, 7, 8, 10} == set(lines)


def test_a_setting_of_a_header_that_a_rule_knows_is_no_remark(tmp_path: Path) -> None:
    """The same number at the other axis, at the bed's heater and in a warm-up is none of the old drive's."""
    (tmp_path / "m").mkdir()
    (tmp_path / "m" / "jug.h").write_text(
        "#define X_MAX 214\n#define Y_MAX 214\n#define BED_TUNING_D 214.0\n#define WARM_UP_C 214\n"
        "#define FEEDER_STEPS_PER_MM 96.4\n#define SHELF 214 // reach in x\n"
    )
    (tmp_path / "s.yaml").write_text(
        "new: {drive: on the carriage, steps_per_mm: 426.7 1/mm, microsteps: 16}\nclearance: {less_at_high_x: 12 mm}\n"
    )
    plan = api.work_out(tmp_path / "m", tmp_path / "s.yaml").plan
    assert [edit.line for change in plan.changes for edit in change.edits if edit.old == "214"] == [1]
    told = [step for item in plan.by_hand if item.rule == LINES_LEFT for step in item.steps]
    assert [step.partition(": ")[0] for step in told if "214" in step] == ["jug.h:6"]


TWO = """\
axes:
  x: {high: 200}
  y: {high: 200}
feeders:
  left:
    lag seconds: 0.55
    retraction: {length: 4.8}
    when resting: {pull: 12}
  right:
    lag seconds: 0.55
    retraction: {length: 5}
    when resting: {pull: 14}
    x reach: [16, 264]
retraction on switch: 11
wipe right: |
  T1
  G1 X17 Y4 F9000
wipe left: |
  T0
  G1 X7 Y4 F9000
saved:
  feeders:
    right:
      retraction: {length: 5.2}
tube: {left: 610, right: 592}
"""
OF_THE_RIGHT = """\
feeders:
  right:
    old: {drive: tube-fed, path_length: 592 mm}
    new: {drive: on the carriage, path_length: 58 mm}
carriage: {one_nozzle: no, nozzle_shift: {x: 3 mm, y: -2 mm, z: 0 mm}}
"""


def test_pulls_for_another_tool_are_told_of_the_swapped_feeder_and_a_value_that_a_saved_one_overrules_too(
    tmp_path: Path,
) -> None:
    (tmp_path / "ladle").mkdir()
    (tmp_path / "ladle" / "ladle.yaml").write_text(TWO)
    (tmp_path / "ladle" / "cfgmigrate.yaml").write_text(
        "site: 1\nfeeders: {1: left, 2: right}\nwords: {saved: nothing}\nmeanings:\n"
        '  "[feeders.right.retraction] length": ignore\n  "[saved.feeders.right.retraction] length": retraction.length\n'
    )
    (tmp_path / "swap.yaml").write_text(OF_THE_RIGHT)
    plan = api.prepare(tmp_path / "ladle", tmp_path / "swap.yaml", out=tmp_path / "packet").plan
    (item,) = [each for each in plan.by_hand if each.rule == LINES_LEFT]
    told = {each.partition(": ")[0]: each for each in item.steps}
    assert "far longer than the new retraction" in told["ladle.yaml:12"]
    assert "far longer than the new retraction" in told["ladle.yaml:14"]
    assert "which changes" in told["ladle.yaml:11"]
    assert OF_A_TIP in told["ladle.yaml:13"] and UNDER_ITS_TOOL in told["ladle.yaml:17"]
    assert "{left: 610, right: 592}" in told["ladle.yaml:25"], "one line, of both"
    assert not {"ladle.yaml:20", "ladle.yaml:6", "ladle.yaml:7", "ladle.yaml:8"} & set(told)


def test_what_is_called_as_a_changed_setting_in_a_block_that_is_not_understood_is_told() -> None:
    saved = "saved:\n  feeders:\n    right:\n      steps per mm: 98\n      lag seconds: 0.58\n"
    text = TWO.partition("saved:")[0] + saved
    machine = recognise([read("a.yaml", text.encode(), "nested")])
    reading = next(each for each in machine.readings if each.place.line == 10)
    edit = Edit("a.yaml", 10, reading.place.column, reading.start, reading.end, reading.text, "0.03")
    changed = SimpleNamespace(edits=(edit,))
    assert [each.line for each in _said_twice(machine, [changed])] == [text.count("\n")]  # type: ignore[list-item]
