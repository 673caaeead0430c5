"""What is no good by halves is not written by halves: both figures are told, and the light is unknown."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from cfgmigrate import api
from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.held_together import _steps_alone
from cfgmigrate.plan.model import Plan

HEADER = """\
#define WHOLE_STEPS 200
#define FINE_STEPS 16
#define HOB_ACROSS 11.0
#define FEEDER_GEAR_RATIO 1.0
#define FEEDER_STEPS_PER_MM ((WHOLE_STEPS * FINE_STEPS * FEEDER_GEAR_RATIO) / (3.14159 * HOB_ACROSS))
#define STEPS_PER_MM { 80, 80, 400, FEEDER_STEPS_PER_MM }
#define Z_MAX (Z_TRAVEL + 6)
#define Z_TRAVEL 310
"""
TURN = """\
[axis z]
high end = 240
[feeder]
{turn}
gear ratio = 3:1
"""
SHEET = """\
old: {drive: tube-fed}
new:
  drive: on the carriage
  drive_gear: {effective_diameter: 8.4 mm, gear_ratio: "44:14"}
  motor: {step_angle: 1.8 deg}
  microsteps: 16
clearance: {highest_z: 290 mm, keep_clear: 2 mm}
"""


def plan_of(folder: Path, name: str, text: str, sheet: str = SHEET) -> Plan:
    (folder / "config").mkdir()
    (folder / "config" / name).write_text(text)
    (folder / "swap.yaml").write_text(sheet)
    return api.prepare(folder / "config", folder / "swap.yaml", out=folder / "packet", browsed=False).plan


@pytest.fixture(scope="module")
def header(tmp_path_factory: pytest.TempPathFactory) -> Plan:
    return plan_of(tmp_path_factory.mktemp("apart"), "plover.h", HEADER)


def test_a_factor_of_a_formula_that_would_come_to_a_wrong_number_is_not_written(header: Plan) -> None:
    assert "feeder.gear_ratio" not in {each.quantity for each in header.changes}
    (feed,) = [each for each in header.lights if each.name == "feed"]
    assert (
        feed.state == "unknown"
        and "would come to 291.04, and 381.106 is right: HOB_ACROSS stays 11.0" in feed.why
    )


def test_the_parts_that_stay_are_told_in_one_row_and_pi_is_none_of_them(tmp_path: Path) -> None:
    """It was so: `A stays 200 and B stays 39 and PI stays 3.14159 and …`."""
    text = HEADER.replace("* FEEDER_GEAR_RATIO) / (3.14159 *", "* TRIM * FEEDER_GEAR_RATIO * LONG) / (PI *")
    text = f"#define PI 3.1416\n#define TRIM 0.97\n#define LONG 1.02\n{text}"
    plan = plan_of(tmp_path, "plover.h", text)
    (feed,) = [each for each in plan.lights if each.name == "feed"]
    assert "TRIM stays 0.97, LONG stays 1.02 and HOB_ACROSS stays 11.0" in feed.why


def test_its_formula_is_asked_about_once_with_what_its_parts_would_have_to_be(header: Plan) -> None:
    (asked,) = [each for each in header.doubts if each.place.line == 5]
    assert "or FEEDER_GEAR_RATIO 3.143 and HOB_ACROSS 8.4" in asked.remedy


def test_a_limit_that_a_formula_takes_beyond_the_safe_side_leaves_its_light_unknown(header: Plan) -> None:
    (height,) = [each for each in header.lights if each.name == "height"]
    assert height.state == "unknown" and "plover.h:7, which comes to 294 then" in height.why


@pytest.mark.parametrize(("own", "alone"), [("steps per mm = 90\n", True), ("", False)])
def test_microsteps_wait_for_steps_per_mm_of_the_same_feeder(own: str, alone: bool) -> None:
    text = f"[feeder]\nmicrosteps = 16\n{own}"
    machine = recognise([read("hen.conf", text.encode(), "sectioned")])
    count = SimpleNamespace(id="feeder.microsteps", quantity="feeder.microsteps", holder="machine")
    asked = SimpleNamespace(by_target={"feeder.steps_per_mm": SimpleNamespace(unsettled="16 or 32?")})
    found: Any = SimpleNamespace(changes=(count,))
    worked: Any = SimpleNamespace(lanes={1: asked})
    assert bool(list(_steps_alone(found, worked, machine))) is alone


def test_factors_of_which_all_are_known_are_written(tmp_path: Path) -> None:
    known = HEADER.replace("(3.14159 * HOB_ACROSS)", "FEEDER_FEED_PER_TURN").replace(
        "HOB_ACROSS 11.0", "FEEDER_FEED_PER_TURN 34.56"
    )
    plan = plan_of(tmp_path, "plover.h", known)
    assert {"feeder.gear_ratio", "feeder.feed_per_turn"} <= {each.quantity for each in plan.changes}
    (asked,) = [each for each in plan.doubts if each.place.line == 5]
    assert "381.1 ± " in asked.remedy or "381.1 per mm was worked out" in asked.remedy


@pytest.mark.parametrize(
    ("turn", "sheet"),
    [
        ("quux per turn = 21.4", SHEET),
        ("mm per turn = 21.4", SHEET.replace("effective_diameter: 8.4 mm, ", "")),
    ],
)
def test_a_gear_ratio_stays_where_the_feed_per_turn_does_that_it_goes_with(
    tmp_path: Path, turn: str, sheet: str
) -> None:
    plan = plan_of(tmp_path, "a.conf", TURN.format(turn=turn), sheet)
    assert not [each for each in plan.changes if each.quantity.startswith("feeder.")]
    (feed,) = [each for each in plan.lights if each.name == "feed"]
    assert feed.state == "unknown"
    assert any("both by hand, 44:14 here" in each.remedy for each in plan.doubts)


def test_microsteps_stay_where_the_steps_that_they_go_with_are_a_question(tmp_path: Path) -> None:
    sheet = (
        "new: {drive: on the carriage, gears_as_before: yes, drive_gear: {gear_ratio: '7:1'}, motor_as_before: yes, "
        "microsteps: 32, steps_per_mm: 690 1/mm}\n"
    )
    text = "[feeder]\nsteps per mm = 97.35\nmicrosteps = 16\nfull steps = 200\n"
    plan = plan_of(tmp_path, "plover.conf", text, sheet)
    assert not plan.changes
    assert "the feeder steps per mm that go with it stay as they are" in " ".join(
        each.why for each in plan.doubts
    )


@pytest.mark.parametrize(("count", "written"), [(32, 2), (64, 0)])
def test_microsteps_that_the_driver_part_cannot_make_are_not_written_nor_what_rests_on_them(
    tmp_path: Path, count: int, written: int
) -> None:
    """DRV8825 makes 32 at most (its data sheet, from memory)."""
    sheet = f"new: {{microsteps: {count}, feed_per_turn: 4.62 mm, motor: {{step_angle: 1.8 deg}}, driver: {{part: DRV8825}}}}\n"
    plan = plan_of(tmp_path, "plover.conf", "[feeder]\nsteps per mm = 97.35\nmicrosteps = 16\n", sheet)
    assert len(plan.changes) == written
    assert ("feed", "unknown" if not written else "set") in [(each.name, each.state) for each in plan.lights]
    asked = [each.why for each in plan.doubts if "no more than 32 microsteps" in each.why]
    assert len(asked) == (not written)
