"""A table is as long as it was, however far the tip gets now; what prints may reach is another thing."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.plan.model import Plan

SHEET = """\
new: {drive: on the carriage, steps_per_mm: 426.7 1/mm, microsteps: 16}
carriage: {nozzle_shift: {x: 0 mm, y: 0 mm, z: 0 mm}}
clearance: {less_at_high_y: 12 mm}
"""


def planned(folder: Path, name: str) -> Plan:
    (folder / "m").mkdir()
    (folder / "m" / "cup.h").write_text(
        f"#define Y_MIN 0\n#define Y_MAX 206\n#define {name} 204\n#define FEEDER_STEPS_PER_MM 96.4\n"
    )
    (folder / "m" / "cfgmigrate.yaml").write_text(f"site: 1\nmeanings: {{{name}: build.y}}\n")
    (folder / "s.yaml").write_text(SHEET)
    return api.work_out(folder / "m", folder / "s.yaml").plan


@pytest.mark.parametrize("name", ["TABLE_DEPTH", "BED_LONG_MM"])
def test_a_table_s_own_length_is_asked_about_and_not_written(tmp_path: Path, name: str) -> None:
    plan = planned(tmp_path, name)
    assert {edit.line: edit.new for change in plan.changes for edit in change.edits}.get(2) == "194"
    assert "build.y" not in {change.quantity for change in plan.changes}
    (doubt,) = [each for each in plan.doubts if each.place.line == 3]
    assert "the length of the table itself" in doubt.why and "194 mm" in doubt.remedy


def test_how_far_prints_may_reach_is_written(tmp_path: Path) -> None:
    plan = planned(tmp_path, "PRINTABLE_DEPTH")
    assert [each.new.text for each in plan.changes if each.quantity == "build.y"] == ["194"]


def test_nor_is_it_written_in_a_print_s_profile(tmp_path: Path) -> None:
    plan = planned(tmp_path, "PRINT_PROFILE_BUILD_PLATE_Y")
    assert "build.y" not in {change.quantity for change in plan.changes}
