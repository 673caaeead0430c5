"""A line that keeps an old current, feed, retraction or length for loading is named, also where the line that wins over it is
what was asked, and what the board keeps of it belongs to the list of what is stored at its console."""

from __future__ import annotations

from pathlib import Path

from cfgmigrate import api
from cfgmigrate.plan.at_console import TO_STORE, told_values
from cfgmigrate.plan.model import LINES_LEFT, Plan

#: a motor whose current neither mount nor winding stand, so that none is worked out
SHEET = """\
machine_kind: moving head
old: {{drive: tube-fed, tube: {{length: 540 mm}}, path_length: 610 mm, run_current: 1.05 A}}
new:
  drive: on the carriage
  tube: {{length: 0 mm}}
  path_length: 52 mm
  {motor}
  mount: {{material: PETG}}
filament: {{material: PLA}}
"""
TOO_HOT = "motor: {rated_current: 0.9 A, step_angle: 1.8 deg, winding_resistance: 2.3 ohm}"
SITE = 'site: 1\nroles: {"kept.txt": saved values}\nmeanings: {"coil feed": {quantity: motor.run_current, unit: A rms}}\n'
PATH = "#define GRIP_TO_TIP 610\n"


def planned(folder: Path, header: str, kept: str, motor: str = TOO_HOT) -> Plan:
    config = folder / "config"
    config.mkdir()
    (config / "machine.h").write_text(PATH + header)
    (config / "kept.txt").write_text(kept)
    (config / "cfgmigrate.yaml").write_text(SITE)
    (folder / "sheet.yaml").write_text(SHEET.format(motor=motor))
    return api.prepare([config], folder / "sheet.yaml", out=folder / "packet").plan


def steps(plan: Plan, rule: str) -> tuple[str, ...]:
    return tuple(step for item in plan.by_hand if rule in (item.rule, item.id) for step in item.steps)


def test_both_lines_of_a_current_that_waits_are_named(tmp_path: Path) -> None:
    plan = planned(tmp_path, "#define COIL_MA_FEED 1020 // mA RMS\n", "coil feed = 1.05\n")
    assert next(light.state for light in plan.lights if light.light == "current") == "unknown"
    assert any(step.startswith("machine.h:2: COIL_MA_FEED = 1020 ") for step in steps(plan, LINES_LEFT))
    assert any("kept.txt:1" in step for step in steps(plan, TO_STORE))


def test_a_value_of_a_listing_that_waits_is_told_to_be_stored_and_becomes_nothing_yet(tmp_path: Path) -> None:
    plan = planned(tmp_path, "", "coil feed = 1.05\npull back = 5.2\n")
    (item,) = [each for each in plan.by_hand if each.id == TO_STORE]
    assert item.text == "2 values"
    assert any(step.startswith("coil feed: 1.05 is the old drive's ") for step in item.steps)
    assert [name for _, name, _, _ in told_values(item)] == ["pull back"]


def test_both_parts_of_a_load_in_the_header_are_named_where_the_listing_s_part_is_asked(
    tmp_path: Path,
) -> None:
    plan = planned(
        tmp_path,
        "#define LOAD_FAST_LEN 560\n#define LOAD_SLOW_LEN 95\n",
        "load fast = 560\nload slow = 90\n",
    )
    assert any(doubt.place.file == "kept.txt" and doubt.text == "load fast" for doubt in plan.doubts)
    named = steps(plan, LINES_LEFT)
    assert any(step.startswith("machine.h:2: LOAD_FAST_LEN = 560 ") for step in named)
    assert any(step.startswith("machine.h:3: LOAD_SLOW_LEN = 95 ") for step in named)


def test_a_motor_that_stays_keeps_its_current_in_silence(tmp_path: Path) -> None:
    plan = planned(
        tmp_path, "#define COIL_MA_FEED 1020 // mA RMS\n", "coil feed = 1.05\n", "motor_as_before: yes"
    )
    assert not any("COIL_MA_FEED" in step for step in steps(plan, LINES_LEFT))
    assert not any("coil feed" in step for step in steps(plan, TO_STORE))


def test_a_line_that_is_written_with_the_stored_one_is_not_named_as_old(tmp_path: Path) -> None:
    plan = planned(tmp_path, "#define PULL_BACK_LEN 5.4\n", "pull back = 5.2\n")
    assert {edit.line for change in plan.changes for edit in change.edits} >= {2}
    assert not any("PULL_BACK_LEN" in step for step in steps(plan, LINES_LEFT))
    assert not any("is the old drive's" in step for step in steps(plan, TO_STORE))


def test_a_speed_that_is_stored_anew_does_not_stay_as_it_was(tmp_path: Path) -> None:
    motor = f"{TOO_HOT}\n  microsteps: 16\n  feed_per_turn: 23 mm\n  recommended_feed_speed: 19 mm/s"
    plan = planned(tmp_path, "#define FEED_STEPS_PER_MM 141.2\n", "feed top speed = 40\n", motor)
    assert any(step.startswith("feed top speed: 40 → ") for step in steps(plan, TO_STORE))
    assert not any("feed top speed" in step for step in steps(plan, LINES_LEFT))


def test_what_a_listing_says_twice_is_told_as_it_says_it_last(tmp_path: Path) -> None:
    plan = planned(tmp_path, "", "coil feed = 1.05\ncoil feed = 1.02\n")
    assert [step.partition(" is ")[0] for step in steps(plan, TO_STORE)] == ["coil feed: 1.02"]


def test_a_line_whose_new_value_is_a_question_is_named(tmp_path: Path) -> None:
    """Behind its sensor lay 790 mm, more than the way of 610 mm from the gears to the tip: it may count on to the tip."""
    motor = f"{TOO_HOT}\n  filament_behind_sensor: 24 mm"
    plan = planned(tmp_path, "#define RUNOUT_LENGTH_AFTER 790\n", "hop = 0.2\n", motor)
    assert "runout.distance" not in {change.quantity for change in plan.changes}
    assert any("both count to the gears, or on to the tip" in doubt.why for doubt in plan.doubts)
    assert any(step.startswith("machine.h:2: RUNOUT_LENGTH_AFTER = 790 ") for step in steps(plan, LINES_LEFT))
