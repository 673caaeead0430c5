"""A profile's own value wins over what was measured for the machine, and its line is told."""

from __future__ import annotations

from pathlib import Path

from msgspec.structs import replace

from cfgmigrate import api
from cfgmigrate.files.configuration import open_configuration
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.model import Plan
from cfgmigrate.plan.own_values_win import own_values_win

FRAME = "[axis x]\nhighest = 200\n[axis y]\nhighest = 200\n\n[feeder]\nsteps per mm = 704\nretraction length = 0.9 mm\n"
PROFILES = {
    "white": "[filament]\nmaterial = PLA\nretraction length = 3.2 mm\n",
    "black": "[filament]\nmaterial = PETG\n",
}


def tuned(folder: Path, of: str = "") -> Plan:
    config = folder / "config"
    (config / "filaments").mkdir(parents=True)
    (config / "ruff.conf").write_text(FRAME)
    for name, text in PROFILES.items():
        (config / "filaments" / f"{name}.conf").write_text(text)
    (config / "cfgmigrate.yaml").write_text(
        'site: 1\nroles: {ruff.conf: in force, "filaments/*.conf": profile}\n'
    )
    (folder / "measured.yaml").write_text(f"{of}measured:\n  retraction: {{best: 0.65 mm}}\n")
    return api.tune([config], folder / "measured.yaml", out=folder / "tuned").plan


def test_the_line_of_a_profile_that_has_its_own_value_is_named(tmp_path: Path) -> None:
    plan = tuned(tmp_path)
    assert [change.new.text for change in plan.changes] == ["0.65"]
    (told,) = [each for each in plan.doubts if "wins there" in each.why]
    assert "filaments/white.conf:3 (filament white) has its own 3.2" in told.why and "black" not in told.why


def test_what_was_measured_with_that_profile_has_nothing_to_tell(tmp_path: Path) -> None:
    plan = tuned(tmp_path, "of: {filament: white}\n")
    assert [change.holder for change in plan.changes] == ["filament white"]
    assert not [each for each in plan.doubts if "wins there" in each.why]


def test_a_profile_s_own_value_that_was_measured_wins_over_no_other(tmp_path: Path) -> None:
    plan = tuned(tmp_path)
    (change,) = plan.changes
    mine = replace(plan, changes=(replace(change, holder="filament black"),))
    machine = recognise(open_configuration([tmp_path / "config"]))
    assert list(own_values_win(machine, plan, 1)) and not list(own_values_win(machine, mine, 1))
    same = replace(change, new=replace(change.new, text="3.2"))
    assert not list(own_values_win(machine, replace(plan, changes=(same,)), 1))
