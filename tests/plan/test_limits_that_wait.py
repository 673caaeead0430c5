"""A limit is a place of the nozzle's tip: where the tip was not measured, neither it nor what lies at it is written."""

from __future__ import annotations

from pathlib import Path

from cfgmigrate import api

FILE = """\
[x]
lowest = -3
highest = 212
steps per mm = 80
[y]
lowest = 0
highest = 200
steps per mm = 80
[z]
highest = 190
steps per mm = 400
[filament drive]
steps per mm = 96
[parking]
x = -2
"""
SHEET = """\
old: {{drive: tube-fed}}
new: {{drive: on the carriage, steps_per_mm: 410 1/mm, microsteps: 16}}
carriage: {{old_mass: 285 g, new_mass: 443 g{shift}}}
clearance: {{less_at_low_x: 13 mm, less_at_high_y: 8 mm}}
"""


def changed(folder: Path, shift: str) -> api.Packet:
    (folder / "tern").mkdir()
    (folder / "tern" / "tern.conf").write_text(FILE)
    (folder / "swap.yaml").write_text(SHEET.format(shift=shift))
    return api.prepare(folder / "tern", folder / "swap.yaml", out=folder / "packet", browsed=False)


def test_limits_and_the_parking_place_wait_for_a_tip_that_was_not_measured(tmp_path: Path) -> None:
    plan = changed(tmp_path, "").plan
    written = {change.quantity for change in plan.changes}
    assert "feeder.steps_per_mm" in written
    assert not written & {"axis.x.min", "axis.y.max", "park.x"}
    asked = [doubt for doubt in plan.doubts if "This limit waits" in doubt.why]
    assert {(doubt.place.line, doubt.remedy) for doubt in asked} == {(2, ""), (7, "")}


def test_a_tip_that_was_measured_moves_them(tmp_path: Path) -> None:
    plan = changed(tmp_path, ", nozzle_shift: {x: 2 mm, y: 0 mm, z: 0 mm}").plan
    values = {change.quantity: change.new.text for change in plan.changes}
    assert (values["axis.x.min"], values["axis.y.max"], values["park.x"]) == ("12", "192", "12")
