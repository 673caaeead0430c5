"""What the step about the z end stop says of its lines, by where the switch acts, its old position and the way the tip has moved."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api

FRAME = """\
[feeder]
steps per mm = 415.0
[z]
lowest = 0
highest = 200
switch position = {stop}
"""
SHEET = """\
new: {{path_as_before: yes, gears_as_before: yes, motor_as_before: yes}}
carriage: {{nozzle_shift: {{x: 0 mm, y: 0 mm, z: {shift} mm}}, z_stop: {kind}}}
clearance: {{as_before: yes}}
"""


def told(tmp_path: Path, stop: str, shift: float, kind: str) -> str:
    (tmp_path / "m.conf").write_text(FRAME.format(stop=stop))
    (tmp_path / "swap.yaml").write_text(SHEET.format(shift=shift, kind=kind))
    plan = api.prepare([tmp_path / "m.conf"], tmp_path / "swap.yaml", out=tmp_path / "packet").plan
    (item,) = (each for each in plan.by_hand if each.rule == "protected.end_stop_z")
    return "\n".join(item.steps)


# the switch acts at the same place of the carriage: old position plus shift, new tip less old one, positive upwards
@pytest.mark.parametrize(
    ("stop", "shift", "left"),
    [("0", -1.6, "−1.6 mm"), ("0", 1.6, "1.6 mm"), ("0.4", -1.6, "−1.2 mm"), ("0.4", 1.6, "2 mm")],
)
def test_a_switch_near_the_bed_is_moved_and_its_lines_stay_or_it_is_left_and_its_position_shifts(
    tmp_path: Path, stop: str, shift: float, left: str
) -> None:
    said = told(tmp_path, stop, shift, "switch below")
    assert f"m.conf:6 ([z] switch position = {stop}, stays as it is where the switch is moved)" in said
    assert "becomes" not in said
    assert f"That would be {left}." in said
    assert "never both" in said and "The lowest z stays as it is." in said
    assert "m.conf:5 ([z] highest = 200" not in said.partition("\n")[0]


@pytest.mark.parametrize(
    ("stop", "shift", "becomes"),
    [("200", -1.6, "198.4"), ("200", 1.6, "201.6"), ("199.5", -1.6, "197.9"), ("199.5", 1.6, "201.1")],
)
def test_a_switch_at_the_top_stays_and_its_position_shifts_with_the_tip(
    tmp_path: Path, stop: str, shift: float, becomes: str
) -> None:
    said = told(tmp_path, stop, shift, "switch above")
    assert f"m.conf:6 ([z] switch position = {stop}, becomes {becomes})" in said
    assert "lowest" not in said.partition("\n")[0]
    assert "That would be" not in said
