"""An owner of two feeders and an owner of six profiles go the whole way, there and back, without a names file."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from commandline import Runner

from cfgmigrate.dialects.grammar import data_folder
from cfgmigrate.packet.opening import read_packet

SAMPLES = data_folder("sample_configs")
#: what was measured after the swap, of which lane, and what that changes: 100 mm asked and 98 mm come at the value
#: that the swap wrote; the sixth storey from 0 in steps of 0.1 mm; a lag read off
MEASURED = {
    "bittern": (
        "of: {feeder: 2}\nmeasured:\n"
        "  feed: {at_steps_per_mm: 614.2 1/mm, asked: 100 mm, moved: [98 mm, 98 mm, 98 mm], reading_error: 0.2 mm}\n"
        "  retraction: {lowest: 0 mm, more_each: 0.1 mm, best_storey: 6, storeys: 9}\n",
        {("feeder.steps_per_mm", "feeder 2"): 614.2 / 0.98, ("retraction.length", "feeder 2"): 0.5},
    ),
    "lapwing": (
        "of: {filament: petg clear}\nmeasured:\n"
        "  retraction: {lowest: 0 mm, more_each: 0.1 mm, best_storey: 6, storeys: 9}\n",
        {("retraction.length", "filament petg clear"): 0.5},
    ),
}


@pytest.fixture
def sample(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    name: str = request.param
    shutil.copytree(SAMPLES / name, tmp_path / name)
    shutil.copyfile(SAMPLES / "sheets" / f"{name}.yaml", tmp_path / "swap.yaml")
    Path(tmp_path / "measured.yaml").write_text("sheet: swap.yaml\n" + MEASURED[name][0])
    monkeypatch.chdir(tmp_path)
    return name


def files(folder: str) -> dict[str, bytes]:
    found = (path for path in Path(folder).rglob("*") if path.is_file() and ".cfgmigrate" not in path.parts)
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in sorted(found)}


def plan(packet: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(Path(packet, "changes.json").read_bytes())
    return found


def done(cli: Runner, *arguments: str) -> str:
    said = cli(*arguments)
    assert said.status == 0, (arguments, said.err or said.out)
    return said.out


def reviewed_and_installed(cli: Runner, packet: str) -> None:
    text = f"packet {read_packet(Path(packet)).hash[:8]}\nFrom: C. Teal <c@hut.example>\nall: accepted\n"
    Path("mail.txt").write_text(text)
    done(cli, "review", packet, "--mail", "mail.txt")
    done(cli, "install", packet, "--require-review")


@pytest.mark.exhaustive
@pytest.mark.parametrize("sample", sorted(MEASURED), indirect=True)
def test_the_whole_way_there_and_back(cli: Runner, sample: str) -> None:
    before = files(sample)
    surveyed = json.loads(done(cli, "survey", sample, "--json"))
    holders = {reading["holder"] for reading in surveyed["readings"]}
    starter = done(cli, "sheet", sample)
    for holder in holders - {"machine"}:
        kind, _, name = holder.partition(" ")
        assert kind == "print" or f"  {name}:\n" in starter

    done(cli, "prepare", sample, "--sheet", "swap.yaml", "-o", "swap")
    done(cli, "verify", "swap")
    changed = {(change["quantity"], change["holder"]) for change in plan("swap")["changes"]}
    assert {holder for _, holder in changed} >= {each for each in holders if each.startswith(("f",))}
    reviewed_and_installed(cli, "swap")
    after = files(sample)
    edited = {edit["file"] for change in plan("swap")["changes"] for edit in change["edits"]}
    assert {name for name in after if after[name] != before[name]} == edited
    done(cli, "prepare", sample, "--sheet", "swap.yaml", "-o", "again")
    assert plan("again")["changes"] == []

    done(cli, "tune", sample, "--measured", "measured.yaml", "-o", "tuned")
    found = {(change["quantity"], change["holder"]): change for change in plan("tuned")["changes"]}
    wanted = MEASURED[sample][1]
    assert {key: change["unrounded"] for key, change in found.items()} == {
        key: pytest.approx(value) for key, value in wanted.items()
    }
    reviewed_and_installed(cli, "tuned")
    told = done(cli, "history", sample)
    assert all(holder in told for _, holder in wanted)
    assert all(holder in done(cli, "report", sample) for _, holder in wanted)

    done(cli, "revert", "tuned")
    assert files(sample) == after
    done(cli, "revert", "swap")
    assert files(sample) == before
