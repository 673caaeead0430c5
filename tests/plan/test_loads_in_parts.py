"""A length for loading that a script feeds as one part of the way is not written as the whole of it."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api

MACHINE = """[feeder]
feed per turn = 8.4 mm
full steps = 200

[reel]
load length = 640 mm
last of it = 70
"""
SHEET = """old: {drive: tube-fed, tube: {length: 560 mm}}
new: {drive: on the carriage, path_length: 62 mm, feed_per_turn: 4.1 mm, motor: {step_angle: 1.8 deg}}
filament: {material: PLA, diameter: 1.75 mm}
"""
SCRIPT = """; ---- load
G90
M83
{moves}
G0 X10 Y10 F6000
"""


def changed(folder: Path, moves: str) -> tuple[bool, list[str]]:
    """Whether the length for loading is written, and what is asked about its line."""
    (folder / "teal").mkdir()
    (folder / "teal" / "teal.txt").write_text(MACHINE)
    (folder / "teal" / "bits.nc").write_text(SCRIPT.format(moves=moves))
    (folder / "swap.yaml").write_text(SHEET)
    (folder / "teal" / "cfgmigrate.yaml").write_text(
        "site: 1\nroles: {teal.txt: in force, bits.nc: in force}\n"
        'meanings: {"[reel] load length": feeder.load_length, "[reel] last of it": ignore}\n'
    )
    plan = api.work_out(folder / "teal", folder / "swap.yaml").plan
    asked = [each.why for each in plan.doubts if "together they are the way" in each.why]
    return "feeder.load_length" in {change.quantity for change in plan.changes}, asked


def test_a_second_part_behind_it_in_the_script_is_named_and_neither_is_written(tmp_path: Path) -> None:
    written, asked = changed(tmp_path, "G1 E{load length} F2700 ; quickly\n; wait\nG1 E{last of it} F240")
    assert not written
    assert len(asked) == 1 and "bits.nc:4" in asked[0] and "bits.nc:6 (G1 E{last of it} F240)" in asked[0]


@pytest.mark.parametrize(
    "moves",
    [
        "G1 E{load length} F2700",
        "G1 E{load length} F2700\nG1 E-6 F2400",
        "G1 E5.6 F1500\nG1 E{load length} F2700",
        "G1 E{load length} F2700\nG0 Z10 F600\nG1 E{last of it} F240",
    ],
)
def test_what_makes_up_for_a_pull_or_does_not_follow_is_no_part_of_it(moves: str, tmp_path: Path) -> None:
    written, asked = changed(tmp_path, moves)
    assert written and not asked


@pytest.mark.parametrize("between", ["G4 P600", "M400", "M41 P3 ; let it settle", "N7 M64 S1", "M0"])
def test_a_wait_or_what_moves_nothing_between_two_parts_hides_neither(between: str, tmp_path: Path) -> None:
    written, asked = changed(tmp_path, f"G1 E{{load length}} F2700\n{between}\nG1 E{{last of it}} F240")
    assert not written and len(asked) == 1


@pytest.mark.parametrize("between", ["M6 T1", "T1", "M98 P100", "M41 E20", "M41 Z10", "M30", "G28 Z"])
def test_another_tool_a_call_or_a_move_between_two_feeds_parts_them(between: str, tmp_path: Path) -> None:
    written, asked = changed(tmp_path, f"G1 E{{load length}} F2700\n{between}\nG1 E{{last of it}} F240")
    assert written and not asked
