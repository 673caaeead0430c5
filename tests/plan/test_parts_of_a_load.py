"""The quick and the slow part of a load are one way: neither becomes the whole new path."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api

SHEET = """\
old: {drive: tube-fed, tube: {length: 620 mm}, path_length: 710 mm}
new: {drive: on the carriage, tube: {length: 24 mm}, path_length: 60 mm}
filament: {material: PLA}
"""


@pytest.mark.parametrize(
    ("lines", "written"),
    [
        ("change_load_fast_mm = 700\nchange_load_slow_mm = 95\n", False),
        ("change_load_fast_mm = 700\nchange_load_speed = 95\n", True),
        ("change_load_fast_mm = 700\nchange_load_slow_mm = 3\n", True),
        ("change_load_mm = 700\nchange_load_slow_mm = 95\n", True),
    ],
)
def test_the_quick_part_of_a_load_waits_for_the_slow_one(lines: str, written: bool, tmp_path: Path) -> None:
    folder = tmp_path / "crake"
    folder.mkdir()
    (folder / "m.conf").write_text(f"[feeder]\nsteps per mm = 484.4\nretraction length = 5.8\n{lines}")
    sheet = tmp_path / "sheet.yaml"
    sheet.write_text(SHEET)
    made = api.prepare([folder / "m.conf"], sheet, out=tmp_path / "packet", preparer="A. Knot")
    lengths = [each for each in made.plan.changes if each.quantity == "feeder.load_length"]
    asked = [each.why for each in made.plan.doubts if "is a part of it by its name" in each.why]
    assert bool(lengths) is written and len(asked) == (not written)
    assert written or "m.conf:5 (change_load_slow_mm = 95)" in asked[0]


@pytest.mark.parametrize(
    ("lines", "open_"),
    [
        ("change_load_first_mm = 700\nchange_load_second_mm = 690\n", True),
        ("change_load_first_mm = 700\nchange_load_second_mm = 95\n", True),
        ("change_load_fast_mm = 700\nchange_load_slow_mm = 95\n", False),
    ],
)
def test_first_and_second_may_be_feeders_and_it_is_asked_which(
    lines: str, open_: bool, tmp_path: Path
) -> None:
    (tmp_path / "m.conf").write_text(f"[feeder]\nsteps per mm = 484.4\nretraction length = 5.8\n{lines}")
    (tmp_path / "sheet.yaml").write_text(SHEET)
    made = api.prepare([tmp_path / "m.conf"], tmp_path / "sheet.yaml", out=tmp_path / "packet")
    (asked,) = [each.why for each in made.plan.doubts if "for the whole way" in each.why]
    assert ("two parts of one load or the loads of a first and a second feeder" in asked) is open_
    assert not [each for each in made.plan.changes if each.quantity == "feeder.load_length"]


@pytest.mark.parametrize(
    ("way", "how"),
    [
        ("load", "the fast part ends before the hot end, and the slow one does the rest"),
        ("unload", "the slow part draws the end out of the hot end, and the fast one does the rest"),
    ],
)
def test_what_each_part_does_is_said_for_its_direction(way: str, how: str, tmp_path: Path) -> None:
    lines = f"change_{way}_fast_mm = 700\nchange_{way}_slow_mm = 95\n"
    (tmp_path / "m.conf").write_text(f"[feeder]\nsteps per mm = 484.4\nretraction length = 5.8\n{lines}")
    (tmp_path / "sheet.yaml").write_text(SHEET)
    plan = api.work_out(tmp_path / "m.conf", tmp_path / "sheet.yaml").plan
    assert [each for each in plan.doubts if how in each.why]
