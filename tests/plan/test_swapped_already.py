"""A machine that was swapped before is asked about, never swapped a second time; one sign alone stops nothing."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.ground.findings import Refused

FILE = """\
[axis x]
high end = 210
steps per mm = 84
[axis y]
high end = 200
steps per mm = 84
[axis z]
high end = 240
steps per mm = 410
[filament drive]
place = {place}
tube length = {tube}
microsteps = 16
steps per mm = {steps}
coil current ma = 800
[retraction]
length = {retraction}
"""
SHEET = """\
old: {drive: tube-fed, tube: {length: 420 mm}, motor: {step_angle: 1.8 deg}}
new:
  drive: on the carriage
  steps_per_mm: 426.7 1/mm
  microsteps: 16
  tube: {length: 40 mm}
  motor: {step_angle: 1.8 deg, rated_current: 1.0 A}
"""


def prepared(
    folder: Path,
    sheet: str = SHEET,
    place: str = "frame",
    tube: str = "420",
    steps: str = "97.2",
    retraction: str = "5.5",
) -> Path:
    (folder / "ladle").mkdir()
    (folder / "ladle" / "ladle.conf").write_text(
        FILE.format(place=place, tube=tube, steps=steps, retraction=retraction)
    )
    (folder / "swap.yaml").write_text(sheet)
    return api.prepare(folder / "ladle", folder / "swap.yaml", out=folder / "packet").folder


@pytest.mark.parametrize(
    "signs",
    [
        {"place": "carriage", "tube": "0"},
        {"place": "on the carriage", "steps": "426.7"},
        {"tube": "40", "steps": "430"},
        {"retraction": "0.8", "steps": "426.7"},
        {"place": "print head", "tube": "0", "steps": "426.7"},
    ],
)
def test_two_signs_are_told_with_their_lines_and_nothing_is_written(
    signs: dict[str, str], tmp_path: Path
) -> None:
    with pytest.raises(Refused, match="this looks swapped already") as refused:
        prepared(tmp_path, **signs)
    lines = {
        "place": "ladle.conf:11",
        "tube": "ladle.conf:12",
        "steps": "ladle.conf:14",
        "retraction": "ladle.conf:17",
    }
    for name in signs:
        assert lines[name] in str(refused.value)
    assert "values: old" in str(refused.value) and not (tmp_path / "packet").exists()


def test_a_tube_to_the_carriage_and_gears_that_are_not_told_yet_are_no_signs(tmp_path: Path) -> None:
    """Of a sheet that is not finished the feed is the old one, since nothing says another."""
    sheet = SHEET.replace("  steps_per_mm: 426.7 1/mm\n", "  drive_gear: {effective_diameter: 7.5 mm}\n")
    place = "behind the frame, white tube to the carriage"
    assert prepared(tmp_path, sheet, place=place, tube="0", steps="128").is_dir()


@pytest.mark.parametrize("signs", [{}, {"place": "carriage"}, {"tube": "0"}, {"steps": "426.7"}])
def test_one_sign_or_none_stops_nothing(signs: dict[str, str], tmp_path: Path) -> None:
    assert prepared(tmp_path, **signs).is_dir()


@pytest.mark.parametrize("said", ["old", "new"])
def test_who_says_whose_the_values_are_is_believed(said: str, tmp_path: Path) -> None:
    assert prepared(tmp_path, f"values: {said}\n{SHEET}", "carriage", "0", "426.7").is_dir()


def test_an_installed_swap_is_no_sign_of_another_one(tmp_path: Path) -> None:
    """The history tells what was done; the signs are for what it does not know."""
    packet = prepared(tmp_path, place="carriage")
    api.install(
        packet,
        accept_unknown=[
            light.name for light in api.open_packet(packet).plan.lights if light.state == "unknown"
        ],
    )
    assert not api.prepare(tmp_path / "ladle", tmp_path / "swap.yaml", out=tmp_path / "again").plan.changes
