"""A value of a light that hangs on further answers is told as it is so far; what nobody could say of it is known by its field."""

from __future__ import annotations

from pathlib import Path

from cfgmigrate import api
from cfgmigrate.plan.left_open import hung_on, so_far
from cfgmigrate.plan.unlocking import Standpoint, Workings
from cfgmigrate.rules import library
from cfgmigrate.sheet.reader import parse_sheet

FILE = "[axis z]\nhighest spot = 180\n[feeder]\nsteps per mm = 188.2\nfull steps = 400\nmicrosteps = 16\n"
GEARS = "new: {drive: on the carriage, microsteps: 16, drive_gear: {effective_diameter: 8.24 mm, gear_ratio: '48:9'}"


def stand(folder: Path, more: str) -> Standpoint:
    (folder / "tern.conf").write_text(FILE)
    bench = Workings(library.book(), api.read_machine([folder])[1], library.tables())
    return bench.stand(parse_sheet(f"{GEARS}{more}}}\n".encode(), "swap.yaml"))


def test_steps_by_the_old_motors_angle_are_so_far_until_the_new_ones_is_said(tmp_path: Path) -> None:
    """1317 per mm with the 400 steps of the old motor, 659 with 200: the former must not look settled."""
    open_now, said = stand(tmp_path, ""), stand(tmp_path, ", motor: {step_angle: 1.8 deg}")
    rules = [tuple(each.results.values()) for each in (open_now, said)]
    assert "feeder.steps_per_mm" in so_far(open_now, rules[0])
    assert "feeder.steps_per_mm" not in so_far(said, rules[1])
    assert so_far(said, ()) == frozenset()


def test_what_is_asked_with_a_field_of_a_light_hangs_on_it_too(tmp_path: Path) -> None:
    shift = tuple(f"carriage.nozzle_shift.{axis}" for axis in "xyz")
    declined = (*shift, "new.driver.part", "carriage.old_mass", "2:new.motor.step_angle")
    found = hung_on(stand(tmp_path, ""), declined)
    assert {*shift, "2:new.motor.step_angle"} <= set(found) and "carriage.old_mass" not in found
