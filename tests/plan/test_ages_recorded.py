"""The ages of readings stand in the plan, so that it can be worked out again where the history is not at hand."""

from __future__ import annotations

from pathlib import Path

from cfgmigrate import api
from cfgmigrate.plan.model import Plan
from cfgmigrate.plan.planning import plan_changes, recorded
from cfgmigrate.rules import library
from cfgmigrate.rules.lanes import work_out_lanes
from cfgmigrate.sheet.reader import read_sheet

SHEET = """\
machine: Dipper
old: {drive: tube-fed, tube: {length: 430 mm, bore: 2 mm, bend: 180 deg}}
new: {drive: on the carriage, tube: {length: 40 mm, bore: 2 mm, bend: 0 deg}, force_needed: 40 N}
filament: {material: PLA, diameter: 1.75 mm}
"""
HEAD = "[feeder]\nturn length = 22.9\n"


def filament(name: str, length: str) -> str:
    return f"[filament {name}]\nmaterial = {name}\nnozzle = 215\nretraction length = {length}\n"


def again(folder: Path, plan: Plan) -> Plan:
    """The same plan without a history, by what it records of ages."""
    book, sheet = library.book(), read_sheet(folder / "swap.yaml")
    machine = api.read_machine([folder / "config"])[1]
    worked = work_out_lanes(book, machine, sheet, library.tables(), recorded(plan))
    return plan_changes(worked, book, machine, sheet, plan.root)


def test_a_plan_records_the_age_of_each_reading_that_is_scaled(tmp_path: Path) -> None:
    config = tmp_path / "config"
    config.mkdir()
    (tmp_path / "swap.yaml").write_text(SHEET)
    file = config / "machine.conf"
    file.write_text(HEAD + filament("PLA", "5.2") + filament("PETG", "6.0"))
    packet = api.prepare(config, tmp_path / "swap.yaml", out=tmp_path / "packet")
    first = Plan.from_json(packet.plan.to_json())
    told = {(each.quantity, each.holder): each.age for each in first.ages}
    assert told["retraction.length", "filament PLA"] == told["retraction.length", "filament PETG"] == "old"
    assert again(tmp_path, first).changes == first.changes
    lights = [light.name for light in packet.plan.lights if light.state == "unknown"]
    api.install(tmp_path / "packet", accept_unknown=lights)
    (config / "more.conf").write_text(filament("ABS", "5.8"))
    second = api.work_out(config, tmp_path / "swap.yaml").plan
    told = {(each.quantity, each.holder): each.age for each in second.ages}
    assert told["retraction.length", "filament ABS"] == "old"
    assert [change.holder for change in second.changes] == ["filament ABS"]
