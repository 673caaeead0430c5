"""What moves along with a reading gets the very value that the reading gets, however many digits its file has."""

from __future__ import annotations

from pathlib import Path

from cfgmigrate import api

SHEET = """\
machine: Dipper
old: {drive: tube-fed, tube: {length: 430 mm, bore: 2 mm, bend: 180 deg}}
new: {drive: on the carriage, tube: {length: 40 mm, bore: 2 mm, bend: 0 deg}, force_needed: 40 N}
filament: {material: PLA, diameter: 1.75 mm}
"""
HEADER = b"#define FEEDER_STEPS_PER_MM 138.5\n#define AXIS_Z_MAX 210\n#define RETRACTION_LENGTH 4.0\n"
SAVED = b"G21\nM207 F2640 S5.203 Z0.2\nM92 E138.50\nM203 E58 Z9.5 X190 Y185\nM92 Z412 X79.4 Y81\n"


def test_a_header_follows_a_saved_value_to_its_last_digit(tmp_path: Path) -> None:
    config = tmp_path / "config"
    config.mkdir()
    (tmp_path / "swap.yaml").write_text(SHEET)
    (config / "machine.h").write_bytes(HEADER)
    (config / "stored.nc").write_bytes(SAVED)
    plan = api.work_out(config, tmp_path / "swap.yaml").plan
    (change,) = [each for each in plan.changes if each.quantity == "retraction.length"]
    assert {edit.file for edit in change.edits} == {"machine.h", "stored.nc"}
    assert len({float(edit.new) for edit in change.edits}) == 1


def test_nothing_advises_to_switch_off_what_the_board_keeps_or_the_file_that_it_overrides(
    tmp_path: Path,
) -> None:
    """Both are written with one new value: a header's 96.35 and a dump's 97.20."""
    (tmp_path / "m").mkdir()
    (tmp_path / "m" / "board.h").write_text(
        "#define TRAVEL_END_X 305\n#define TRAVEL_END_Z 340\n#define PUSHER_STEPS_PER_MM 96.35\n#define PUSHER_MICROSTEPS 16\n"
    )
    (tmp_path / "m" / "saved.txt").write_text(
        "; as the board tells it\n; steps per mm\nM92 X84 Y86 Z410 E97.20\n; maximum speed mm/s\nM203 X200 Y200 Z12 E45\n"
    )
    (tmp_path / "s.yaml").write_text(
        "new: {feed_per_turn: 7.6 mm, microsteps: 16, motor: {step_angle: 1.8 deg}}\n"
    )
    plan = api.prepare([tmp_path / "m"], tmp_path / "s.yaml", out=tmp_path / "packet").plan
    (change,) = [each for each in plan.changes if each.quantity == "feeder.steps_per_mm"]
    assert {edit.file for edit in change.edits} == {"board.h", "saved.txt"} and len(
        {edit.new for edit in change.edits}
    ) == 1
    assert not [doubt for doubt in plan.doubts if "switch the other off" in doubt.remedy]
    assert [doubt for doubt in plan.notes if "overridden by what the board keeps" in doubt.why]
