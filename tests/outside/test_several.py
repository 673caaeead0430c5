"""Every value of the samples with several feeders or filaments, worked out once more for each holder.

Plain arithmetic with the numbers of the files and the sheets; no rule is asked. The tube's part of a retraction goes with
its give, slack and stretch; what melt and hot end ask for stays (common practice, no source, as in
`recomputed.yaml`, which names the sources). δ = F·L/(E·A) for a rod in compression; slack = bend · (bore − diameter).
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.dialects.grammar import data_folder

SAMPLES = data_folder("sample_configs")
PUSH, AREA = 40.0, math.pi * 1.75**2 / 4
#: N/mm², as in recomputed.yaml; ASA from memory
MODULUS = {"PLA": 3600.0, "PETG": 2000.0, "ABS": 2350.0, "ASA": 2300.0}
MELT, MELT_LAG, COLD, HOT_END, RESERVE, TUBE_KEEPS = 0.2, 0.01, 20.0, 45.0, 100.0, 0.7
#: length in mm, bore in mm, bend in degrees
Tube = tuple[float, float, float]
Truth = Mapping[tuple[str, str], float]


def stretch(length: float, material: str) -> float:
    return PUSH * length / (MODULUS[material] * AREA)


def give(tube: Tube, material: str) -> float:
    length, bore, bend = tube
    return stretch(length, material) + math.radians(bend) * (bore - 1.75)


def shorter(part: float) -> float:
    """What a tube's part comes to: in proportion, and a long tube rubs besides."""
    return part * (TUBE_KEEPS + (1 - TUBE_KEEPS) * part)


def retraction(old: float, tubes: tuple[Tube, Tube], material: str) -> float:
    stays = MELT + stretch(COLD, material)
    return stays + (old - stays) * shorter(give(tubes[1], material) / give(tubes[0], material))


def lag(old: float, tubes: tuple[Tube, Tube], material: str = "PLA") -> float:
    before, after = (stretch(tube[0] + COLD, material) for tube in tubes)
    return MELT_LAG + (old - MELT_LAG) * shorter(after / before)


LEFT: tuple[Tube, Tube] = (460, 2.0, 210), (38, 1.9, 15)
RIGHT: tuple[Tube, Tube] = (520, 2.0, 240), (38, 1.9, 15)
ALONE: tuple[Tube, Tube] = (430, 2.0, 190), (44, 1.95, 10)


def of_feeder(number: int, tubes: tuple[Tube, Tube], turn: float, pull: float, late: float) -> Truth:
    return {
        (name, f"feeder {number}"): value
        for name, value in {
            "feeder.steps_per_mm": 200 * 16 / turn,
            "feeder.max_feed_length": tubes[1][0] + HOT_END + RESERVE,
            "motor.run_current": 0.38,
            "motor.hold_current": 0.38 * 0.45 / 0.80,
            "lag.coefficient": lag(late, tubes),
            "retraction.length": retraction(pull, tubes, "PLA"),
        }.items()
    }


TRUTH: Mapping[str, Truth] = {
    "bittern": {
        **of_feeder(1, LEFT, 5.12, 5.6, 0.62),
        **of_feeder(2, RIGHT, 5.21, 6.4, 0.74),
        ("axis.z.max", "machine"): 271.0 - 2.5,
        # both scripts take T0, the left feeder, before they feed
        ("script.load.e", "machine"): 500 - (460 - 38),
        ("script.unload.e", "machine"): -520 + (460 - 38),
    },
    "lapwing": {
        ("feeder.rotation_distance", "machine"): 5.17 * 52 / 11,
        ("feeder.gear_ratio", "machine"): 52 / 11,
        ("feeder.max_feed_length", "machine"): 44 + HOT_END + RESERVE,
        ("motor.run_current", "machine"): 0.45,
        ("motor.hold_current", "machine"): 0.45 * 0.40 / 0.74,
        ("lag.coefficient", "machine"): lag(0.58, ALONE),
        ("retraction.length", "filament pla grey"): retraction(5.4, ALONE, "PLA"),
        ("retraction.length", "filament petg clear"): retraction(6.1, ALONE, "PETG"),
        ("retraction.length", "filament abs black"): retraction(4.7, ALONE, "ABS"),
        ("retraction.length", "filament asa green"): retraction(5.0, ALONE, "ASA"),
        ("axis.z.max", "machine"): 255.0 - 2,
    },
}


@pytest.mark.parametrize("machine", sorted(TRUTH))
def test_each_holders_values_come_out_once_more(machine: str, tmp_path: Path) -> None:
    out = tmp_path / "packet"
    api.prepare(SAMPLES / machine, SAMPLES / "sheets" / f"{machine}.yaml", out=out)
    plan = json.loads((out / "changes.json").read_bytes())
    found = {(item["quantity"], item["holder"]): item["unrounded"] for item in plan["changes"]}
    assert found == {key: pytest.approx(value, rel=1e-6) for key, value in TRUTH[machine].items()}
    assert [light for light in plan["lights"] if light["state"] == "unknown"] == []
    assert api.verify(out) == ()


def test_a_sample_has_kept_copies_and_profiles_of_its_own() -> None:
    found = api.survey(SAMPLES / "lapwing").to_json()
    roles: dict[str, set[str]] = {}
    for file in found["files"]:
        roles.setdefault(file["role"], set()).add(file["path"])
    assert roles["kept copy"] == {"feed_old.conf", "old/machine.conf", "filaments/pla_grey.2030-11-04.conf"}
    assert len(roles["profile"]) == 6
    holders = {reading["holder"] for reading in found["readings"]}
    assert {"print fine", "print quick", "filament asa green", "machine"} <= holders


def test_a_sample_has_two_feeders_with_values_of_their_own() -> None:
    found = api.survey(SAMPLES / "bittern").to_json()
    own = {
        holder: {each["quantity"] for each in found["readings"] if each["holder"] == holder}
        for holder in ("feeder 1", "feeder 2")
    }
    assert own["feeder 1"] == own["feeder 2"] and len(own["feeder 1"]) >= 12
