"""A value that the board may keep of its own, in a line that nobody understood, leaves no light set."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Reading
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.kept_by_board import is_near, may_be_it
from cfgmigrate.plan.model import Plan

HEADER = """\
#define FEEDER_STEPS_PER_MM 139.6
#define FEEDER_MICROSTEPS 16
#define FEEDER_RUN_CURRENT_MA 1050 /* rms */
#define FEEDER_RETRACTION_MM 5.2
#define Z_MAX 310
"""
SHEET = """\
old: {drive: tube-fed, tube: {length: 500 mm}}
new:
  drive: on the carriage
  feed_per_turn: 23.0 mm
  microsteps: 16
  motor: {step_angle: 1.8 deg, rated_current: 0.8 A}
  tube: {length: 40 mm}
clearance: {as_before: yes}
carriage: {height_as_before: yes}
"""


def planned(folder: Path, saved: str, role: str = "saved values", more: str = "") -> Plan:
    config = folder / "config"
    config.mkdir()
    (config / "machine.h").write_text(HEADER)
    (config / "console.txt").write_text(saved)
    (config / "cfgmigrate.yaml").write_text(f'site: 1\nroles: {{"console.txt": {role}}}\n{more}')
    (folder / "sheet.yaml").write_text(SHEET)
    return api.prepare([config], folder / "sheet.yaml", out=folder / "packet").plan


def states(plan: Plan) -> dict[str, str]:
    return {light.light: light.state for light in plan.lights}


@pytest.mark.parametrize(
    ("line", "light"),
    [("K10 X100 Y100 F141.25\n", "feed"), ("K17 F1100\n", "current"), ("K15 L5.2 V40\n", "retraction")],
)
def test_a_strange_saved_number_near_an_old_value_leaves_its_light_unknown(
    tmp_path: Path, line: str, light: str
) -> None:
    plan = planned(tmp_path, line + "K44 P2600\n" * 4)
    assert states(plan)[light] == "unknown"
    (found,) = [each for each in plan.lights if each.light == light]
    assert "may be what the board keeps of it" in found.why and "console.txt:1" in found.why
    assert found.missing


@pytest.mark.parametrize(("section", "may_be"), [("y zumklo", False), ("x zumklo", True), ("zumklo", True)])
def test_a_strange_line_of_another_axis_is_no_value_of_this_one(section: str, may_be: bool) -> None:
    text = f"[axis x]\nsteps per mm = 84\n[{section}]\nbrelk = 84\n"
    machine = recognise([read("hen.conf", text.encode(), "sectioned")])
    (reading,), (strange,) = machine.readings, machine.unread
    assert may_be_it(strange, reading, machine) is may_be


@pytest.mark.parametrize(
    ("ratio", "number", "near"),
    [
        ("1", "1", True),
        ("1", "1.0", True),
        ("1", "0.99", False),
        ("1", "1.2", False),
        ("3.3333", "3.33", True),
    ],
)
def test_a_gear_ratio_is_kept_as_that_very_number_and_a_share_near_it_is_none(
    ratio: str, number: str, near: bool
) -> None:
    text = f"[feeder]\ngear ratio = {ratio}\n[zumklo]\nbrelk = {number}\n"
    machine = recognise([read("hen.conf", text.encode(), "sectioned")])
    (reading,), (strange,) = machine.readings, machine.unread
    assert is_near(strange, reading) is near


def test_where_more_is_strange_than_known_any_value_may_be_among_them(tmp_path: Path) -> None:
    plan = planned(tmp_path, "K40 B7\nK41 C9\nK42 D13\n")
    assert {states(plan)[light] for light in ("feed", "current", "retraction")} == {"unknown"}


def test_what_the_sheet_says_is_not_affected_stays_so(tmp_path: Path) -> None:
    assert states(planned(tmp_path, "K40 Z310\n"))["height"] == "unaffected"


def test_a_file_that_is_no_saved_values_takes_no_light_away(tmp_path: Path) -> None:
    plan = planned(tmp_path, "K10 X100 Y100 F141.25\nK17 F1100\n", "no configuration")
    assert {states(plan)[light] for light in ("feed", "current", "retraction")} == {"set"}


def test_a_saved_value_that_is_read_is_written_too_and_its_light_is_set(tmp_path: Path) -> None:
    plan = planned(tmp_path, "M92 X100 Y100 E141.25\n")
    (feed,) = [each for each in plan.changes if each.quantity == "feeder.steps_per_mm"]
    assert {edit.file for edit in feed.edits} == {"machine.h", "console.txt"}
    assert states(plan)["feed"] == "set"


CONSOLE = """\
keeper> what is kept
  feeder steps per mm      141.25
  feeder run current ma      1100
  feeder retraction mm        5.9
keeper> bye for now, and mind the step
and off it went
"""


@pytest.mark.parametrize("light", ["feed", "current", "retraction"])
def test_a_listing_that_nobody_took_in_leaves_the_lights_of_its_values_unknown(
    tmp_path: Path, light: str
) -> None:
    plan = planned_with(tmp_path, CONSOLE)
    assert states(plan)[light] == "unknown"
    assert "console.txt:" in next(each.why for each in plan.lights if each.light == light)


def test_a_listing_s_row_with_a_number_for_each_axis_leaves_the_drive_s_light_unknown(tmp_path: Path) -> None:
    plan = planned_with(tmp_path, "keeper> what is kept\npulses/mm .... x 80 y 80 z 400 feed 141.25\n")
    assert states(plan)["feed"] == "unknown" and states(plan)["retraction"] == "set"
    assert "console.txt:2" in next(each.why for each in plan.lights if each.light == "feed")


def test_a_listing_that_is_said_to_be_nothing_takes_no_light_away(tmp_path: Path) -> None:
    assert states(planned(tmp_path, CONSOLE, "no configuration"))["feed"] == "set"


def planned_with(folder: Path, text: str, sheet: str = SHEET) -> Plan:
    """Planned with a text that the site file says nothing of."""
    plan_of = folder / "config"
    plan_of.mkdir()
    (plan_of / "machine.h").write_text(HEADER)
    (plan_of / "console.txt").write_text(text)
    (folder / "sheet.yaml").write_text(sheet)
    return api.prepare([plan_of], folder / "sheet.yaml", out=folder / "packet").plan


def test_the_rows_of_a_table_are_no_value_in_force(tmp_path: Path) -> None:
    heights = "".join(f"dip {row} {column} 139.{row}{column}\n" for row in range(3) for column in range(3))
    assert states(planned(tmp_path, heights, more='dialects: {"console.txt": flat}'))["feed"] == "set"


@pytest.mark.parametrize(
    "line",
    [
        "axes z jump_mm_s = 1.05", "tip_at_end x = 139.6", "fan from = 139", "bed heater turns = 1050", "feeder top_ma = 5.2",
        "retry_ms = 5.2", "probe tries = 5.2", "gizmo = 5 October", "gizmo = 5.10.2026",
    ],
)  # fmt: skip
def test_a_line_that_says_in_words_what_else_it_is_is_no_suspect(tmp_path: Path, line: str) -> None:
    known = "feeder microsteps = 16\n" * 2 + "z max = 310\n"
    plan = planned(tmp_path, f"{known}{line}\n")
    assert not [each.why for each in plan.lights if "may be what the board keeps" in each.why]


@pytest.mark.parametrize(
    ("line", "light"),
    [
        ("retraction gizmo mm = 5.2", "retraction"),
        ("cur knob = 1.05", "current"),
        ("q17 = 139.6", "feed"),
    ],
)
def test_one_that_may_still_be_it_stays_a_suspect(tmp_path: Path, line: str, light: str) -> None:
    plan = planned(tmp_path, f"feeder microsteps = 16\nz max = 310\n{line}\n")
    assert states(plan)[light] == "unknown"


def test_a_file_that_is_read_after_may_override_by_lines_that_nobody_understood(tmp_path: Path) -> None:
    (tmp_path / "main.txt").write_text(
        "read after this = short.txt\nfeeder steps per mm = 194.0\nfeeder microsteps = 32\n"
        "feeder run current rms = 1.1 A\nretraction length = 5.8 mm\nz maximum = 200\n"
    )
    (tmp_path / "short.txt").write_text("# motors, mA peak\nfi = 1550\nfs = 197.05\nfr = 5.4\n")
    (tmp_path / "sheet.yaml").write_text(SHEET)
    plan = api.prepare([tmp_path], tmp_path / "sheet.yaml", out=tmp_path / "packet").plan
    why = {light.light: light.why for light in plan.lights if light.state == "unknown"}
    assert "fs = 197.05 (short.txt:3), where short.txt is read after it (main.txt:1)" in why["feed"]
    assert "fi = 1550 (short.txt:2)" in why["current"] and "fr = 5.4 (short.txt:4)" in why["retraction"]


def changed(plan: Plan) -> set[str]:
    return {each.quantity for each in plan.changes}


SCALED = (
    SHEET.replace("500 mm}", "500 mm, bore: 1.9 mm, bend: 140 deg}").replace(
        "40 mm}", "40 mm, bore: 1.9 mm, bend: 0 deg}"
    )
    + "filament: {material: PLA, diameter: 1.75 mm}\n"
)


def test_what_is_scaled_from_an_old_value_waits_where_a_listing_that_is_asked_about_gives_another(
    tmp_path: Path,
) -> None:
    plan = planned_with(tmp_path, CONSOLE, SCALED)
    assert "retraction.length" not in changed(plan)
    (left,) = [each for each in plan.left_alone if each.quantity == "retraction.length"]
    assert "console.txt:4" in left.why and "it would be" in left.why
    # set without the old value, and written
    assert {"feeder.steps_per_mm", "motor.run_current"} <= changed(plan)


def test_where_the_listing_gives_the_same_or_is_said_to_be_nothing_it_is_written(tmp_path: Path) -> None:
    (tmp_path / "same").mkdir()
    plan = planned_with(tmp_path / "same", CONSOLE.replace("5.9", "5.2"), SCALED)
    assert "retraction.length" in changed(plan)
    (tmp_path / "none").mkdir()
    assert "retraction.length" in changed(planned(tmp_path / "none", CONSOLE, "no configuration"))


def test_where_a_text_says_that_it_wins_and_nobody_can_read_it_any_value_may_be_in_it(tmp_path: Path) -> None:
    said = "This is what the board has now, it wins over machine.h.\nThe board answered:\n pushes 5.9 of mm, and 141.25 of the rest\n"
    plan = planned_with(tmp_path, said, SCALED)
    assert states(plan)["retraction"] == "unknown" and "retraction.length" not in changed(plan)
    assert states(plan)["feed"] == "unknown"


@pytest.mark.parametrize(
    ("lines", "line"),
    [
        ("; -- net of the bed\nK71 S1 C5 R5\n; -- pull back by the board\nK15 L5.2 V40\n", 4),
        ("K71 C5.1\n\n; -- pull back\nK15 L4.4\n", 4),
    ],
)
def test_of_several_codes_the_one_whose_heading_speaks_of_it_is_told(
    tmp_path: Path, lines: str, line: int
) -> None:
    plan = planned(tmp_path, lines + "K44 P2600\n" * 4)
    (found,) = [each for each in plan.lights if each.light == "retraction"]
    assert f"console.txt:{line})" in found.why


def test_a_code_below_a_heading_of_another_part_is_not_it(tmp_path: Path) -> None:
    machine = recognise(
        [read("b.txt", b"; -- net of the bed\nK71 S1 C5 R5\n; -- knead\nK72 C5\n", "command")]
    )
    told = [
        (each.place.line, may_be_it(each, _pulled(), machine))
        for each in machine.unread
        if each.setting.key == "C"
    ]
    assert told == [(2, False), (4, True)]


def _pulled() -> Reading:
    machine = recognise([read("a.h", b"#define RETRACTION_LENGTH 5.2\n", "header")])
    return machine.get("retraction.length")


@pytest.mark.parametrize(
    ("head", "asked"),
    [
        ("; kept 9 June. Read last, wins over all.", True),
        ("; the board writes it.\n; Wins over every file.", True),
        ("; kept 9 June, for the shelf.", False),
        ("; kept 9 June. Each machine's own file wins.", False),
    ],
)
def test_codes_that_nobody_understood_are_asked_about_where_the_head_of_their_file_says_that_it_wins(
    tmp_path: Path, head: str, asked: bool
) -> None:
    plan = planned(
        tmp_path,
        f"{head}\nK10 X90 Y90 Z405\nK10 F141.25\nK15 L5.0 V41\n",
        "in force",
        more='dialects: {"console.txt": command}\n',
    )
    why = {light.light: light.why for light in plan.lights if light.state == "unknown"}
    assert ("console.txt" in why.get("feed", "")) is asked
    assert ("[K15] L = 5.0 (console.txt:" in why.get("retraction", "")) is asked


SAVED = """\
K90 L60 ; {}
K91 I0 H139 B5 ; {}
K91 I1 H140 B5
K44 P2600
K44 P2600
K44 P2600
K44 P2600
"""


@pytest.mark.parametrize(
    ("first", "second", "light", "state"),
    [
        ("lamp", "menu", "feed", "set"),
        ("prints begun", "screen colours", "feed", "set"),
        ("lamp", "menu", "retraction", "set"),
        ("zumklo", "brelk", "feed", "unknown"),
        ("zumklo", "brelk", "retraction", "unknown"),
        ("lamp", "feeder, brelk", "feed", "unknown"),
    ],
)
def test_a_code_whose_remark_is_about_what_no_drive_has_is_no_value_of_it(
    tmp_path: Path, first: str, second: str, light: str, state: str
) -> None:
    """A lamp was told to be the top speed, and the rows of a menu the full steps."""
    plan = planned(tmp_path, SAVED.format(first, second))
    assert states(plan)[light] == state
