"""A list of one name takes a verb of one."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.fleet.summary import sentence

SHEET = "carriage: {old_mass: 300 g, new_mass: 480 g}\nclearance: {as_before: yes}\n"


@pytest.mark.parametrize(("more", "are"), [("", " is "), ("[resonance]\nx = 50\n", " are ")])
def test_what_is_worked_out_once_only(tmp_path: Path, more: str, are: str) -> None:
    (tmp_path / "machine.conf").write_text(f"[axis x]\nmax acceleration = 3000\nmax speed = 200\n{more}")
    (tmp_path / "sheet.yaml").write_text(SHEET)
    plan = api.prepare([tmp_path / "machine.conf"], tmp_path / "sheet.yaml", out=tmp_path / "packet").plan
    (doubt,) = [each for each in plan.doubts if each.text == "carried out once only"]
    assert f"{are}worked out from what the files hold" in doubt.why
    assert ("they would move" in doubt.why) == bool(more)


def test_a_fleet_of_which_one_needs_hands() -> None:
    many = dict.fromkeys(("packets", "groups", "alike", "standing_out", "need_hands", "in_doubt"), 1)
    told = sentence({**many, "machines": 2, "failed": 0, "unreached": 0})
    assert "1 of 2 machines has a packet" in told
    assert "1 stands out, 1 needs hands, 1 has questions to settle" in told
