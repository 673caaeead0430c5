"""Each sample's test scripts, made as its owner makes them after the install, and read back line by line.

What every line has to satisfy is in `test_trials.py` for a made-up machine; here it is asked of the samples, with
several feeders, profiles, scripts in one line and limits of their own.
"""

from __future__ import annotations

import shutil
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from cfgmigrate import api
from cfgmigrate.dialects.grammar import data_folder
from cfgmigrate.ground.findings import Refused
from cfgmigrate.machine.model import FlatMachine
from cfgmigrate.trials import Wishes

pytestmark = pytest.mark.exhaustive
SAMPLES = data_folder("sample_configs")
MACHINES = sorted(path.stem for path in (SAMPLES / "sheets").glob("*.yaml"))
NAMES = ["clearance", "feed", "cylinder", "lag", "retraction"]
#: what must be said, where the machine's scripts tell no temperature
HOT = Wishes(nozzle=215, bed=60)
#: for whom, where the machine has several
LANES: Mapping[str, list[dict[str, str]]] = {
    "bittern": [{"feeder": "1"}, {"feeder": "2"}],
    "lapwing": [{"filament": name} for name in ("pla grey", "petg clear", "abs black", "asa green")],
}


@pytest.fixture(scope="module")
def migrated(tmp_path_factory: pytest.TempPathFactory) -> Mapping[str, tuple[Path, Any]]:
    """Each sample with its own packet installed, and that packet's plan."""
    done = {}
    for machine in MACHINES:
        folder = tmp_path_factory.mktemp("trials")
        shutil.copytree(SAMPLES / machine, folder / machine)
        made = api.prepare([folder / machine], SAMPLES / "sheets" / f"{machine}.yaml", out=folder / "packet")
        unknown = [light.name for light in made.plan.lights if light.state == "unknown"]
        api.install(folder / "packet", accept_unknown=unknown)
        done[machine] = folder / machine, made.plan
    return done


def test_a_soft_filament_of_the_sheet_is_not_laid_fast_for_the_only_profile_s_plastic(tmp_path: Path) -> None:
    """Wren's only profile says PLA in its name."""
    text = (SAMPLES / "sheets" / "wren.yaml").read_text(encoding="utf-8")
    (sheet := tmp_path / "wren.yaml").write_text(
        text.replace("material: PLA", "material: TPU"), encoding="utf-8"
    )
    made = api.trial("lag", [SAMPLES / "wren"], sheet=sheet, wishes=HOT).written
    assert "at 28 mm/s on the right" in made.text


def view_of(machine: Path, lane: Mapping[str, str]) -> FlatMachine:
    from cfgmigrate.sheet.several import Known
    from cfgmigrate.workflow.lane import chosen

    _, found = api.read_machine([machine])
    where = chosen(found, Known(numbers=found.feeders, profiles=found.profiles), remedy="", **lane)
    return found.view(where.feeder, where.profile)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("machine", MACHINES)
def test_the_lines_of_a_sample_are_within_its_own_limits(
    migrated: Mapping[str, tuple[Path, Any]], machine: str, name: str
) -> None:
    folder, _ = migrated[machine]
    for lane in LANES.get(machine, [{}]):
        sheet = SAMPLES / "sheets" / f"{machine}.yaml"
        try:
            made = api.trial(name, [folder], sheet=sheet, wishes=HOT, **lane).written
        except Refused as refused:
            assert "not known" in refused.what and "the script needs" in refused.what and machine == "knot"
            continue
        files, lines = view_of(folder, lane), made.text.splitlines()
        limit = {each.quantity: each.value for each in files.readings if each.value is not None}
        for move in made.segments:
            for axis, value in zip("xyz", move.end, strict=True):
                if value == value:
                    assert limit[f"axis.{axis}.min"] <= value <= limit[f"axis.{axis}.max"]
            if move.feed and move.start == move.end:
                assert move.speed <= limit.get("feeder.max_speed", 1e9)
                assert abs(move.feed) <= limit.get("feeder.max_feed_length", 1e9)
            if move.end[2] != move.start[2] and move.end[:2] == move.start[:2]:
                assert move.speed <= limit.get("axis.z.max_speed", 1e9)
        codes = [line.partition(" ;")[0] for line in lines if line and not line.startswith(";")]
        assert [line for line in codes if line == "M0"] == ["M0"] * len(made.stops)
        if machine == "bittern":
            tool = f"T{int(lane['feeder']) - 1}"
            assert codes.count(tool) == 1 and codes.index("G28") < codes.index(tool)
            assert all("E" not in line for line in codes[: codes.index(tool)])
        for at, line in enumerate(codes):
            if line == "M0" and name != "clearance":
                assert codes[at + 1] in ("M190 S60", "M109 S215")  # waited for again after each stop
        if name in ("cylinder", "lag", "retraction"):
            first = next(at for at, line in enumerate(codes) if line.startswith("G1") and "E" in line)
            assert {"M190 S60", "M109 S215"} <= set(codes[:first])
        assert sum(
            move.feed for move in made.segments if move.start == move.end and move.feed
        ) == pytest.approx(510 if name == "feed" else 0)


@pytest.mark.parametrize("machine", MACHINES)
def test_the_tower_covers_what_the_packet_says_to_try(
    migrated: Mapping[str, tuple[Path, Any]], machine: str
) -> None:
    folder, plan = migrated[machine]
    sheet = SAMPLES / "sheets" / f"{machine}.yaml"
    for change in plan.changes:
        if change.quantity != "retraction.length" or machine == "knot":
            continue
        kind, _, who = change.holder.partition(" ")
        lane = {kind: who} if kind in ("feeder", "filament") else {}
        made = api.trial("retraction", [folder], sheet=sheet, wishes=HOT, **lane).written
        pulls = [-move.feed for move in made.segments if move.feed < 0]
        assert max(pulls) >= change.high - 1e-6
