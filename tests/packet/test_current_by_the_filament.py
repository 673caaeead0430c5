"""The motor's current where its heat would soften the filament in the drive's gears: lowered, asked, or told of, by what
the sheet really says. One motor has one current, and the softest of its filaments counts."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from cfgmigrate import api
from cfgmigrate.dialects.grammar import data_folder

SAMPLES = data_folder("sample_configs")
RATED = "    rated_current: 0.9 A\n"
RECOMMENDED = RATED + "    recommended_current: 0.42 A\n"
AIR = "surroundings: {air: 41 degC}"


def prepared(folder: Path, *swapped: tuple[str, str]) -> dict[str, Any]:
    """What a packet says for the sample Wren without a recommended current, with more of its sheet replaced."""
    sheet = (SAMPLES / "sheets" / "wren.yaml").read_text(encoding="utf-8")
    for old, new in ((RECOMMENDED, RATED), ("mount: {material: ABS}", "mount: {material: PC}"), *swapped):
        assert old in sheet, old
        sheet = sheet.replace(old, new)
    path = folder / "sheet.yaml"
    path.write_text(sheet, encoding="utf-8")
    api.prepare([SAMPLES / "wren"], path, out=folder / "packet")
    assert not api.verify(folder / "packet")
    found: dict[str, Any] = json.loads((folder / "packet" / "changes.json").read_text(encoding="utf-8"))
    return found


def written(document: dict[str, Any]) -> list[float]:
    return [each["new"]["value"] for each in document["changes"] if each["quantity"] == "motor.run_current"]


def said(document: dict[str, Any]) -> str:
    return json.dumps(document, ensure_ascii=False)


@pytest.mark.parametrize(
    ("swapped", "current"),
    [
        ((), 0.43),  # half of 0.9 A, as a step of the driver: 14 · 0.030596 A, in hundredths upwards
        ((("material: PLA", "material: ABS"),), 0.43),  # its profile is for PLA, which is softer
        (
            (("filament: {material: PLA", 'filaments: {"ring gauges, PLA, 0.2": {material: ABS}}\n\nfilament: {material: ABS'),),
            0.58,
        ),
        (((AIR, "surroundings: {air: 22 degC}"),), 0.58),
        (((AIR, "surroundings: {enclosed: no}"),), 0.58),  # 45 °C are our own figure, and nobody's here
    ],
    ids=["PLA", "a profile for PLA", "ABS alone", "cool air", "air that nobody measured"],
)  # fmt: skip
def test_a_motor_is_run_so_that_its_softest_filament_stays_firm_by_air_that_was_measured(
    tmp_path: Path, swapped: tuple[tuple[str, str], ...], current: float
) -> None:
    assert written(prepared(tmp_path, *swapped)) == [pytest.approx(current)]


def test_where_nobody_measured_the_air_the_next_step_is_told_with_a_current(tmp_path: Path) -> None:
    told = said(prepared(tmp_path, (AIR, "surroundings: {enclosed: no}")))
    assert "print for 20 minutes first" in told and "lower the current to about 0.42 A RMS" in told


def test_what_softens_even_at_half_by_figures_of_the_sheet_is_asked_and_not_written(tmp_path: Path) -> None:
    """0.48 · 0.9 A and less: 48 °C, and a rise of 70 K at the rated current by the motor's maker."""
    hot = (AIR, "surroundings: {air: 48 degC}"), (RATED, RATED + "    rated_rise: 70 K\n")
    document = prepared(tmp_path, *hot)
    assert written(document) == [] and "it stays firm up to 0.392" in said(document)


def test_a_current_that_was_seen_to_work_is_written_whatever_the_heat_is(tmp_path: Path) -> None:
    hot = (
        (AIR, "surroundings: {air: 48 degC}"),
        (RATED, RATED + "    measured_current: 0.5 A\n    rated_rise: 70 K\n"),
    )
    assert written(prepared(tmp_path, *hot)) == [pytest.approx(0.49)]
