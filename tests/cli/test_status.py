"""A machine's status says what is in force, what is open and what is next; ticks are part of the history."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from commandline import Runner

from cfgmigrate import api
from cfgmigrate.packet.opening import read_packet

SAMPLES = Path(__file__).parents[2] / "sample_configs"


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    shutil.copytree(SAMPLES / "plover", tmp_path / "plover")
    shutil.copy(SAMPLES / "sheets" / "plover.yaml", tmp_path / "plover.yaml")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def installed(desk: Path) -> Path:
    api.prepare("plover", "plover.yaml", out="packet")
    api.install("packet")
    return desk


def told(cli: Runner, *more: str) -> dict[str, Any]:
    said = cli("status", "plover", "--json", *more)
    found: dict[str, Any] = json.loads(said.out)
    return found


def test_where_nothing_was_done_the_next_step_is_to_be_asked(cli: Runner, desk: Path) -> None:
    found = told(cli)
    assert found["in_force"] == [] and found["next"] == "cfgmigrate sheet plover --ask -o swap.yaml"


def test_with_a_sheet_the_lights_are_those_of_the_sheet(cli: Runner, desk: Path) -> None:
    found = told(cli, "--sheet", "plover.yaml")
    assert {light["state"] for light in found["lights"]} <= {"set", "by hand", "unaffected"}
    becoming = [light["why"] for light in found["lights"] if " → " in light["why"]]
    assert becoming and all(why.startswith("not installed: ") for why in becoming)
    assert (
        "Lights, once what the sheet asks for is installed"
        in cli("status", "plover", "--sheet", "plover.yaml").out
    )
    assert found["next"] == "cfgmigrate prepare plover --sheet plover.yaml -o packet" and found["surer"]


def test_what_is_in_force_fits_one_screen(cli: Runner, installed: Path) -> None:
    found, shown = told(cli), cli("status", "plover").out.splitlines()
    assert [entry["kind"] for entry in found["in_force"]] == ["install"]
    assert found["lights"] and found["estimates"] and not any(item["done"] for item in found["by_hand"])
    assert shown[-1] == "Next: cfgmigrate status plover --done 1"
    assert len(shown) <= 45 and all(len(line) <= 80 for line in shown[:-1])


def test_what_was_ticked_is_kept_and_is_to_be_undone_once_the_packet_is_taken_back(
    cli: Runner, installed: Path
) -> None:
    assert cli("status", "plover", "--done", "2").status == 0
    (item,) = (item for item in told(cli)["by_hand"] if item["done"])
    assert item["number"] == 2 and not item["undo"] and api.history("plover").whole
    assert cli("status", "plover", "--done", item["id"]).status == 0
    assert len(api.history("plover")) == 2, "what is ticked is not ticked again"
    assert "Done by hand" in api.report("plover")
    assert item["what"] in " ".join(cli("history", "plover").out.split())
    api.revert("packet")
    found = told(cli)
    assert [each["what"] for each in found["by_hand"]] == [item["what"]] and found["by_hand"][0]["undo"]
    assert found["next"] == "cfgmigrate status plover --done 1"
    assert cli("status", "plover", "--done", "1").out.startswith("Undone")
    assert told(cli)["by_hand"] == []


def test_a_tick_does_not_stand_in_the_way_back(cli: Runner, installed: Path) -> None:
    old = {path.name: path.read_bytes() for path in (SAMPLES / "plover").iterdir()}
    cli("status", "plover", "--done", "1")
    report = api.revert_to("plover", "start")
    assert report.by_hand
    assert {path.name: path.read_bytes() for path in Path("plover").iterdir() if path.is_file()} == old


def test_an_item_that_there_is_not_is_told_with_those_that_there_are(cli: Runner, installed: Path) -> None:
    said = cli("status", "plover", "--done", "paint it")
    assert said.status == 2 and "paint it" in said.err and "1 " in said.err
    assert len(api.history("plover")) == 1


def test_an_estimate_that_the_file_has_in_another_unit_is_told_in_the_unit_that_stands_beside_it(
    cli: Runner, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("board").mkdir()
    Path("board/feeder.h").write_text("#define FEEDER_LAG_MS 690\n#define RETRACTION_MM 6.2\n")
    Path("swap.yaml").write_text(
        "machine: Heron\nold: {drive: tube-fed, tube: {length: 610 mm, bore: 2 mm}}\n"
        "new: {drive: on the carriage, path_length: 64 mm}\nfilament: {material: PLA, diameter: 1.75 mm}\n"
    )
    plan = json.loads(cli("prepare", "board", "--sheet", "swap.yaml", "-o", "packet", "--json").out)
    lag = next(each for each in plan["changes"] if each["quantity"] == "lag.coefficient")
    assert float(lag["new"]["text"]) == pytest.approx(1000 * lag["new"]["value"])
    open_now = [each["light"] for each in plan["lights"] if each["state"] == "unknown"]
    accepted = [part for name in open_now for part in ("--accept-unknown", name)]
    assert cli("install", "packet", *accepted).status == 0
    found = json.loads(cli("status", "board", "--json").out)["estimates"]
    told_now = next(each for each in found if each["label"] == lag["label"])
    assert told_now["unit"] == "s" and float(told_now["new"]) == pytest.approx(lag["new"]["value"])
    assert f"{lag['new']['text']} s" not in cli("status", "board").out


def written(folder: Path, edit: bool) -> str:
    """The name of the first change of the packet; its value edited since, if so."""
    change = next(each for each in read_packet(folder / "packet").plan.changes if len(each.edits) == 1)
    place = folder / "plover" / change.edits[0].file
    if edit:
        lines = place.read_text().split("\n")
        at = change.edits[0].line - 1
        lines[at] = lines[at].replace(change.edits[0].new, f"{change.edits[0].new}1", 1)
        place.write_text("\n".join(lines))
    return change.id


def test_what_was_taken_back_but_for_a_number_of_one_s_own_is_not_in_force(
    cli: Runner, installed: Path
) -> None:
    api.revert("packet", keep=[written(installed, edit=True)])
    found = told(cli)
    assert found["in_force"] == [] and found["estimates"] == [] and found["by_hand"] == []


def test_of_what_was_taken_back_in_part_only_the_rest_counts(cli: Runner, installed: Path) -> None:
    whole = told(cli)
    kept = written(installed, edit=False)
    api.revert("packet", keep=[kept])
    found = told(cli)
    assert [entry["values"] for entry in found["in_force"]] == [1] and whole["in_force"][0]["values"] > 1
    assert len(found["estimates"]) <= 1
    assert not any(" → " in light["why"] and "not installed" not in light["why"] for light in found["lights"])


def test_several_are_ticked_at_once_by_the_numbers_of_one_list(cli: Runner, installed: Path) -> None:
    before = {item["number"]: item["id"] for item in told(cli)["by_hand"]}
    assert cli("status", "plover", "--done", "1, 3").out.count("Done: ") == 2
    assert {item["id"] for item in told(cli)["by_hand"] if item["done"]} == {before[1], before[3]}


def test_a_filament_whose_retraction_is_switched_off_stands_in_nobodys_way(
    cli: Runner, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Found in a made-up folder: how much a retraction of 0 changes is a division by zero."""
    monkeypatch.chdir(tmp_path)
    folder = tmp_path / "cellar"
    folder.mkdir()
    (folder / "machine.txt").write_text(
        "[filament drive]\nsteps one mm = 548.7\npull back = 0.42\npull back pace = 40\nspeed top = 46\n"
        "full steps = 200\nteeth motor = 11\nteeth hob = 48\nsubsteps = 16\n"
    )
    (folder / "soft.yaml").write_text("material: TPU\nretraction:\n  length: 0\n  speed: 20\n")
    (folder / "cfgmigrate.yaml").write_text(
        "site: 1\nroles: {soft.yaml: profile}\ndialects: {soft.yaml: nested}\n"
    )
    (tmp_path / "swap.yaml").write_text(
        "old:\n  drive: tube-fed\n  path_length: 610 mm\n  run_current: 1.2 A\n"
        '  drive_gear: {effective_diameter: 11 mm, gear_ratio: "1:1"}\n'
        "new:\n  drive: on the carriage\n  path_length: 62 mm\n"
        '  drive_gear: {effective_diameter: 8.1 mm, gear_ratio: "48:11"}\n'
        "  motor: {rated_current: 1.0 A, step_angle: 1.8 deg}\n"
    )
    (tmp_path / "measured.yaml").write_text(
        "sheet: swap.yaml\nmeasured:\n  feed:\n    at_steps_per_mm: 548.7 1/mm\n    asked: 100 mm\n"
        "    moved: [98.7 mm, 98.9 mm, 98.8 mm]\n    reading_error: 0.2 mm\n"
    )
    assert cli("status", "cellar", "--sheet", "swap.yaml").status == 0
    assert cli("tune", "cellar", "--measured", "measured.yaml", "-o", "packet").status == 0


def test_what_a_names_file_explained_is_read_so_afterwards_too(
    cli: Runner, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A line that the names file calls nothing is not taken for the installed value, which another line holds."""
    monkeypatch.chdir(tmp_path)
    Path("rig").mkdir()
    Path("rig/rig.txt").write_text(
        "[tug]\nretraction length = 5.8 mm\n\n[old heap]\nretraction length = 5.4 mm\n\n[reach]\nx max = 220 mm\n"
    )
    Path("names.yaml").write_text('"[old heap] retraction length": ignore\n')
    Path("swap.yaml").write_text(
        "old:\n  drive: tube-fed\n  tube: {length: 410 mm, bore: 1.9 mm, bend: 170 deg}\n"
        "new:\n  drive: on the carriage\n  tube: {length: 38 mm, bore: 1.9 mm, bend: 20 deg}\n"
        "filament: {material: PLA, diameter: 1.75 mm}\n"
    )
    packet = api.prepare("rig", "swap.yaml", out="packet", names="names.yaml")
    assert "retraction.length" in {change.quantity for change in packet.plan.changes}
    unknown = [light.name for light in packet.plan.lights if light.state == "unknown"]
    assert api.install("packet", accept_unknown=unknown, accept_unproven=True).written
    found: dict[str, Any] = json.loads(cli("status", "rig", "--json").out)
    assert not found["changed"]
    assert {each["light"]: each["state"] for each in found["lights"]}["retraction"] == "set"
