"""What a board keeps and shows only as a listing is stored by hand at its console, by name; the listing is no file."""

from __future__ import annotations

from pathlib import Path

from cfgmigrate import api
from cfgmigrate.apply.undone_by_hand import leaves_nothing, undone
from cfgmigrate.plan.at_console import TO_STORE
from cfgmigrate.plan.model import Plan

FRAME = """\
axis.x.lowest = -4
axis.x.highest = 270
axis.z.highest = 240
feeder.steps_per_mm = 139.6
feeder.microsteps = 16
feeder.run_current_ma_rms = 1050
feeder.retraction.length_mm = 5.2
"""
LISTING = """\
ruff> list memory
-- kept values --
axis.x.lowest                    -6
axis.x.highest                   268
feeder.run_current_ma_rms        980
feeder.retraction.length_mm      6.40
blower.least                     18
blower.most                      255
mesh.kept.1                      0.02
mesh.kept.2                      -0.04
"""
SHEET = """\
old: {drive: tube-fed, tube: {length: 500 mm}}
new:
  drive: on the carriage
  feed_per_turn: 23.0 mm
  microsteps: 16
  motor: {step_angle: 1.8 deg, rated_current: 0.8 A}
  tube: {length: 40 mm}
carriage: {nozzle_shift: {x: 0 mm, y: 0 mm, z: 0 mm}}
clearance: {less_at_high_x: 12 mm, less_at_low_x: 0 mm}
"""


def planned(folder: Path, listing: str = LISTING) -> Plan:
    config = folder / "config"
    config.mkdir()
    (config / "ruff.txt").write_text(FRAME)
    (config / "console.txt").write_text(listing)
    (config / "cfgmigrate.yaml").write_text(
        'site: 1\nroles: {"console.txt": saved values, ruff.txt: in force}\n'
    )
    (folder / "sheet.yaml").write_text(SHEET)
    return api.prepare([config], folder / "sheet.yaml", out=folder / "packet").plan


def test_a_listing_is_left_as_it_is_and_each_of_its_values_is_told_by_name(tmp_path: Path) -> None:
    plan = planned(tmp_path)
    assert "console.txt" not in {edit.file for change in plan.changes for edit in change.edits}
    (item,) = [each for each in plan.by_hand if each.id == TO_STORE]
    told = {step.partition(":")[0]: step for step in item.steps}
    assert set(told) == {"axis.x.highest", "feeder.run_current_ma_rms", "feeder.retraction.length_mm"}
    assert told["axis.x.highest"].startswith("axis.x.highest: 268 → 256 ")
    assert "console.txt:4" in told["axis.x.highest"]


def test_the_file_gets_what_the_board_will_keep_scaled_from_the_boards_old_value(tmp_path: Path) -> None:
    edits = {edit.line: edit for change in planned(tmp_path).changes for edit in change.edits}
    assert (edits[2].old, edits[2].new) == ("270", "256")


def test_a_light_that_the_board_decides_is_by_hand_at_its_console(tmp_path: Path) -> None:
    lights = {light.light: light for light in planned(tmp_path).lights}
    for name in ("current", "retraction"):
        assert lights[name].state == "by hand" and "console" in lights[name].why
        assert TO_STORE in lights[name].rests_on


def test_a_packet_with_values_for_the_console_is_verified_and_installed(tmp_path: Path) -> None:
    planned(tmp_path)
    assert not api.verify(tmp_path / "packet")


def test_a_value_that_only_the_board_has_is_told_though_no_file_changes_for_it(tmp_path: Path) -> None:
    plan = planned(tmp_path, f"{LISTING}retraction.speed_mm_s   70\n")
    (item,) = [each for each in plan.by_hand if each.id == TO_STORE]
    assert any(step.startswith("retraction.speed_mm_s: 70 → ") for step in item.steps)
    assert "retraction.speed" not in {change.quantity for change in plan.changes}


def test_a_limit_that_does_not_change_leaves_every_file_alone(tmp_path: Path) -> None:
    """The file's -4 is overridden by the board's -6, and the carriage gets as far as before."""
    assert "axis.x.min" not in {change.quantity for change in planned(tmp_path).changes}


def test_what_goes_back_is_told_with_the_boards_old_values(tmp_path: Path) -> None:
    (item,) = [each for each in planned(tmp_path).by_hand if each.id == TO_STORE]
    assert undone(item).startswith(item.what) and "axis.x.highest 268;" in undone(item)


def test_a_revert_tells_first_what_has_an_old_value_to_go_back_to(tmp_path: Path) -> None:
    plan = planned(tmp_path)
    unknown = [light.light for light in plan.lights if light.state == "unknown"]
    api.install(tmp_path / "packet", accept_unknown=unknown)
    for report in (
        api.revert(tmp_path / "packet", dry_run=True),
        api.revert_to(tmp_path / "config", "start"),
    ):
        assert "keep them. Back to: axis.x.highest 268;" in report.by_hand[0]
        assert len(report.by_hand) == sum(not leaves_nothing(item.rule) for item in plan.by_hand)
        assert not any("Print a spare" in what for what in report.by_hand)
