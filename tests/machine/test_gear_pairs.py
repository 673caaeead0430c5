"""A gear ratio that stands as two numbers is never written through one of them."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine, Reading
from cfgmigrate.machine.recognise import recognise

NAMES = {
    "command": "stint.nc",
    "sectioned": "stint.conf",
    "flat": "stint.cfg",
    "header": "stint.h",
    "nested": "stint.json",
}


def machine(text: str, dialect: str) -> Machine:
    return recognise([read(NAMES[dialect], text.encode(), dialect)])


def ratio(text: str, dialect: str) -> Reading:
    (found,) = (r for r in machine(text, dialect).readings if r.quantity == "feeder.gear_ratio")
    return found


@pytest.mark.parametrize(
    ("dialect", "text", "value"),
    [
        (
            "command",
            "; feeder: teeth on motor, teeth on wheel (1 and 1: wheel on the shaft)\nH3 P20 Q60\n",
            3.0,
        ),
        ("command", "; feeder gear ratio, driven and driving\nH3 P60 Q20\n", 3.0),
        ("command", "; feeder: teeth on the motor\nH3 P20\n; feeder: teeth on the wheel\nH4 P60\n", 3.0),
        ("sectioned", "[feeder]\nmotor gear = 20\nwheel gear = 60\n", 3.0),
        ("sectioned", "[feeder]\nmotor gear = 20\ndriven gear = 60\n", 3.0),
        ("sectioned", "[feeder]\nteeth on motor = 20\nteeth on wheel = 60\n", 3.0),
        ("flat", "e_gear_motor = 20\ne_gear_wheel = 60\n", 3.0),
        ("header", "#define E_GEAR_MOTOR 20\n#define E_GEAR_WHEEL 60\n", 3.0),
        ("nested", '{"feeder": {"gear": {"motor": 20, "wheel": 60}}}', 3.0),
    ],
)
def test_two_counts_of_teeth_are_one_ratio_that_a_person_sets(dialect: str, text: str, value: float) -> None:
    found = ratio(text, dialect)
    assert (found.value, found.editable) == (value, False)
    assert "driving" in found.why_not


@pytest.mark.parametrize(
    ("dialect", "text"),
    [
        ("command", "; feeder gear ratio\nH3 P1 Q3\n"),
        ("sectioned", "[feeder]\ngear ratio a = 1\ngear ratio b = 3\n"),
        ("sectioned", "[feeder]\ngear ratio in = 3\ngear ratio out = 1\n"),
        ("flat", "e_gear_ratio_up = 1\ne_gear_ratio_down = 3\n"),
    ],
)
def test_which_gear_drives_which_is_asked_where_no_word_says_it(dialect: str, text: str) -> None:
    assert not ratio(text, dialect).editable
    assert [
        d.why for d in machine(text, dialect).doubts if d.why.endswith("which gear drives which is not said")
    ]


@pytest.mark.parametrize(
    "line", ["motor to wheel = 1:1", "gear ratio = 1:1   # teeth on motor : teeth on wheel"]
)
def test_a_ratio_of_1_whose_driving_gear_may_stand_first_is_not_written(line: str) -> None:
    assert not ratio(f"[feeder]\n{line}\n", "sectioned").editable


@pytest.mark.parametrize(
    ("dialect", "text"),
    [
        ("command", "; feeder: gear ratio\nH3 P3\n"),
        ("command", "H3 E3 ; gear ratio\n"),
        ("sectioned", "[feeder]\ngear ratio = 3\n[feeder 2]\ngear ratio = 1\n"),
        ("sectioned", "[feeder]\nwheel to motor = 1:1\n"),
        ("flat", "e0_gear_ratio = 3\ne1_gear_ratio = 1\n"),
    ],
)
def test_a_ratio_of_one_number_is_written(dialect: str, text: str) -> None:
    found = [r for r in machine(text, dialect).readings if r.quantity == "feeder.gear_ratio"]
    assert found and all(r.editable for r in found)


def test_a_pair_of_teeth_is_left_as_it_is_and_the_feed_per_turn_is_the_gears(tmp_path: Path) -> None:
    (tmp_path / "stint.conf").write_text(
        "[axis x]\nlength_max = 200\n[axis y]\nlength_max = 200\n[feeder]\nteeth on motor = 1\nteeth on wheel = 1\n"
        "feed per turn = 31.7\nmicrosteps = 32\nfull steps = 400\n"
    )
    (tmp_path / "sheet.yaml").write_text(
        "old: {drive: tube-fed}\nnew: {drive: on the carriage, microsteps: 16, motor: {step_angle: 1.8 deg},\n"
        "  drive_gear: {effective_diameter: 12 mm, gear_ratio: 63:9}}\n"
    )
    plan = api.prepare([tmp_path / "stint.conf"], tmp_path / "sheet.yaml", out=tmp_path / "packet").plan
    written = {change.quantity: change.new.value for change in plan.changes}
    assert "feeder.gear_ratio" not in written
    assert written["feeder.feed_per_turn"] == pytest.approx(37.7, abs=0.05), (
        "of a turn of the gear: no ratio in it"
    )
    (asked,) = (each for each in plan.doubts if "neither is written without the other" in each.why)
    assert "teeth on wheel is of the driven gear" in asked.why
    assert "Write both numbers by hand" in asked.remedy and "63:9" in asked.remedy
    (feed,) = (each for each in plan.lights if each.light == "feed")
    assert feed.state == "unknown"
