"""Filaments whose material nobody says are asked about in one doubt, with a table to fill in."""

from __future__ import annotations

from pathlib import Path

from cfgmigrate import api
from cfgmigrate.plan.model import Plan

SHEET = """\
machine: Dipper
old: {drive: tube-fed, tube: {length: 430 mm, bore: 2 mm, bend: 180 deg}}
new: {drive: on the carriage, tube: {length: 40 mm, bore: 2 mm, bend: 0 deg}, force_needed: 40 N}
filament: {material: PLA, diameter: 1.75 mm}
"""


def planned(folder: Path, materials: dict[str, str], more: str = "") -> Plan:
    text = "[feeder]\nturn length = 22.9\n"
    for number, (name, material) in enumerate(materials.items()):
        said = f"material = {material}\n" if material else ""
        text += f"[filament {name}]\n{said}nozzle = 215\nretraction length = 5.{number}\n"
    folder.mkdir(exist_ok=True)
    (folder / "machine.conf").write_text(text)
    (folder.parent / "swap.yaml").write_text(SHEET + more)
    return api.work_out(folder, folder.parent / "swap.yaml").plan


def asked(plan: Plan) -> list[str]:
    return [doubt.remedy for doubt in plan.doubts if "material" in doubt.why]


def test_all_are_asked_about_at_once(tmp_path: Path) -> None:
    (remedy,) = asked(planned(tmp_path / "a", {"grey": "", "black": "PETG", "clear": ""}))
    assert "grey: {material: …}, clear: {material: …}" in remedy
    assert "black" not in remedy


def test_what_is_said_is_not_asked(tmp_path: Path) -> None:
    said = "filaments: {grey: {material: PETG}, clear: {material: ABS}}\n"
    assert asked(planned(tmp_path / "a", {"grey": "", "clear": ""}, said)) == []
    assert asked(planned(tmp_path / "a", {"grey": "PLA", "clear": "PETG"})) == []


def test_the_only_filament_is_the_sheets(tmp_path: Path) -> None:
    assert asked(planned(tmp_path / "a", {"grey": ""})) == []


def test_a_material_without_figures_is_told(tmp_path: Path) -> None:
    (remedy,) = asked(planned(tmp_path / "a", {"grey": "PLA", "odd": "blend"}))
    assert "odd: {material: …}" in remedy and "grey" not in remedy


def test_a_material_without_figures_is_told_of_the_only_filament_too(tmp_path: Path) -> None:
    folder = tmp_path / "a"
    folder.mkdir()
    profiles = "profiles: {machine.conf: {filament: odd, material: moonstone}}"
    (folder / "cfgmigrate.yaml").write_text(f"site: 1\nroles: {{machine.conf: profile}}\n{profiles}\n")
    (folder / "feed.conf").write_text("[feeder]\nturn length = 22.9\n")
    (folder / "machine.conf").write_text("nozzle = 215\nretraction length = 5.1\n")
    (tmp_path / "swap.yaml").write_text(SHEET)
    plan = api.work_out(folder, tmp_path / "swap.yaml").plan
    assert any("odd moonstone" in doubt.why for doubt in plan.doubts)


def test_the_material_that_was_meant_is_offered(tmp_path: Path) -> None:
    folder = tmp_path / "a"
    folder.mkdir()
    profiles = "profiles: {odd.conf: {filament: odd, material: PEGT}}"
    (folder / "cfgmigrate.yaml").write_text(f"site: 1\nroles: {{odd.conf: profile}}\n{profiles}\n")
    (folder / "feed.conf").write_text("[feeder]\nturn length = 22.9\n")
    (folder / "odd.conf").write_text("nozzle = 215\nretraction length = 5.1\n")
    (tmp_path / "swap.yaml").write_text(SHEET)
    plan = api.work_out(folder, tmp_path / "swap.yaml").plan
    assert any(doubt.remedy.endswith("did you mean PETG?") for doubt in plan.doubts)


def test_what_one_plastic_takes_is_said_of_no_other_and_a_stop_of_the_feeder_is_told_once(
    tmp_path: Path,
) -> None:
    gears = "old: {drive: tube-fed, drive_gear: {effective_diameter: 11 mm, gear_ratio: 14:5}, tube"
    text = "[feeder]\nturn length = 22.9\n"
    for name, material in (("grey", "PLA"), ("black", "PETG")):
        text += f"[filament {name}]\nmaterial = {material}\nnozzle = 215\nretraction length = 5.2\nretraction speed = 38\n"
    (tmp_path / "m").mkdir()
    (tmp_path / "m" / "machine.conf").write_text(text)
    sheet = SHEET.replace("old: {drive: tube-fed, tube", gears).replace(
        "{material: PLA", "{material: PLA, recommended_retraction_speed: 20 mm/s"
    )
    (tmp_path / "swap.yaml").write_text(sheet)
    plan = api.work_out(tmp_path / "m", tmp_path / "swap.yaml").plan
    speeds = {each.holder: each.new.value for each in plan.changes if each.quantity == "retraction.speed"}
    assert speeds["filament grey"] == 20 and speeds.get("filament black") != 20
    assert [item.holder for item in plan.by_hand if item.rule == "gears.swapped"] == ["machine"]
