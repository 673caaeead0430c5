"""A speed or an acceleration beside a setting that changes does not stay old in silence."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.plan.lines_left import LINES_LEFT

HEADER = """\
#define WHOLE_STEPS { 200, 200, 200, 200 }
#define STEPS_PER_MM { 88.50, 91.20, 640.00, 103.40 }
#define WAY_OF_TURNING { 0, 1, 0, 1 }
#define HASTE { 3800, 2900, 110, 5000 }
#define HASTE_PRINT 3400
#define HASTE_EMPTY 4200
#define BLUNT { 8.5, 7.5, 0.4, 6.0 }
#define CHANGE_LOAD_FAST 520
#define CHANGE_LOAD_FAST_MM_S 55
#define DRIVE_SITS "frame, left post"
#define SAY_DONE "done"
#define HASTY_KNOB 4500
#define CARRIAGE_GRAMS 330
#define PULSE_RATE_MOST 40000
#define PULSE_RATE_SHOWN 4
"""
SITE = """\
site: 1
meanings:
  HASTE: [axis.x.max_acceleration, axis.y.max_acceleration, axis.z.max_acceleration, feeder.max_acceleration]
  HASTE_PRINT: machine.max_acceleration
  CHANGE_LOAD_FAST: feeder.load_length
"""
SHEET = """\
old: {drive: tube-fed, tube: {length: 420 mm}}
new: {drive: on the carriage, steps_per_mm: 426.7 1/mm, microsteps: 16, tube: {length: 40 mm}}
carriage: {old_mass: 330 g, new_mass: 505 g}
"""


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    folder = tmp_path_factory.mktemp("beside")
    (folder / "machine").mkdir()
    (folder / "machine" / "wick.h").write_text(HEADER)
    (folder / "machine" / "cfgmigrate.yaml").write_text(SITE)
    (folder / "swap.yaml").write_text(SHEET)
    plan = api.prepare(folder / "machine", folder / "swap.yaml", out=folder / "packet").plan
    assert "axis.x.max_acceleration" in {change.quantity for change in plan.changes}
    steps = next(item.steps for item in plan.by_hand if item.rule == LINES_LEFT)
    return {step.partition(": ")[0]: step for step in steps}


@pytest.mark.parametrize(
    ("line", "why"),
    [
        (5, "above the new X maximum acceleration"),
        (6, "named after HASTE"),
        (7, "with a number for the drive"),
        (9, "named after CHANGE_LOAD_FAST"),
        (10, "it tells of the drive"),
        (13, "what the carriage weighed"),
        (14, "the most steps a second that the board can send"),
    ],
)
def test_it_is_named_with_the_reason(told: dict[str, str], line: int, why: str) -> None:
    assert why in told[f"wick.h:{line}"]


@pytest.mark.parametrize("line", [3, 11, 12, 15])
def test_switches_talk_and_what_only_begins_alike_are_not(told: dict[str, str], line: int) -> None:
    assert f"wick.h:{line}" not in told


ROWS = "".join(f"dip {row} {column} {(row - column) / 50:+.2f}\n" for row in range(3) for column in range(3))
TABLE = """\
[probe]
x offset = -41
[bed net]
net = -0.09, 0.08, 0.06, 0.04, 0.02, 0.00, -0.02, -0.04, -0.06
[touch grid]
strip_1 = -0.09, 0.08, 0.06
strip_2 = -0.03, 0.02, 0.01
strip_3 = 0.04, 0.02, -0.05
[warmth]
table = 0.09, 0.08, 0.06, 0.04, 0.02, 0.00, 0.02, 0.04, 0.06
"""


@pytest.mark.parametrize(("shift", "told_of"), [("x: 4 mm", True), ("x: 0 mm", False)])
def test_stored_heights_of_the_bed_are_of_the_old_places_once_the_probe_gets_elsewhere(
    tmp_path: Path, shift: str, told_of: bool
) -> None:
    (tmp_path / "machine").mkdir()
    (tmp_path / "machine" / "wick.h").write_text(HEADER)
    (tmp_path / "machine" / "heights.txt").write_text(ROWS)
    (tmp_path / "machine" / "net.conf").write_text(TABLE)
    said = 'roles: {heights.txt: saved values}\ndialects: {heights.txt: flat}\nmeanings: {"dip": ignore}\n'
    (tmp_path / "machine" / "cfgmigrate.yaml").write_text(f"site: 1\n{said}")
    carriage = (
        f"carriage: {{probe_shift: {{{shift}, y: 0 mm}}, nozzle_shift: {{x: 0 mm, y: 0 mm, z: 0 mm}}}}\n"
    )
    (tmp_path / "swap.yaml").write_text(SHEET.partition("carriage:")[0] + carriage)
    plan = api.prepare(tmp_path / "machine", tmp_path / "swap.yaml", out=tmp_path / "packet").plan
    steps = [step for item in plan.by_hand if item.rule == LINES_LEFT for step in item.steps]
    found = {step.partition(": ")[0] for step in steps if "of the old places" in step}
    assert found == ({"heights.txt:1", "net.conf:4", "net.conf:6"} if told_of else set())


DRIVE = """\
[feeder]
steps per mm = 96.4
top speed = 80
jump = 8
[knob load]
haste speed = 60
slow speed = 5
[axis x]
jump = 9
[put in]
haste speed = 60
"""


def test_speeds_above_the_new_top_speed_and_what_the_drive_reaches_at_once_are_named(tmp_path: Path) -> None:
    """At 1017 steps a mm and 40,000 steps a second the drive feeds at 39 mm/s at the most."""
    (tmp_path / "machine.conf").write_text(DRIVE)
    (tmp_path / "sheet.yaml").write_text(
        "new: {steps_per_mm: 1017 1/mm, microsteps: 16, drive: on the carriage}\ncontroller: {max_step_rate: 40 kHz}\n"
    )
    plan = api.prepare([tmp_path / "machine.conf"], tmp_path / "sheet.yaml", out=tmp_path / "packet").plan
    (item,) = [each for each in plan.by_hand if each.rule == LINES_LEFT]
    lines = {int(step.split(":")[1]) for step in item.steps if step.startswith("machine.conf:")}
    assert {4, 6, 11} <= lines and not lines & {7, 9}


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("hurry_of_prints = 3500", "an acceleration by its name, above the new X maximum acceleration"),
        ("printing acceleration = 3500", "an acceleration by its name, above the new X maximum acceleration"),
        ("bucket_x = 262", "beyond the new X maximum of 256 mm"),
        ("bucket_x = 250", ""),
        ("bucket_y = 262", ""),
        ("x_pin = 262", ""),
        ("hurry_of_prints = 1200", ""),
        ("feeders jump mm s = 5", "what the old drive could reach at once"),
    ],
)
def test_places_beyond_a_new_limit_and_accelerations_of_prints_are_named(
    tmp_path: Path, line: str, why: str
) -> None:
    config = f"[axis x]\nmin = -5\nmax = 268\nmax acceleration = 3600\n[feeder]\nsteps per mm = 96\n[works]\n{line}\n"
    (tmp_path / "machine.conf").write_text(config)
    (tmp_path / "sheet.yaml").write_text(
        f"{SHEET[:-2].rstrip('}')}, nozzle_shift: {{x: 0 mm, y: 0 mm, z: 0 mm}}}}\nclearance: {{less_at_high_x: 12 mm}}\n"
    )
    plan = api.prepare([tmp_path / "machine.conf"], tmp_path / "sheet.yaml", out=tmp_path / "packet").plan
    told = [step for item in plan.by_hand if item.rule == LINES_LEFT for step in item.steps]
    found = [step for step in told if step.startswith("machine.conf:8")]
    assert bool(found) is bool(why) and all(why in step for step in found), told


def test_an_acceleration_beside_the_one_for_all_axes_is_named_with_it(tmp_path: Path) -> None:
    (tmp_path / "machine").mkdir()
    (tmp_path / "machine" / "wick.conf").write_text(
        "[machine]\nhighest acceleration = 3900\ntransit acceleration = 4400\nresting acceleration = 900\nlamps = 5000\n"
        "[x axis]\nhighest acceleration = 3900\n[feeder]\nsteps per mm = 96.4\n"
    )
    (tmp_path / "swap.yaml").write_text(SHEET)
    plan = api.prepare(tmp_path / "machine", tmp_path / "swap.yaml", out=tmp_path / "packet").plan
    steps = [step for item in plan.by_hand if item.rule == LINES_LEFT for step in item.steps]
    told_of = " ".join(step for step in steps if "above the new X maximum acceleration" in step)
    assert "wick.conf:2" in told_of and "wick.conf:3" in told_of
    assert "wick.conf:4" not in told_of and "wick.conf:5" not in told_of


FIELD = """\
[axis x]
highest spot = 310
[height field]
left = 20
right = 275
[height field of rows]
right = many
[heater field]
hot = 20
"""


def test_an_edge_of_a_field_by_its_name_is_named_on_the_side_where_a_limit_moved(tmp_path: Path) -> None:
    (tmp_path / "machine").mkdir()
    (tmp_path / "machine" / "wick.ini").write_text(FIELD)
    (tmp_path / "swap.yaml").write_text("new: {drive: on the carriage}\nclearance: {less_at_high_x: 6 mm}\n")
    plan = api.prepare(tmp_path / "machine", tmp_path / "swap.yaml", out=tmp_path / "packet").plan
    (item,) = [each for each in plan.by_hand if each.rule == LINES_LEFT]
    (step,) = item.steps
    assert step.startswith("wick.ini:5: [height field] right = 275 (an edge of what the probe measures")


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        ("; -- P printing  R pulling back  T empty\nL63 P2500 R900 T3000\n", True),
        ("; -- lamp\nL70 S1\n; -- P printing  T empty\nL63 P2500 T3000\n", False),  # not right below
    ],
)
def test_a_code_below_that_of_the_axes_accelerations_is_told_with_what_is_above_the_new_one(
    tmp_path: Path, lines: str, told: bool
) -> None:
    (tmp_path / "m").mkdir()
    stored = f"; -- accelerations, mm/s2\nM862 X3500.0 Y2800.0 Z120.0 E3500.0\n{lines.replace('L', 'M8')}"
    (tmp_path / "m" / "kept.cmd").write_text(
        "; -- steps per mm\nM860 X80.12 Y80.00 Z400.00 E94.60\n" + stored
    )
    (tmp_path / "s.yaml").write_text(SHEET)
    plan = api.work_out(tmp_path / "m", tmp_path / "s.yaml").plan
    steps = [step for each in plan.by_hand if each.rule == LINES_LEFT for step in each.steps]
    found = [step for step in steps if "P2500 (printing), T3000 (empty)" in step]
    assert bool(found) is told and not any("R900" in step for step in steps)
