"""Whose a value is: each filament's and each feeder's own is worked out from its own, and once for one cause."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from commandline import Runner

OLD = {"pla": "5.2", "petg": "6.0", "tpu": "2.0"}
SWAP = """machine: Heron
old: {drive: tube-fed, tube: {length: 430 mm, bore: 2 mm, bend: 180 deg}}
new: {drive: on the carriage, tube: {length: 40 mm, bore: 2 mm, bend: 0 deg}, feed_per_turn: 5.1 mm}
filament: {material: PLA, diameter: 1.75 mm}
"""
FRAME = "[axis x]\nhighest spot = 235\n[axis y]\nhighest spot = 230\n[axis z]\nhighest spot = 210\n"
#: how a filament says its retraction, in each dialect that holds several in one file
ONE_FILE = {
    "filaments.conf": "[filament {0}]\nmaterial = {1}\nnozzle = 210\nretraction length = {2}\n",
    "filaments.txt": "filament.{0}.nozzle = 210\nfilament.{0}.retraction.length = {2}\n",
    "filaments.h": "#define FILAMENT_{1}_NOZZLE 210\n#define FILAMENT_{1}_RETRACTION_LENGTH {2}\n",
}
NESTED = '{{"filaments": {{{0}}}}}'
MEMBER = '"{0}": {{"material": "{1}", "nozzle": 210, "flow": 1, "retraction": {{"length": {2}}}}}'


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "config").mkdir()
    Path("swap.yaml").write_text(SWAP)
    Path("config/frame.conf").write_text(FRAME + "[feeder]\nturn length = 22.9 mm\n")
    return tmp_path


def filaments(file: str, names: tuple[str, ...] = tuple(OLD)) -> None:
    """The filaments' own settings, in one file."""
    one = MEMBER if file.endswith(".json") else ONE_FILE[file]
    each = [one.format(name, name.upper(), OLD[name]) for name in names]
    text = NESTED.format(", ".join(each)) if file.endswith(".json") else "".join(each)
    Path("config", file).write_text(text)


def prepared(cli: Runner, packet: str, *more: str) -> dict[str, Any]:
    said = cli("prepare", "config", "--sheet", "swap.yaml", "-o", packet, "--json", *more)
    assert said.status == 0, said.err
    assert cli("verify", packet).status == 0, cli("verify", packet).out
    found: dict[str, Any] = json.loads(said.out)
    return found


def retractions(plan: dict[str, Any]) -> dict[str, tuple[str, str]]:
    return {
        change["holder"].removeprefix("filament "): (change["old"]["text"], change["new"]["text"])
        for change in plan["changes"]
        if change["quantity"] == "retraction.length"
    }


def on_disk() -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in Path("config").iterdir() if path.is_file()}


def install(cli: Runner, packet: str) -> None:
    said = cli("install", packet, *_accepted(packet))
    assert said.status == 0, said.err


def _accepted(packet: str) -> list[str]:
    """What these sheets say nothing of is accepted by name, where that is asked."""
    lights = json.loads(Path(packet, "changes.json").read_bytes()).get("lights", [])
    names = [
        light["light"] if light["holder"] == "machine" else f"{light['light']} @ {light['holder']}"
        for light in lights
        if light["state"] == "unknown"
    ]
    return [part for name in names for part in ("--accept-unknown", name)]


FILES = pytest.mark.parametrize("file", [*ONE_FILE, "filaments.json"])


@FILES
def test_three_filaments_have_three_results_of_their_own(cli: Runner, desk: Path, file: str) -> None:
    filaments(file)
    before = on_disk()
    plan = prepared(cli, "packet")
    found = retractions(plan)
    assert {name: old for name, (old, _) in found.items()} == OLD
    new = {name: float(text) for name, (_, text) in found.items()}
    assert len(set(new.values())) == 3 and all(0.05 < value < 2 for value in new.values())
    # each moved by its own material's give: a soft filament takes more of what it had than a stiff one
    assert new["petg"] / 6.0 != pytest.approx(new["tpu"] / 2.0, rel=0.05)
    install(cli, "packet")
    assert retractions(prepared(cli, "again")) == {}
    assert cli("revert", "packet").status == 0
    assert on_disk() == before


@FILES
def test_one_filament_at_a_time_is_as_good_as_all_at_once(cli: Runner, desk: Path, file: str) -> None:
    filaments(file)
    at_once = retractions(prepared(cli, "at_once"))
    filaments(file, ("pla", "petg"))
    install_first = prepared(cli, "first")
    install(cli, "first")
    written = Path("config", file).read_text()
    rest = MEMBER if file.endswith(".json") else ONE_FILE[file]
    tpu = rest.format("tpu", "TPU", OLD["tpu"])
    Path("config", file).write_text(
        written.replace("}}}}", "}}, " + tpu + "}}") if file.endswith(".json") else written + tpu
    )
    later = retractions(prepared(cli, "later"))
    assert {**retractions(install_first), **later} == at_once
    assert list(later) == ["tpu"]
    install(cli, "later")
    assert retractions(prepared(cli, "last")) == {}


def test_three_materials_with_one_retraction_at_the_machine_get_one_value_and_a_word(
    cli: Runner, desk: Path
) -> None:
    text = "".join(f"[filament {name}]\nmaterial = {name.upper()}\nnozzle = 210\nflow = 1\n" for name in OLD)
    Path("config/filaments.conf").write_text(text + "[retraction]\nlength = 6.0\n")
    plan = prepared(cli, "packet")
    (change,) = [each for each in plan["changes"] if each["quantity"] == "retraction.length"]
    assert (change["holder"], change["id"]) == ("machine", "retraction.length")
    assert any("filament tpu" in said and "shares this one" in said for said in change["warnings"])
    Path("config/filaments.conf").write_text("[retraction]\nlength = 6.0\n")
    alone = prepared(cli, "alone")
    assert retractions(alone)["machine"][1] == change["new"]["text"], "by the sheet's filament"


TWO = """[feeder]
turn length = 22.9 mm
[feeder 2]
turn length = 22.9 mm
[retraction]
length = 6.0
[retraction 2]
length = 5.0
"""
SIDE = """    old: {drive: tube-fed, tube: {length: 430 mm, bore: 2 mm, bend: 180 deg}}
    new: {drive: on the carriage, tube: {length: 40 mm, bore: 2 mm, bend: 0 deg}, feed_per_turn: 5.1 mm}
"""
CARRIAGE = "machine: Heron\nfilament: {material: PLA, diameter: 1.75 mm}\ncarriage: {old_mass: 300 g, new_mass: 450 g}\n"
ACCEL = "[limits]\nmax acceleration = 3000\n"


def test_a_second_feeders_swap_leaves_the_first_ones_values_and_the_machines(cli: Runner, desk: Path) -> None:
    Path("config/frame.conf").write_text(FRAME + ACCEL + TWO)
    Path("swap.yaml").write_text(CARRIAGE + "feeders:\n  1:\n" + SIDE)
    first = prepared(cli, "left")
    moved = {change["id"]: change["new"]["text"] for change in first["changes"]}
    assert {"retraction.length @ feeder 1", "feeder.rotation_distance @ feeder 1"} <= moved.keys()
    assert not any(name.endswith("feeder 2") for name in moved)
    install(cli, "left")

    Path("swap.yaml").write_text(CARRIAGE + "feeders:\n  1:\n" + SIDE + "  2: {same_as: 1}\n")
    second = prepared(cli, "right")
    ids = {change["id"]: (change["old"]["text"], change["new"]["text"]) for change in second["changes"]}
    assert ids.keys() == {"retraction.length @ feeder 2", "feeder.rotation_distance @ feeder 2"}
    assert ids["retraction.length @ feeder 2"][0] == "5.0"
    install(cli, "right")
    assert prepared(cli, "again")["changes"] == []


def test_a_value_that_serves_a_swapped_and_another_feeder_is_left_to_a_person(
    cli: Runner, desk: Path
) -> None:
    Path("config/frame.conf").write_text(FRAME + TWO.replace("[retraction 2]\nlength = 5.0\n", ""))
    Path("swap.yaml").write_text(CARRIAGE + "feeders:\n  1:\n" + SIDE)
    plan = prepared(cli, "packet")
    assert not any(change["quantity"] == "retraction.length" for change in plan["changes"])
    (item,) = [each for each in plan["by_hand"] if each["rule"] == "retraction.length"]
    assert "give feeder 1 a retraction length of its own" in item["what"]


def test_no_two_changes_want_the_same_bytes(cli: Runner, desk: Path) -> None:
    filaments("filaments.conf")
    plan = prepared(cli, "packet")
    spans = [(edit["file"], edit["start"]) for change in plan["changes"] for edit in change["edits"]]
    assert len(spans) == len(set(spans))
    ids = [change["id"] for change in plan["changes"]]
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize(
    ("name", "back"),
    [("retraction.length @ filament petg", {"petg"}), ("retraction.length", {"pla", "petg", "tpu"})],
)
def test_a_name_on_the_command_line_means_one_holder_or_all(
    cli: Runner, desk: Path, name: str, back: set[str]
) -> None:
    filaments("filaments.conf")
    before = prepared(cli, "packet")
    install(cli, "packet")
    said = cli("revert", "packet", "--only", name, "--json")
    assert said.status == 0, said.err
    restored = {item["holder"].removeprefix("filament ") for item in json.loads(said.out)["restored"]}
    assert restored == back
    assert retractions(prepared(cli, "again")).keys() == back
    assert retractions(before).keys() == set(OLD)


def test_a_review_holds_back_one_filaments_value_and_lets_the_others_in(
    cli: Runner, desk: Path, record: Callable[[dict[str, Any], str], Path]
) -> None:
    filaments("filaments.conf")
    plan = prepared(cli, "packet")
    held = "retraction.length @ filament tpu"
    assert cli("review", "packet", "--record", record(plan, held)).status == 0
    accepted = _accepted("packet")
    assert cli("install", "packet", "--require-review", *accepted).status == 3, "what is held back stays old"
    accepted += ["--accept-unknown", "retraction @ filament tpu"]
    said = cli("install", "packet", "--require-review", "--json", *accepted)
    assert said.status == 0, said.err
    assert held not in json.loads(said.out)["installed"]
    assert [each["id"] for each in json.loads(said.out)["held"]] == [held]
    rest = prepared(cli, "rest")
    assert [change["id"] for change in rest["changes"]] == [held]
    assert retractions(rest)["tpu"] == retractions(plan)["tpu"]
    # the packet holds the files that the rest was worked out from: those before the first part
    assert Path("rest/old/frame.conf").read_bytes() == Path("packet/before/frame.conf").read_bytes()
    assert Path("rest/old/filaments.conf").read_bytes() == Path("packet/before/filaments.conf").read_bytes()


@pytest.fixture
def record(tmp_path: Path) -> Callable[[dict[str, Any], str], Path]:
    def write(plan: dict[str, Any], held: str) -> Path:
        index = json.loads(Path("packet/changes.json").read_bytes())
        lines = [f"format: 1\npacket: {index['hash']}\nreviewer: B. Redshank\ntime: t\nverdicts:"]
        for item in (*index["changes"], *index["by_hand"]):
            verdict = "held" if item["id"] == held else "accepted"
            lines.append(f"  - {{item: {json.dumps(item['id'])}, verdict: {verdict}, note: ''}}")
        path = tmp_path / "record.yaml"
        path.write_text("\n".join(lines) + "\n")
        return path

    return write


TWO_FEEDERS = "[feeder]\nturn length = 22.9 mm\n[feeder 2]\nturn length = 23.4 mm\n"


def test_a_sheet_calls_feeders_by_the_names_of_the_site_file(cli: Runner, desk: Path) -> None:
    Path("config/frame.conf").write_text(FRAME + TWO_FEEDERS)
    Path("config/cfgmigrate.yaml").write_text("site: 1\nfeeders: {1: {name: left}, 2: {name: right}}\n")
    Path("swap.yaml").write_text(
        "feeders:\n  right:\n    old: {drive: tube-fed}\n"
        "    new: {drive: on the carriage, feed_per_turn: 5.1 mm}\nfilament: {material: PLA}\n"
    )
    plan = prepared(cli, "packet")
    moved = {(each["quantity"], each["holder"]) for each in plan["changes"]}
    assert ("feeder.rotation_distance", "feeder 2") in moved
    assert {holder for _, holder in moved} == {"feeder 2"}


def test_a_feeder_that_nobody_named_is_an_error_with_its_place(cli: Runner, desk: Path) -> None:
    Path("swap.yaml").write_text("feeders:\n  middle: {new: {feed_per_turn: 5.1 mm}}\n")
    said = cli("prepare", "config", "--sheet", "swap.yaml", "-o", "packet")
    assert said.status == 2
    assert "swap.yaml:2:3" in said.err
    assert not Path("packet").exists()


def test_profiles_in_files_of_their_own_are_named_by_the_site_file(cli: Runner, desk: Path) -> None:
    Path("config/spools").mkdir()
    for name, length in OLD.items():
        Path(f"config/spools/{name}.conf").write_text(
            f"[nozzle]\ntemperature = 210\n[retraction]\nlength = {length} mm\n[flow]\nrate = 98 %\n"
        )
    lines = "".join(
        f"  spools/{name}.conf: {{filament: {name} of the hut, material: {name.upper()}}}\n" for name in OLD
    )
    Path("config/cfgmigrate.yaml").write_text(f"site: 1\nprofiles:\n{lines}")
    found = retractions(prepared(cli, "packet"))
    assert {name.removesuffix(" of the hut"): old for name, (old, _) in found.items()} == OLD
    assert len({new for _, new in found.values()}) > 1


@pytest.mark.parametrize(("known_as", "feeder"), [("T1", 1), ("T0", 2)])
def test_a_1_alone_is_the_feeder_that_the_site_file_says(
    cli: Runner, desk: Path, known_as: str, feeder: int
) -> None:
    Path("config/frame.conf").write_text(
        FRAME + "[tool 1 retraction]\nlength = 5.2 mm\n[feeder]\nmicrosteps = 16\n"
    )
    Path("config/cfgmigrate.yaml").write_text(f"site: 1\nfeeders: {{1: {{known_as: [{known_as}]}}}}\n")
    said = json.loads(cli("survey", "config", "--json").out)
    (found,) = (each for each in said["readings"] if each["quantity"] == "retraction.length")
    assert found["holder"] == ("machine" if feeder == 1 else "feeder 2")
