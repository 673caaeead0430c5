"""How fast walls are printed is the nozzle's speed: many times what the drive feeds at, and no matter of its top speed."""

from __future__ import annotations

from pathlib import Path

from cfgmigrate import api

FILE = """[feeder]
turn length = 22.9
top speed = 90
{}
"""
SHEET = """old: {drive: tube-fed}
new: {drive: on the carriage, feed_per_turn: 3.4 mm, microsteps: 32, motor: {step_angle: 0.9 deg}}
controller: {max_step_rate: 160 kHz}
"""


def left(desk: Path, line: str) -> str:
    (desk / "stint").mkdir(parents=True)
    (desk / "stint" / "stint.ini").write_text(FILE.format(line))
    (desk / "sheet.yaml").write_text(SHEET)
    plan = api.prepare(desk / "stint", desk / "sheet.yaml", out=desk / "packet").plan
    return " ".join(step for item in plan.by_hand for step in item.steps)


def test_only_speeds_of_the_drive_are_held_against_its_new_top_speed(tmp_path: Path) -> None:
    for at, name in enumerate(("wallSpeed", "fillSpeed", "first layer speed", "travelSpeed")):
        assert "faster than" not in left(tmp_path / str(at), f"{name} = 120")
    assert "faster than" in left(tmp_path / "own", "quickest loading speed of all = 120")
    assert "faster than" in left(tmp_path / "short", "load_spd = 120")
