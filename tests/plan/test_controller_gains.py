"""The gains of a heater that the board keeps are no value of the drive, however near their numbers are."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api

HEADER = """#define FEED_MICROSTEPS 16
#define FEED_STEPS_PER_MM 368.17
#define FEED_TOP_SPEED 70  /* mm/s */
#define RETRACTION_LENGTH 5.0
"""
SHEET = """old: {drive: tube-fed, path_length: 540 mm, tube: {length: 480 mm}}
new:
  drive: on the carriage
  path_length: 49 mm
  feed_per_turn: 4.682 mm
  recommended_feed_speed: 37.5 mm/s
  motor: {step_angle: 1.8 deg, rated_current: 0.7 A, recommended_current: 0.54 A}
filament: {material: PLA, diameter: 1.75 mm}
"""


@pytest.mark.parametrize(
    ("line", "asked"),
    [
        ("M7509 P19 I1.2 D70", False),
        ("M7509 T1 P19 I1.2 D70", False),
        ("M7509 P19 D70", True),  # two of the letters are no controller's
        ("M7509 P19 I1.2 D70 ; top feed speed", True),  # its remark has the value's own words
        ("M7509 P5 I16 D70 V40", True),  # four values: a whole drive may have its own there
        ("M7509 A5 P600 I1.1 D70", True),  # no machine has so many heaters
        ("M7509 P19 I1.2\nM7510 D70", True),  # on a line of its own it is anything
    ],
)
def test_three_gains_on_one_line_are_not_offered_as_a_feed_speed(
    line: str, asked: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("m").mkdir()
    Path("m/m.h").write_text(HEADER)
    Path("m/saved.nc").write_text(
        f"; what the board has kept, read after power-on, wins over m.h\nM7502 E374.6\n{line}\n"
    )
    Path("m/cfgmigrate.yaml").write_text(
        "site: 1\nroles: {m.h: in force, saved.nc: in force}\n"
        "meanings: {FEED_TOP_SPEED: {quantity: feeder.max_speed, unit: mm/s}}\n"
    )
    Path("sheet.yaml").write_text(SHEET)
    plan = api.prepare("m", "sheet.yaml", out="packet").plan
    at = 3 + line.count("\n")
    found = [each for each in plan.doubts if (each.place.file, each.place.line) == ("saved.nc", at)]
    lights = [light.why for light in plan.lights if f"saved.nc:{at}" in light.why]
    assert bool(found or lights) is asked, (found, lights)
