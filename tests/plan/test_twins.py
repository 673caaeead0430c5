"""A second setting with a changed value in another unit does not stay old in silence."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api

FRAME = """\
[feeder]
steps per mm = 90
microsteps = 16
max speed mm/s = 64
[axis x]
steps per mm = 80
max acceleration mm/s2 = 2500
[axis y]
max acceleration mm/s2 = 2500
[retraction]
length mm = 5.3
[driver of feeder]
run amps peak = 1.30
[plank]
"""
#: an axis by both its ends: its motor's current is not the drive's, whether it is that as RMS or near it
BEAM = """
[beam travel]
low = 0
high = 352
motor left amps = 0.92
amps = 1.25
"""
SHEET = """\
old: {drive: tube-fed, tube: {length: 420 mm}}
new: {drive: on the carriage, steps_per_mm: 426.7 1/mm, microsteps: 16, tube: {length: 40 mm},
  motor: {rated_current: 1.0 A, recommended_current: 0.5 A}, driver: {set_by: serial}}
carriage: {old_mass: 330 g, new_mass: 505 g}
"""
LINES = {
    "feed quickest pulses/s = 5760": "maximum feed speed in hen.conf:4, by its number in steps a second of before",
    "of the fourth = 5760": "maximum feed speed in hen.conf:4, by its number in steps a second of before",
    "x hastily ticks s2 = 200000": "X maximum acceleration in hen.conf:7, by its number in steps/s² of before",
    "x hastily mm/s2 = 2500": "X maximum acceleration in hen.conf:7, by its number",
    "drawn in fifths = 5300": "",
    "feed lazily seconds = 0.53": "",
    "feed gleaned um = 5300": "retraction length in hen.conf:11, by its number in µm",
    "rates = 14400, 14400, 4800, 5760": "maximum feed speed in hen.conf:4, by its number in steps a second of before",
    "z hastily ticks s2 = 200000": "",
    "of the lamp seconds = 5760": "",
    "of the fifth = 5700": "",
    "of the sixth = 90": "",
}


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    folder: Path = tmp_path_factory.mktemp("twins")
    (folder / "hen.conf").write_text(FRAME + "\n".join(LINES) + BEAM)
    (folder / "sheet.yaml").write_text(SHEET)
    plan = api.prepare([folder / "hen.conf"], folder / "sheet.yaml", out=folder / "packet").plan
    return {
        step.split("] ")[-1].partition(" (")[0]: step
        for each in plan.by_hand
        for step in each.steps
        if "hen.conf:" in step
    }


@pytest.mark.parametrize(("line", "why"), LINES.items())
def test_a_number_in_another_unit_is_told_where_it_is_the_old_one(
    told: dict[str, str], line: str, why: str
) -> None:
    assert (
        (f"the old {why})" in told[line])
        if why
        else (line not in told or ", by its number" not in told[line])
    )


def test_a_current_of_an_axis_is_not_the_drive_s_whatever_its_number(told: dict[str, str]) -> None:
    assert not {"motor left amps = 0.92", "amps = 1.25"} & told.keys()
