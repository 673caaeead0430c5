"""Where the sheet and all profiles name different filaments, a person is told, and told what to write."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.ground.findings import Doubt

SHEET = """\
old: {{drive: tube-fed, tube: {{length: 460 mm}}}}
new: {{drive: on the carriage, tube: {{length: 32 mm}}}}
filament: {{material: {0}}}
"""
FRAME = "[axis x]\nmaximum = 210 mm\n[axis y]\nmaximum = 200 mm\n[feeder]\nsteps per mm = 138.5\n"
PROFILE = "[filament {0}]\nmaterial = {1}\nretraction length = 5.2 mm\ntemperature = 210\n"


def doubts_of(folder: Path, material: str, more: str = "") -> list[Doubt]:
    (folder / "machine.conf").write_text(FRAME)
    (folder / "filaments").mkdir()
    (folder / "filaments" / "grey.conf").write_text(PROFILE.format("grey", "PETG"))
    (folder / "filaments" / "blue.conf").write_text(PROFILE.format("blue", "PLA"))
    (folder / "swap.yaml").write_text(SHEET.format(material) + more)
    plan = api.prepare([folder], folder / "swap.yaml", out=folder / "packet").plan
    return [doubt for doubt in plan.doubts if doubt.text.startswith("material ")]


def test_a_sheet_that_names_what_one_profile_is_for_is_no_contradiction(tmp_path: Path) -> None:
    assert not doubts_of(tmp_path, "PLA")


def test_a_sheet_that_names_what_no_profile_is_for_is_told_with_what_to_write(tmp_path: Path) -> None:
    found = doubts_of(tmp_path, "TPU")
    assert [doubt.text for doubt in found] == ["material PLA", "material PETG"]
    assert "is for PLA, and the sheet says TPU; its values are worked out for PLA" in found[0].why
    assert 'filaments: {"blue": {material: TPU}}' in found[0].remedy


@pytest.mark.parametrize("name", ["blue", "grey"])
def test_what_the_sheet_says_of_a_profile_by_its_name_settles_it(tmp_path: Path, name: str) -> None:
    more = f'filaments: {{"{name}": {{material: ASA}}}}\n'
    assert name not in " ".join(doubt.why for doubt in doubts_of(tmp_path, "TPU", more))
