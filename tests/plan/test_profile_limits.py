"""A profile's acceleration is held under the machine's new one: what is above it comes down to it, what is below it stays."""

from __future__ import annotations

from pathlib import Path

from cfgmigrate import api

MACHINE = """\
[axis x]
max acceleration = 3600
low end = 0
high end = 240
[axis y]
max acceleration = 2700
high end = 210
[axis z]
high end = 230
[feeder]
steps per mm = 97.3
[retraction]
length = 5.1
"""
SITE = """\
site: 1
profiles:
  filaments/quick.conf: {filament: quick, material: PLA}
  filaments/slow.conf: {filament: slow, material: PLA}
"""
SHEET = """\
old: {drive: tube-fed, tube: {length: 430 mm}}
new: {drive: on the carriage, steps_per_mm: 512 1/mm, tube: {length: 35 mm}}
carriage: {old_mass: 270 g, new_mass: 450 g}
machine_kind: moving bed
"""


def test_only_what_is_above_the_machines_new_limit_comes_down(tmp_path: Path) -> None:
    filaments = tmp_path / "config" / "filaments"
    filaments.mkdir(parents=True)
    (tmp_path / "config" / "machine.conf").write_text(MACHINE)
    for name, acceleration in (("quick", 3200), ("slow", 1500)):
        text = f"[filament]\nname = {name}\n[axis x]\nmax acceleration = {acceleration}\n"
        (filaments / f"{name}.conf").write_text(text)
    (tmp_path / "config" / "cfgmigrate.yaml").write_text(SITE)
    (tmp_path / "swap.yaml").write_text(SHEET)
    plan = api.prepare(tmp_path / "config", tmp_path / "swap.yaml", out=tmp_path / "packet").plan
    becomes = {
        (change.holder, edit.file): edit.new
        for change in plan.changes
        if change.quantity == "axis.x.max_acceleration"
        for edit in change.edits
    }
    # 3600 · 270/450 = 2160, which is below 3200 and above 1500; 3200 · 270/450 would be 1920
    assert becomes == {
        ("machine", "machine.conf"): "2160",
        ("filament quick", "filaments/quick.conf"): "2160",
    }


def test_a_profiles_place_on_the_bed_stays_and_what_lies_beyond_the_machines_new_limit_is_brought_to_it(
    tmp_path: Path,
) -> None:
    """Shifted as if it were the rail's, a profile lost a strip of the bed that the nozzle still reaches."""
    filaments = tmp_path / "config" / "filaments"
    filaments.mkdir(parents=True)
    machine = MACHINE.replace("low end = 0", "low end = -4").replace("high end = 210", "high end = 228")
    (tmp_path / "config" / "machine.conf").write_text(machine)
    places = {"quick": (0, 222), "slow": (5, 218)}
    for name, (low, high) in places.items():
        text = f"[filament]\nname = {name}\n[axis x]\nlow end = {low}\n[axis y]\nhigh end = {high}\n"
        (filaments / f"{name}.conf").write_text(text)
    (tmp_path / "config" / "cfgmigrate.yaml").write_text(SITE)
    (tmp_path / "swap.yaml").write_text(
        SHEET.replace("new_mass: 450 g", "new_mass: 450 g, nozzle_shift: {x: 6 mm, y: -8 mm, z: 0 mm}")
    )
    plan = api.prepare(tmp_path / "config", tmp_path / "swap.yaml", out=tmp_path / "packet").plan
    becomes = {
        (change.holder, change.quantity): edit.new
        for change in plan.changes
        if change.quantity in ("axis.x.min", "axis.y.max")
        for edit in change.edits
    }
    # -4 + 6 = 2, 228 - 8 = 220; 5 and 218 lie within both
    assert becomes == {
        ("machine", "axis.x.min"): "2",
        ("machine", "axis.y.max"): "220",
        ("filament quick", "axis.x.min"): "2",
        ("filament quick", "axis.y.max"): "220",
    }
    assert not [*api.verify(tmp_path / "packet")]
