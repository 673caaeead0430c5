"""What was edited by hand in files that a packet only read is told when it goes back, with what steps by hand go back to."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.apply.going_back import RevertReport
from cfgmigrate.apply.install import install
from cfgmigrate.apply.revert import revert, revert_to
from cfgmigrate.packet.folder import Packet

CONF = """\
[feeder]
steps per mm = 96.4
[retraction]
length = 4.6
"""
LOAD = "; load\nG91\nG1 E300 F1500 ; through the tube\nG1 E60 F180\nG90\n"
SHEET = """\
old: {drive: tube-fed, tube: {length: 420 mm, bore: 2 mm, bend: 180 deg}, driver: {set_by: screw, reference_voltage: 0.86 V}}
new:
  drive: on the carriage
  steps_per_mm: 426.7 1/mm
  microsteps: 16
  tube: {length: 40 mm, bore: 2 mm, bend: 0 deg}
  motor: {rated_current: 0.7 A, step_angle: 1.8 deg}
  driver: {part: A4988, set_by: screw, sense_resistor: 0.1 ohm}
filament: {material: PLA, diameter: 1.75 mm}
"""


@pytest.fixture
def there(tmp_path: Path) -> tuple[Path, Packet]:
    config = tmp_path / "ewer"
    config.mkdir()
    (config / "ewer.conf").write_text(CONF)
    (config / "load.nc").write_text(LOAD)
    (tmp_path / "swap.yaml").write_text(SHEET)
    packet = api.prepare(config, tmp_path / "swap.yaml", out=tmp_path / "packet")
    unknown = [light.light for light in packet.plan.lights if light.state == "unknown"]
    install(packet, accept_unknown=unknown)
    assert (config / "load.nc").read_text() == LOAD and (config / "ewer.conf").read_text() != CONF
    return config, packet


def of_scripts(report: RevertReport) -> list[tuple[str, int, str | None]]:
    return [(item.file, item.line, item.present) for item in report.kept if item.file == "load.nc"]


@pytest.mark.parametrize("by", ["packet", "history"])
def test_an_edit_of_a_script_that_was_only_read_is_told_and_stays(
    there: tuple[Path, Packet], by: str
) -> None:
    config, packet = there
    (config / "load.nc").write_text(LOAD.replace("E300", "E14"))
    report = revert(packet) if by == "packet" else revert_to(config, "start")
    assert of_scripts(report) == [("load.nc", 3, "G1 E14 F1500 ; through the tube\n")]
    assert any(note.startswith("load.nc: not as the packet read it") for note in report.notes)
    assert (config / "ewer.conf").read_text() == CONF and "E14" in (config / "load.nc").read_text()


def test_one_that_is_gone_is_told_too(there: tuple[Path, Packet]) -> None:
    config, packet = there
    (config / "load.nc").unlink()
    assert of_scripts(revert(packet)) == [("load.nc", 0, None)]


def test_as_it_was_read_it_is_not_told_nor_where_single_values_go_back(there: tuple[Path, Packet]) -> None:
    config, packet = there
    assert not of_scripts(revert(packet, dry_run=True)) and not revert(packet, dry_run=True).notes
    (config / "load.nc").write_text(LOAD.replace("E300", "E14"))
    assert not of_scripts(revert(packet, only=["retraction.length"]))


@pytest.mark.parametrize("by", ["packet", "history"])
def test_the_old_voltage_of_the_screw_is_told_with_what_is_to_be_undone(
    there: tuple[Path, Packet], by: str
) -> None:
    config, packet = there
    report = revert(packet) if by == "packet" else revert_to(config, "start")
    (told,) = [what for what in report.by_hand if "reference voltage" in what]
    assert "With the old drive it was 0.86 V" in told
