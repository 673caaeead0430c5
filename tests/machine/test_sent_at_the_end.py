"""What a profile sends when its print has ended is the machine's value, and no last word on the profile's own."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.plan.model import Plan

SHEET = """\
old: {drive: tube-fed, tube: {length: 550 mm}, lag: 0.66 s}
new:
  drive: on the carriage
  feed_per_turn: 23.0 mm
  microsteps: 16
  path_length: 60 mm
  recommended_lag: 0.05 s
  motor: {step_angle: 1.8 deg}
filament: {material: PLA, diameter: 1.75 mm}
"""
SITE = """\
site: 1
roles: {board.txt: saved values, oat.ini: profile}
codes:
  M7032.A: {quantity: lag.coefficient, unit: ms}
"""
BOARD = "; kept values\nM7092 E139.6\nM7032 A660\n"
PROFILE = """\
[roll]
material = PLA
[flow]
pressure_lag_s = 0.57
[pieces]
at begin = M7032 A570
at end = M7032 A660
"""


def planned(folder: Path, profile: str, site: str = SITE) -> Plan:
    config = folder / "config"
    config.mkdir()
    (config / "machine.h").write_text("#define FEEDER_STEPS_PER_MM 139.6\n#define PRESSURE_LAG_S 0.63\n")
    (config / "board.txt").write_text(BOARD)
    (config / "oat.ini").write_text(profile)
    (config / "cfgmigrate.yaml").write_text(site)
    (folder / "sheet.yaml").write_text(SHEET)
    return api.prepare([config], folder / "sheet.yaml", out=folder / "packet").plan


def written(plan: Plan) -> set[tuple[str, int]]:
    return {
        (edit.file, edit.line)
        for change in plan.changes
        for edit in change.edits
        if change.quantity == "lag.coefficient"
    }


def test_what_the_end_sends_moves_with_the_machine_s_value_and_the_beginning_with_the_profile_s(
    tmp_path: Path,
) -> None:
    plan = planned(tmp_path, PROFILE)
    assert {("oat.ini", 4), ("oat.ini", 6), ("oat.ini", 7), ("board.txt", 3)} <= written(plan)
    assert not any("which one holds" in doubt.why for doubt in plan.doubts)
    holders = {
        change.holder
        for change in plan.changes
        for edit in change.edits
        if (edit.file, edit.line) == ("oat.ini", 7)
    }
    assert holders == {"machine"}


def test_an_end_that_sends_another_number_than_the_machine_s_stays_and_is_asked_about(tmp_path: Path) -> None:
    plan = planned(tmp_path, PROFILE.replace("A660", "A610"))
    assert ("oat.ini", 7) not in written(plan) and ("oat.ini", 6) in written(plan)
    assert any(doubt.place.line == 7 and "when a print ends" in doubt.why for doubt in plan.doubts)


@pytest.mark.parametrize("line", [6, 7])
def test_a_code_that_is_said_to_be_nothing_in_a_profile_is_asked_about_where_its_lag_is_written(
    tmp_path: Path, line: int
) -> None:
    plan = planned(tmp_path, PROFILE, SITE + 'meanings: {"oat.ini [M7032] A": ignore}\n')
    assert ("oat.ini", 4) in written(plan) and ("oat.ini", line) not in written(plan)
    (asked,) = [doubt for doubt in plan.doubts if "may send the old lag" in doubt.why]
    assert asked.place.line == 6 and "line 7" in asked.why


def test_of_two_feeders_nobody_s_value_is_sent_on_with_the_other_s(tmp_path: Path) -> None:
    """Which of them a profile without a feeder goes on with is not said."""
    config = tmp_path / "config"
    config.mkdir()
    (config / "machine.h").write_text(
        "#define FEEDER1_STEPS_PER_MM 139.6\n#define FEEDER2_STEPS_PER_MM 139.6\n"
        "#define FEEDER1_PRESSURE_LAG_S 0.66\n#define FEEDER2_PRESSURE_LAG_S 0.66\n"
    )
    (config / "oat.ini").write_text(PROFILE)
    (config / "cfgmigrate.yaml").write_text(SITE.replace("board.txt: saved values, ", ""))
    for feeder in (1, 2):
        (tmp_path / "sheet.yaml").write_text(f"feeder: {feeder}\n{SHEET}")
        plan = api.prepare([config], tmp_path / "sheet.yaml", out=tmp_path / f"packet{feeder}").plan
        assert ("oat.ini", 7) not in written(plan)
        assert [each for each in plan.doubts if each.place.line == 7 and "which of the feeders" in each.why]
