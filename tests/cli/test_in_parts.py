"""A swap that is carried out in parts: what a review held back is prepared again, for the old machine.

Everything goes through the command line and real files: prepare, review, install what was accepted, prepare
again, install the rest, and back.
"""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from commandline import Runner

from cfgmigrate.dialects.grammar import data_folder
from cfgmigrate.packet.opening import read_packet
from cfgmigrate.plan.lights_left import after_review, unknown

SAMPLES = data_folder("sample_configs")
MACHINES = sorted(path.stem for path in (SAMPLES / "sheets").glob("*.yaml"))
Record = Callable[[str, set[str]], None]


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("in parts")


@pytest.fixture
def desk(place: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """One empty folder for all tests in turn: a packet knows the place that it was made for."""
    folder = place / "desk"
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    monkeypatch.chdir(folder)
    return folder


def lay_out(machine: str) -> None:
    shutil.copytree(SAMPLES / machine, "config")
    shutil.copyfile(SAMPLES / "sheets" / f"{machine}.yaml", "swap.yaml")


def on_disk() -> dict[str, bytes]:
    found = (path for path in sorted(Path("config").rglob("*")) if path.is_file())
    own = (path for path in found if ".cfgmigrate" not in path.parts)
    return {path.relative_to("config").as_posix(): path.read_bytes() for path in own}


def first(cli: Runner, desk: Path, machine: str) -> dict[str, Any]:
    """The machine laid out and its packet prepared: once, and copied for each further test."""
    kept = desk.parent / machine
    if not kept.is_dir():
        lay_out(machine)
        said = prepare(cli, "packet")
        shutil.copytree(desk, kept)
        kept.with_suffix(".json").write_text(json.dumps(said))
    else:
        shutil.copytree(kept, desk, dirs_exist_ok=True)
    found: dict[str, Any] = json.loads(kept.with_suffix(".json").read_text())
    return found


def prepare(cli: Runner, packet: str, *more: str) -> dict[str, Any]:
    said = cli("prepare", "config", "--sheet", "swap.yaml", "-o", packet, "--json", *more)
    assert (said.status, said.err) == (0, ""), said.err
    assert cli("verify", packet).status == 0
    found: dict[str, Any] = json.loads(said.out)
    return found


def review(cli: Runner, packet: str, held: set[str]) -> None:
    """Another person's record, as the page saves it."""
    opened = read_packet(Path(packet))
    lines = [
        f"format: 1\npacket: {opened.hash}\nreviewer: B. Redshank\ntime: '2031-05-04T10:11:12Z'\nverdicts:"
    ]
    for change in opened.plan.changes:
        verdict = "held" if change.id in held else "accepted"
        lines.append(f"  - {{item: {json.dumps(change.id)}, verdict: {verdict}, note: ''}}")
    Path("record.yaml").write_text("\n".join(lines) + "\n" if opened.plan.changes else lines[0] + " []\n")
    said = cli("review", packet, "--record", "record.yaml")
    assert said.status == 0, said.err


def taken_on(packet: str, held: set[str]) -> list[str]:
    """What a person says who installs without the held values: each light that stays unknown then, by its name."""
    found = after_review(read_packet(Path(packet)).plan.lights, held)
    return [word for light in unknown(found) for word in ("--accept-unknown", light.name)]


def install_a_part(cli: Runner, packet: str, held: set[str]) -> None:
    review(cli, packet, held)
    lights = taken_on(packet, held)
    if lights and not held >= {change.id for change in read_packet(Path(packet)).plan.changes}:
        before, refused = on_disk(), cli("install", packet, "--require-review")
        assert refused.status == 3 and lights[1] in refused.err and on_disk() == before
    said = cli("install", packet, "--require-review", *lights)
    assert said.status == 0, said.err
    assert all(name in said.out for name in held)


def texts(plan: dict[str, Any]) -> dict[str, list[tuple[str, str]]]:
    found: dict[str, list[tuple[str, str]]] = {}
    for change in plan["changes"]:
        found.setdefault(change["id"], []).extend((edit["old"], edit["new"]) for edit in change["edits"])
    return found


def reason(plan: dict[str, Any], name: str) -> str:
    return next(str(item["why"]) for item in plan["left_alone"] if item["id"] == name)


def two_to_hold(plan: dict[str, Any]) -> set[str]:
    """A value that is scaled from the files' own one, which a second look at migrated files would leave or
    scale again, and another one; both of which nothing else is worked out from."""
    names = [change["id"] for change in plan["changes"]]
    used = {name for change in plan["changes"] for name in change["depends"]}
    free = [name for name in names if name not in used]
    scaled = next((name for name in free if name in {"retraction.length", "lag.coefficient"}), free[0])
    return {scaled, next(name for name in reversed(free) if name != scaled)}


@pytest.mark.parametrize("machine", MACHINES[::3])
def test_what_was_held_back_is_prepared_for_the_old_machine_and_all_of_it_can_be_taken_back(
    cli: Runner, desk: Path, machine: str
) -> None:
    whole = first(cli, desk, machine)
    original = on_disk()
    held = two_to_hold(whole)
    install_a_part(cli, "packet", held)
    part = on_disk()

    rest = prepare(cli, "rest")
    assert texts(rest) == {name: found for name, found in texts(whole).items() if name in held}
    assert on_disk() == part, "preparing changes nothing"
    for name in texts(whole).keys() - held:
        assert reason(rest, name).startswith(f"installed already by packet {whole['hash'][:12]} (entry 1")
    review(cli, "rest", set())
    assert cli("install", "rest", "--require-review").status == 0

    again = prepare(cli, "again")
    assert again["changes"] == []
    assert {item["id"] for item in again["left_alone"]} >= texts(whole).keys()
    assert [doubt["why"] for doubt in again["doubts"]] == [doubt["why"] for doubt in rest["doubts"]]

    assert cli("revert", "rest").status == 0
    assert on_disk() == part
    assert cli("install", "rest").status == 0
    assert cli("revert", "--to", "start", "config").status == 0
    assert on_disk() == original


@pytest.mark.parametrize("machine", MACHINES[1::2])
def test_installed_at_once_or_in_two_parts_the_files_are_the_same(
    cli: Runner, desk: Path, machine: str
) -> None:
    whole = first(cli, desk, machine)
    after = {path: bytes(data) for path, data in read_packet(desk / "packet").after.items()}
    install_a_part(cli, "packet", two_to_hold(whole))
    prepare(cli, "rest")
    assert cli("install", "rest").status == 0
    assert {name: data for name, data in on_disk().items() if name in after} == after


def test_edits_made_in_between_are_kept_and_move_the_rest_along(cli: Runner, desk: Path) -> None:
    held = {"retraction.length", "script.load.e"}
    ((_, lag),) = texts(first(cli, desk, "dunlin"))["lag.coefficient"]
    install_a_part(cli, "packet", held)
    feed = Path("config/feed.txt")
    data = feed.read_bytes()
    line = next(line for line in data.splitlines(keepends=True) if lag.encode() in line)
    data = b"# nets mended in May\n" + data.replace(line, line.replace(lag.encode(), lag.encode() + b"5"))
    feed.write_bytes(data)

    rest = prepare(cli, "rest")
    assert texts(rest).keys() == held
    said = f"as '{lag}', and changed since: '{lag}5' stands at feed.txt:31"
    assert said in reason(rest, "lag.coefficient")
    assert cli("install", "rest").status == 0
    assert feed.read_bytes() == re.sub(rb"\b6\.2(?=\b.*\n)", b"0.74", data, count=1)


def test_a_held_value_that_was_settled_by_hand_is_not_scaled_again(cli: Runner, desk: Path) -> None:
    first(cli, desk, "dunlin")
    install_a_part(cli, "packet", {"retraction.length", "script.load.e"})
    feed = Path("config/feed.txt")
    text = feed.read_bytes()
    assert text.count(b"6.2") == 1
    feed.write_bytes(text.replace(b"6.2", b"0.7"))
    rest = prepare(cli, "rest")
    assert texts(rest).keys() == {"script.load.e"}
    assert "changed since: '0.7' stands at feed.txt:32, and is kept" in reason(rest, "retraction.length")


def test_after_tuning_the_same_sheet_leaves_what_was_measured(cli: Runner, desk: Path) -> None:
    first(cli, desk, "dunlin")
    assert cli("install", "packet").status == 0
    Path("measured.yaml").write_text(
        "measured:\n  retraction: {lowest: 0.2 mm, more_each: 0.1 mm, best_storey: 3, storeys: 8}\n"
    )
    said = cli("tune", "config", "--measured", "measured.yaml", "--sheet", "swap.yaml", "-o", "tuned")
    assert said.status == 0, said.err
    assert cli("install", "tuned").status == 0
    again = prepare(cli, "again")
    assert again["changes"] == []
    assert "as '0.74', and changed since: '0.4" in reason(again, "retraction.length")


def test_a_part_that_was_taken_back_is_prepared_as_at_first(cli: Runner, desk: Path) -> None:
    at_first = first(cli, desk, "dunlin")
    install_a_part(cli, "packet", two_to_hold(at_first))
    assert cli("revert", "packet").status == 0
    again = prepare(cli, "again")
    assert again["hash"] == at_first["hash"]


def test_one_value_that_was_taken_back_belongs_to_the_rest(cli: Runner, desk: Path) -> None:
    whole = first(cli, desk, "dunlin")
    install_a_part(cli, "packet", {"retraction.length"})
    assert cli("revert", "packet", "--only", "lag.coefficient").status == 0
    rest = prepare(cli, "rest")
    assert texts(rest) == {name: texts(whole)[name] for name in ("lag.coefficient", "retraction.length")}


def test_a_mended_sheet_is_another_one_until_it_is_said_to_be_the_same_swap(cli: Runner, desk: Path) -> None:
    """The reviewer held a value because the sheet was wrong: the tube is 60 mm, not 46."""
    whole = first(cli, desk, "dunlin")
    install_a_part(cli, "packet", {"retraction.length", "script.load.e"})
    sheet = Path("swap.yaml")
    assert sheet.read_text().count("46 mm") == 1
    sheet.write_text(sheet.read_text().replace("46 mm", "60 mm"))

    alone = prepare(cli, "alone")
    said = next(doubt for doubt in alone["doubts"] if "held values back" in doubt["why"])
    assert "retraction.length, script.load.e" in said["why"] and "--rest" in said["remedy"]

    rest = prepare(cli, "rest", "--rest")
    assert not any("held values back" in doubt["why"] for doubt in rest["doubts"])
    ((old, new),) = texts(rest)["retraction.length"]
    ((_, at_first),) = texts(whole)["retraction.length"]
    assert old == "6.2" and new != at_first and 0.3 < float(new) < 1.2
    ((old, new),) = texts(rest)["feeder.max_feed_length"]
    assert (old, int(new)) == (texts(whole)["feeder.max_feed_length"][0][1], int(old) + 14)
    assert cli("install", "rest").status == 0
    again = prepare(cli, "again")
    assert again["changes"] == [], "the mended sheet is now the one whose parts are installed"


def test_comments_in_the_sheet_make_no_other_swap_of_it(cli: Runner, desk: Path) -> None:
    first(cli, desk, "dunlin")
    install_a_part(cli, "packet", {"retraction.length"})
    sheet = Path("swap.yaml")
    sheet.write_text("# measured again in May\n" + sheet.read_text())
    assert texts(prepare(cli, "rest")).keys() == {"retraction.length"}


def test_a_swap_after_another_one_starts_from_the_files_as_they_are(cli: Runner, desk: Path) -> None:
    lay_out("dunlin")
    original = on_disk()
    prepare(cli, "there")
    assert cli("install", "there").status == 0
    there = Path("swap.yaml").read_text()
    Path("swap.yaml").write_text(
        "machine: Dunlin\nold: {drive: on the carriage}\nnew: {drive: tube-fed, feed_per_turn: 34.56 mm}\n"
    )
    prepare(cli, "back")
    assert cli("install", "back").status == 3, "this sheet says nothing of current, retraction and height"
    assert cli("install", "back", *taken_on("back", set())).status == 0
    Path("swap.yaml").write_text(there)
    once_more = prepare(cli, "once more")
    assert "feeder.steps_per_mm" in texts(once_more), "the first install is no part of this"
    assert cli("revert", "--to", "start", "config").status == 0
    assert on_disk() == original


def test_the_rest_of_nothing_is_refused(cli: Runner, desk: Path) -> None:
    lay_out("dunlin")
    said = cli("prepare", "config", "--sheet", "swap.yaml", "-o", "packet", "--rest")
    assert said.status == 3 and "nothing of a swap was installed here" in said.err
    assert not Path("packet").exists()


def test_with_a_broken_history_nothing_is_guessed(cli: Runner, desk: Path) -> None:
    first(cli, desk, "dunlin")
    install_a_part(cli, "packet", {"retraction.length"})
    history = Path("config/.cfgmigrate/history.jsonl")
    history.write_bytes(history.read_bytes().replace(b'"install"', b'"instoll"', 1))
    said = cli("prepare", "config", "--sheet", "swap.yaml", "-o", "rest")
    assert said.status == 3 and "history is broken" in said.err
    assert not Path("rest").exists()


def test_all_outputs_say_that_a_part_is_installed(cli: Runner, desk: Path) -> None:
    whole = first(cli, desk, "dunlin")
    install_a_part(cli, "packet", {"retraction.length"})
    said = cli("prepare", "config", "--sheet", "swap.yaml", "-o", "rest")
    mark = f"packet {whole['hash'][:12]}"
    for text in (said.out, *(Path("rest", name).read_text() for name in ("changes.md", "changes.html"))):
        words = " ".join(text.split())
        assert "A part of this swap was installed before" in words and mark in words


def test_another_packet_is_replaced_where_that_is_said_and_it_is_not_installed(
    cli: Runner, desk: Path
) -> None:
    at_first = first(cli, desk, "dunlin")
    sheet = Path("swap.yaml")
    sheet.write_text(sheet.read_text().replace("46 mm", "60 mm"))
    arguments = ("prepare", "config", "--sheet", "swap.yaml", "-o", "packet")
    said = cli(*arguments)
    assert said.status == 3 and "say --replace if it was never installed" in said.err
    assert read_packet(Path("packet")).hash == at_first["hash"]

    second = prepare(cli, "packet", "--replace")
    assert second["hash"] != at_first["hash"]
    assert cli("install", "packet").status == 0
    sheet.write_text(sheet.read_text().replace("60 mm", "70 mm"))
    said = cli(*arguments, "--replace")
    assert said.status == 3 and "is installed, and is the way back" in said.err
    assert read_packet(Path("packet")).hash == second["hash"]
    assert cli("revert", "packet").status == 0
    assert prepare(cli, "packet", "--replace")["hash"] not in {at_first["hash"], second["hash"]}


def test_a_value_whose_line_or_file_was_moved_since_is_not_worked_out_a_second_time(
    cli: Runner, desk: Path
) -> None:
    """The offset goes to an included file, and another file gets another name: the values are the new ones."""
    whole = first(cli, desk, "wren")
    assert {"probe.offset_y", "script.load.e"} <= texts(whole).keys()
    assert cli("install", "packet").status == 0
    frame = Path("config/frame.conf").read_bytes()
    assert frame.count(b"offset y = 21.5\n") == 1
    Path("config/frame.conf").write_bytes(
        b"include = place.conf\n" + frame.replace(b"offset y = 21.5\n", b"")
    )
    Path("config/place.conf").write_bytes(b"[height feeler]\noffset y = 21.5\n")
    Path("config/routines.conf").rename("config/scripts.conf")
    again = prepare(cli, "again")
    assert texts(again) == {}
    assert "in frame.conf, and moved since: '21.5' stands at place.conf:2" in reason(again, "probe.offset_y")
