"""Every value of the samples with several feeders or filaments, worked out once more for each holder.

Plain arithmetic with the numbers of the files and the sheets; no rule is asked. The tube's part of a retraction goes with
its give, slack and stretch; what melt and hot end ask for stays (common practice, no source, as in
`recomputed.yaml`, which names the sources). δ = F·L/(E·A) for a rod in compression; slack = bend · (bore − diameter).
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import GTC
import pytest
from outside.test_recomputed import nominal, spread, unknowns, winding_at

from cfgmigrate import api
from cfgmigrate.dialects.grammar import data_folder

SAMPLES = data_folder("sample_configs")
PUSH, AREA = 40.0, math.pi * 1.75**2 / 4
#: where a plastic softens (°C), as the table of plastics has it
SOFTENS = {"PLA": (57.5, 1.5), "PETG": (66.0, 3.0), "ABS": (77.8, 3.0), "ASA": (85.0, 5.0)}
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
        ("feeder.feed_per_turn", "machine"): 5.17 * 52 / 11,
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


# --- what is done by hand, and the numbers behind the values ------------------------------------------------------

#: by rule and holder: the number that is told, or the word; worked out from the sheet and the files as the remarks say
BY_HAND: Mapping[str, Mapping[tuple[str, str], float | str]] = {
    "bittern": {
        ("axis.nozzle_shift", "machine"): "measure",  # the sheet says nothing of x and y
        ("machine.masses", "machine"): "weigh",  # nor of masses
        ("work.level", "machine"): "level it",  # a drive goes onto a carriage of unknown mass
        ("work.driver_sheet", "feeder 1"): "compare",  # nor of the drivers
        ("work.driver_sheet", "feeder 2"): "compare",
        ("feeder.direction", "machine"): "not known",  # nobody counted the meshes
        ("retraction.lift", "feeder 1"): 0.20 / 2,  # half of what stands in feeders.txt, after the first print
        ("retraction.lift", "feeder 2"): 0.20 / 2,
        ("work.guide_tube", "feeder 1"): "fit it",  # each has a tube of its own
        ("work.guide_tube", "feeder 2"): "fit it",
        ("work.gear_play", "feeder 1"): "set it",  # and gears of its own
        ("work.gear_play", "feeder 2"): "set it",
        **{
            (f"work.{rule}", "machine"): word
            for rule, word in {
                "spare_parts": "print them", "keep_old": "keep it", "motor_coils": "measure",
                "wires": "lay them", "spool": "look", "grip": "set it",
            }.items()
        },
        ("protected.first_homing", "machine"): "check",
        ("files.lines_left", "machine"): "go through them",  # lines that still tell of the old drive
    },
    "lapwing": {
        ("axis.nozzle_shift", "machine"): "measure",
        ("machine.masses", "machine"): "weigh",
        ("work.level", "machine"): "level it",
        ("work.driver_sheet", "machine"): "compare",
        ("feeder.direction", "machine"): "as before",  # one pair of gears outside to outside before, and one now
        ("lag.averaging", "machine"): 0.046 / 2,
        ("motor.filament_heat", "machine"): 57.5,  # where PLA softens, above which the motor's case would spoil it
        ("retraction.lift", "print fine"): 0.1 / 2,
        ("retraction.lift", "print quick"): 0.3 / 2,
        **{
            (f"work.{rule}", "machine"): word
            for rule, word in {
                "spare_parts": "print them", "keep_old": "keep it", "gear_play": "set it", "guide_tube": "fit it",
                "motor_coils": "measure", "wires": "lay them", "spool": "look", "grip": "set it",
            }.items()
        },
        ("protected.first_homing", "machine"): "check",
        ("files.lines_left", "machine"): "go through them",  # lines that still tell of the old drive
    },
}  # fmt: skip


@pytest.fixture(scope="module")
def plans(tmp_path_factory: pytest.TempPathFactory) -> Mapping[str, Any]:
    made = {}
    for machine in TRUTH:
        out = tmp_path_factory.mktemp("several") / machine
        api.prepare(SAMPLES / machine, SAMPLES / "sheets" / f"{machine}.yaml", out=out)
        made[machine] = json.loads((out / "changes.json").read_bytes())
    return made


@pytest.mark.parametrize("machine", sorted(BY_HAND))
def test_each_step_by_hand_is_there_and_tells_its_number(plans: Mapping[str, Any], machine: str) -> None:
    found = {(item["rule"], item["holder"]): item for item in plans[machine]["by_hand"]}
    assert found.keys() == BY_HAND[machine].keys()
    for key, said in BY_HAND[machine].items():
        if isinstance(said, float):
            assert found[key]["value"] == pytest.approx(said, rel=1e-9), key
        else:
            assert found[key]["value"] is None and found[key]["text"].startswith(said), key


def digit(value: float, last: float) -> Any:
    """A number read off a scale: a rectangle one digit wide, 0.29 of it (GUM, JCGM 100:2008, F.2.2.1, from memory)."""
    return GTC.ureal(value, last * 0.288675)


#: per holder of bittern and lapwing: the old and the new tube, each as length (mm), bore (mm), bore's last digit and
#: bend (degrees), and the filament
TUBES: Mapping[str, Mapping[str, tuple[tuple[float, ...], tuple[float, ...], str]]] = {
    "bittern": {
        "feeder 1": ((460, 2.0, 0.1, 210), (38, 1.9, 0.1, 15), "PLA"),
        "feeder 2": ((520, 2.0, 0.1, 240), (38, 1.9, 0.1, 15), "PLA"),
    },
    "lapwing": {
        holder: ((430, 2.0, 0.1, 190), (44, 1.95, 0.01, 10), material)
        for holder, material in {
            "machine": "PLA", "filament pla grey": "PLA", "filament petg clear": "PETG", "filament abs black": "ABS",
            "filament asa green": "ASA",
        }.items()
    },
}  # fmt: skip
#: what a turn of the motor feeds (mm), the maker's; air (°C), current and rated current (A); the feeder's top speed (mm/s)
DRIVES: Mapping[str, Mapping[str, tuple[float, float, float, float, float]]] = {
    "bittern": {"feeder 1": (5.12, 40, 0.38, 0.8, 65), "feeder 2": (5.21, 40, 0.38, 0.8, 65)},
    "lapwing": {"machine": (5.17, 42, 0.45, 1.0, 70)},
}


def of_path(old: tuple[float, ...], new: tuple[float, ...], material: str) -> Iterator[tuple[str, Any]]:
    known = unknowns()
    moduli = {
        "PLA": known["E_pla"],
        "ABS": known["E_abs"],
        "PETG": known["E_petg"],
        "ASA": GTC.ureal(2300, 200),
    }
    modulus, push, filament = moduli[material], known["push"], digit(1.75, 0.01)
    area = math.pi * filament**2 / 4
    yield "path.filament_softens", GTC.ureal(*SOFTENS[material])
    yield "path.filament_modulus", modulus / 1000
    yield "path.filament_diameter", filament
    yield "path.filament_area", area
    yield "path.force", push
    yield "path.give_hot_end", push * known["cold"] / (modulus * area)
    for name, (length, bore, last, bend) in (("old", old), ("new", new)):
        tube = digit(length, 1)
        slack, elastic = math.radians(bend) * (digit(bore, last) - filament), push * tube / (modulus * area)
        yield f"path.tube_{name}", tube
        yield f"path.slack_{name}", slack
        yield f"path.elastic_{name}", elastic
        yield f"path.give_{name}", slack + elastic
        yield f"path.length_{name}", tube + known["hot_end"]


def of_drive(
    turn: float, air: float, current: float, rated: float, speed: float
) -> Iterator[tuple[str, Any]]:
    known = unknowns()
    rate = known["rise"] / (known["rated_air"] + known["rise"] + 234.5) / rated**2
    factor = rate * current**2
    winding = (air + factor * 234.5) / (1 - factor)
    assert nominal(winding) == pytest.approx(winding_at(current, air, rated), abs=1e-6)
    yield "feeder.feed_per_turn", turn
    yield "feeder.travel_per_motor_turn", turn
    yield "feeder.resolution", turn / 3200
    yield "feeder.step_rate", speed * 3200 / turn / 1000
    yield "feeder.start_speed", 8 * turn  # turns a second, common practice
    yield "feeder.max_speed", speed  # as in the files: no driver and no controller limits it
    yield "feeder.working_speed", speed  # so is the fastest feed at work: the new drive sets no limit
    yield "motor.air", air
    yield "motor.wanted_current", current
    yield "motor.current", current
    yield "motor.current_limit", rated  # neither driver nor mount is named
    yield "motor.heat_rate", rate
    yield "motor.heat_factor", factor
    yield "motor.winding_temperature", winding
    yield "motor.case_temperature", air + known["shown"] * (winding - air)


#: numbers that stay as the files have them, or are the trade's usual ones: nothing to work out
PLAIN = {
    "feeder.full_steps": 200, "feeder.microsteps": 16, "retraction.cap": 7, "retraction.extra_on_return": 0,
}  # fmt: skip
WORDS = {"path.changed": "another path", "path.flexible": "stiff"}


@pytest.mark.parametrize("machine", sorted(TUBES))
def test_each_finding_comes_out_once_more_for_its_holder(plans: Mapping[str, Any], machine: str) -> None:
    """A finding that several holders share stands once, under whom it was worked out for first."""
    paths = {holder: dict(of_path(*said)) for holder, said in TUBES[machine].items()}
    drives = {holder: dict(of_drive(*said)) for holder, said in DRIVES[machine].items()}
    first = next(iter(paths))
    for item in plans[machine]["findings"]:
        rule, holder = item["rule"], item["holder"]
        if rule in WORDS:
            assert item["word"] == WORDS[rule]
            continue
        if rule in PLAIN:
            assert item["value"] == PLAIN[rule] and not item["uncertainty"]
            continue
        if rule in (
            "retraction.speed",
            "retraction.fastest",
        ):  # as in the files, below the 40 mm/s that are usual on the carriage
            assert item["value"] <= 40
            continue
        if rule == "feeder.steps_per_mm":  # lapwing's files keep the feed per turn
            assert item["value"] == pytest.approx(3200 / drives["machine"]["feeder.feed_per_turn"])
            continue
        known = {**drives.get(holder, drives[next(iter(drives))]), **paths.get(holder, paths[first])}
        if rule == "feeder.feed_per_turn" and machine == "lapwing":
            continue  # a change there, with its own entry above
        assert item["value"] == pytest.approx(nominal(known[rule]), rel=1e-6), (rule, holder)
        assert item["uncertainty"] == pytest.approx(spread(known[rule]), rel=0.005, abs=1e-12), (rule, holder)


def test_a_sample_has_kept_copies_and_profiles_of_its_own() -> None:
    found = api.survey(SAMPLES / "lapwing").to_json()
    roles: dict[str, set[str]] = {}
    for file in found["files"]:
        roles.setdefault(file["role"], set()).add(file["path"])
    assert roles["kept copy"] == {"feed_old.conf", "old/machine.conf", "reels/pla_grey.2030-11-04.conf"}
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
