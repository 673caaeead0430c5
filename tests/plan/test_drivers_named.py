"""A line that names the feeder's driver as another part than the sheet does is asked about."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.ground.findings import Doubt

FILES = """\
[feeder]
turn length = 22.9
[feeder coil]
{line}
running current = 0.62 A rms
"""
SHEET = """\
old: {drive: tube-fed, tube: {length: 430 mm, bore: 2 mm, bend: 180 deg}}
new:
  drive: on the carriage
  tube: {length: 40 mm, bore: 2 mm, bend: 0 deg}
  motor: {rated_current: 0.9 A, recommended_current: 0.42 A}
"""
DRIVER = "  driver: {part: TMC2209, set_by: serial, sense_resistor: 0.11 ohm}\n"


def asked(folder: Path, line: str, driver: str = DRIVER) -> list[Doubt]:
    (folder / "m").mkdir()
    (folder / "m" / "machine.conf").write_text(FILES.format(line=line))
    (folder / "swap.yaml").write_text(SHEET + driver)
    doubts = api.work_out(folder / "m", folder / "swap.yaml").plan.doubts
    return [each for each in doubts if "as the feeder's driver" in each.why]


@pytest.mark.parametrize("line", ["part = A4988", "chip = DRV-8825", 'made by part = "tmc5160 v1.2"'])
def test_another_part_than_the_sheet_s_is_asked_about_at_its_line(tmp_path: Path, line: str) -> None:
    (doubt,) = asked(tmp_path, line)
    assert (doubt.place.file, doubt.place.line) == ("machine.conf", 4)
    assert "TMC2209" in doubt.why and "new.driver.part" in doubt.remedy


@pytest.mark.parametrize(
    "line",
    [
        "part = TMC2209",
        "part = tmc-2209",
        "; part = A4988",
        "part = of the shop in town",
        "notes = TMC2209 in place of the A4988",
        "x part = A4988",
    ],
)
def test_the_sheet_s_own_part_or_none_that_is_known_is_not_asked_about(tmp_path: Path, line: str) -> None:
    assert asked(tmp_path, line) == []


def test_a_sheet_without_a_driver_asks_nothing_of_its_part(tmp_path: Path) -> None:
    assert asked(tmp_path, "part = A4988", "") == []


COUNTED = """\
[feeder]
steps per mm = 98.6
microsteps = 16
full steps = 200
driver = A4988
"""
GEARS = """\
new:
  drive_gear: {effective_diameter: 7.4 mm, gear_ratio: "40:10"}
  motor: {step_angle: 1.8 deg}
"""


@pytest.mark.parametrize(
    ("driver", "waits"),
    [
        ("{part: DRV8825, set_by: screw, sense_resistor: 0.1 ohm}", True),
        ("{part: DRV8825, sense_resistor: 0.1 ohm}", True),
        ("{part: TMC2209, set_by: serial, sense_resistor: 0.11 ohm}", False),
        ("{part: A4988, set_by: screw, sense_resistor: 0.1 ohm}", False),
        ("{part: DRV8825, set_by: screw, sense_resistor: 0.1 ohm}\n  microsteps: 32", False),
    ],
)
def test_steps_wait_where_nobody_says_what_the_jumpers_make_with_another_driver(
    tmp_path: Path, driver: str, waits: bool
) -> None:
    """All jumpers bridged, an A4988 makes 16 and a DRV8825 32 microsteps (their data sheets, from memory)."""
    (tmp_path / "m.conf").write_text(COUNTED)
    (tmp_path / "swap.yaml").write_text(f"{GEARS}  driver: {driver}\n")
    plan = api.work_out([tmp_path / "m.conf"], tmp_path / "swap.yaml").plan
    written = {change.quantity for change in plan.changes}
    assert ("feeder.steps_per_mm" not in written) is waits
    assert not waits or any("jumpers" in each.remedy for each in plan.doubts)


def test_a_feed_per_turn_waits_with_the_microsteps_that_other_jumpers_make(tmp_path: Path) -> None:
    (tmp_path / "m.conf").write_text(COUNTED.replace("steps per mm = 98.6", "feed per turn = 33.3 mm"))
    (tmp_path / "swap.yaml").write_text(
        f"{GEARS}  driver: {{part: DRV8825, set_by: screw, sense_resistor: 0.1 ohm}}\n"
    )
    plan = api.work_out([tmp_path / "m.conf"], tmp_path / "swap.yaml").plan
    assert not [change for change in plan.changes if change.quantity.startswith("feeder.feed")]
    assert next(each for each in plan.lights if each.light == "feed").state == "unknown"
