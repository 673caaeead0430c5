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
