"""A packet from a stranger who knows how to seal it: whatever it says of itself, it can do nothing but its plan."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from msgspec.structs import replace

from cfgmigrate import api
from cfgmigrate.dialects import read
from cfgmigrate.dialects.decimal_commas import with_decimal_commas
from cfgmigrate.dialects.grammar import data_folder
from cfgmigrate.files.configuration import open_configuration
from cfgmigrate.files.site_reading import parse_site
from cfgmigrate.ground.findings import Refused
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.packet.folder import INDEX, hash_of_json, index_bytes, sha256
from cfgmigrate.packet.opening import read_packet
from cfgmigrate.packet.reread import difference, documents_of, roles_of, unfaithful
from cfgmigrate.plan.accepted import faults_of
from cfgmigrate.plan.basis import FileInput
from cfgmigrate.plan.edits import apply_edits, edits_by_file
from cfgmigrate.plan.model import Edit, NewValue, Plan

SAMPLES = data_folder("sample_configs")


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("made")
    shutil.copytree(SAMPLES / "dunlin", place / "dunlin")
    api.prepare(
        [place / "dunlin"], SAMPLES / "sheets" / "dunlin.yaml", out=place / "packet", preparer="A. Knot"
    )
    return place


@pytest.fixture
def desk(made: Path, tmp_path: Path) -> Path:
    shutil.copytree(made, tmp_path / "desk")
    return tmp_path / "desk"


def crafted(packet: Path, change: Callable[[dict[str, Any]], None]) -> None:
    """A stranger changes the plan, makes the files fit it, and seals everything anew."""
    data = json.loads((packet / INDEX).read_bytes())
    change(data)
    own = {"prepared_by", "contents", "hash", "seal"}
    plan = Plan.from_json({name: value for name, value in data.items() if name not in own})
    for path, edits in edits_by_file(plan.changes).items():
        (packet / "after" / path).write_bytes(apply_edits((packet / "before" / path).read_bytes(), edits))
    data["contents"] = {path: sha256((packet / path).read_bytes()) for path in data["contents"]}
    given = ("before/", "after/", "rules/", "sheet.yaml", "names.yaml", "site.yaml")
    planned = {name: value for name, value in data.items() if name not in {*own, "root"}}
    files = {path: digest for path, digest in data["contents"].items() if path.startswith(given)}
    data["hash"] = hash_of_json({"plan": planned, "files": files})
    data.pop("seal")
    (packet / INDEX).write_bytes(index_bytes({**data, "seal": hash_of_json(data)}))
    read_packet(packet)  # all its hashes hold


def edit_of(packet: Path, file: str, pattern: str, new: str) -> dict[str, Any]:
    """An edit of what the pattern's group holds in one of the packet's files."""
    data = (packet / "before" / file).read_bytes()
    found = re.search(pattern.encode(), data, re.MULTILINE)
    assert found is not None
    line = data.count(b"\n", 0, found.start(1)) + 1
    column = found.start(1) - data.rfind(b"\n", 0, found.start(1))
    start, end = found.span(1)
    return {
        "file": file, "line": line, "column": column, "start": start, "end": end,
        "old": found[1].decode(), "new": new,
    }  # fmt: skip


HARM = {
    "a protected value under another name": (
        ("body.txt", r"^nozzle.hottest=(\d+)", "999"),
        "hotend maximum temperature is protected",
    ),
    "a digit put before a protected value": (
        ("body.txt", r"^nozzle.hottest=()", "9"),
        "only a number may take the place of a number",
    ),
    "a line of its own behind a value": (
        ("body.txt", r"^x.reach.to=(\d+)", "200\nnozzle.hottest=500"),
        "only a number may take the place of a number",
    ),
    "words where a number stood": (("body.txt", r"^x.reach.to=(\d+)", "off"), "only a number"),
    "a key renamed to another": (("body.txt", r"^(x.reach.to)=", "1"), "only a number"),
    "two points in a number": (("body.txt", r"^x.reach.to=(\d+)", "7.7.5"), "only a number"),
    "a number beyond all numbers": (("body.txt", r"^x.reach.to=(\d+)", "1e400"), "only a number"),
    "a number without end": (("body.txt", r"^x.reach.to=(\d+)", "1" * 100_000), "only a number"),
    "one digit of a number": (("body.txt", r"^x.reach.to=2(0)4", "9"), "a part of something else"),
    "a truth that nobody knows": (("body.txt", r"^x.switch.opens.when.touched=(yes)", "no"), "."),
    "a number within a key": (("feed.txt", r"^feeder.full.steps +(2)00", "200\t#"), "only a number"),
}


@pytest.mark.parametrize(("edit", "said"), HARM.values(), ids=HARM.keys())
def test_an_edit_that_no_plan_may_have_is_refused_though_every_hash_holds(
    desk: Path, edit: tuple[str, str, str], said: str
) -> None:
    packet, config = desk / "packet", desk / "dunlin"
    before = {path.name: path.read_bytes() for path in config.iterdir()}
    crafted(packet, lambda data: data["changes"][0]["edits"].append(edit_of(packet, *edit)))
    with pytest.raises(Refused, match=said):
        api.install(packet, config)
    with pytest.raises(Refused, match=said):
        api.revert(packet, config)
    assert any(said in problem for problem in api.verify(packet))
    assert {path.name: path.read_bytes() for path in config.iterdir()} == before


@pytest.mark.parametrize("pattern", [r"M109 S(\d+)", r"M104 S(0)", r"G(28)", r"=M(83)", r"F(6000)"])
def test_in_a_script_only_what_a_move_goes_to_may_be_written(desk: Path, pattern: str) -> None:
    packet, config = desk / "packet", desk / "dunlin"
    said = "only what a move is to go to"
    edit = edit_of(packet, "routines.txt", pattern, "400")
    crafted(packet, lambda data: data["changes"][0]["edits"].append(edit))
    with pytest.raises(Refused, match=said):
        api.install(packet, config)


def test_what_a_packet_writes_otherwise_than_it_says_is_found(desk: Path) -> None:
    packet = desk / "packet"

    def lie(data: dict[str, Any]) -> None:
        data["changes"][0]["edits"][0]["new"] = "2199"

    crafted(packet, lie)
    assert any("differ in something else than the plan" in problem for problem in api.verify(packet))


@pytest.mark.parametrize("page", ["changes.html", "changes.md", "checklist.md"])
def test_a_page_that_is_not_the_plan_s_is_found_though_every_hash_holds(desk: Path, page: str) -> None:
    packet = desk / "packet"
    assert api.verify(packet) == ()
    (packet / page).write_text("<script>alert(1)</script>")
    crafted(packet, lambda data: None)
    (problem,) = api.verify(packet)
    assert problem.startswith(page)


def test_two_feeders_on_one_line_are_read_again_as_two(tmp_path: Path) -> None:
    text = (
        "#define FEEDER_COUNT 2\n/*                    X    Y    Z    F1     F2 */\n"
        "#define STEPS_EACH_MM ( 107, 107, 640, 139.6, 412.0 )\n"
        "#define MICROSTEPS    ( 16,  16,  16,  16,    16 )\n"
    )
    (tmp_path / "machine.h").write_text(text)
    (tmp_path / "sheet.yaml").write_text(
        "feeder: 1\nnew: {feed_per_turn: 23.0 mm, microsteps: 16, motor: {step_angle: 1.8 deg}}\n"
    )
    packet = api.prepare([tmp_path / "machine.h"], tmp_path / "sheet.yaml", out=tmp_path / "packet")
    (change,) = packet.plan.changes
    assert (change.old and change.old.text, change.new.text) == ("139.6", "139.13")
    assert not api.verify(tmp_path / "packet")


LINES = b"retract.length=5.4 mm\nretract.speed=45 mm/s\nlag.coefficient 0.55 s\n"


def machine_of(data: bytes) -> Machine:
    return recognise((read("flow.conf", data, "flat"),))


@pytest.mark.parametrize(
    ("old", "new", "same"),
    [
        (b"=5.4", b"=0.6", True),
        (b"=5.4", b"=0.6000000000001", True),
        (b"=5.4", b"=0.60000001", False),
        (b"=5.4", b"=0.7", False),
        (b"=5.4", b"=5.4", False),
        (b"=5.4 mm\nretract.speed=45", b"=0.6 mm\nretract.speed=46", False),
        (b"=5.4 mm\nretract.speed=45 mm/s\n", b"=0.6 mm\n", False),
        (b"=5.4 mm\n", b"=0.6 mm\nmax_acceleration x = 3000\nhighest x = 235 mm\n", False),
    ],
    ids=ascii,
)
def test_the_difference_is_the_plan_and_nothing_else(
    kit: SimpleNamespace, old: bytes, new: bytes, same: bool
) -> None:
    """As far as files write numbers, nine digits behind the point of the scientific notation."""
    files = {"flow.conf": LINES}
    change = kit.move(files, "retraction.length", "flow.conf", b"retract.length=<5.4>", "0.6")
    plan = kit.plan_for(files, [replace(change, new=NewValue(0.6, 0.0, "0.6"))])
    assert LINES.count(old) == 1
    said = difference(plan, machine_of(LINES), machine_of(LINES.replace(old, new)))
    assert (said == "") is same and "root[" not in said
    if new == b"=0.7":
        assert said == "retraction.length at flow.conf:1 is read as 0.7 and not as 0.6"


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("line", [0, 1, 2])
@pytest.mark.parametrize(("part", "whole"), [("204", True), ("20", False), ("04", False), ("0", False)])
def test_only_a_whole_number_may_be_written_wherever_its_line_stands(
    line: int, end: str, part: str, whole: bool
) -> None:
    """Also in the first line and in the last, which has no end."""
    names = ("a", "b", "c")
    data = end.join(f"{name}.reach={'204' if at == line else 71}" for at, name in enumerate(names)).encode()
    start = data.index(b"204") + "204".index(part)
    edit = Edit("body.txt", line + 1, 9, start, start + len(part), part, "7")
    faults = list(faults_of(edit, read("body.txt", data, "flat"), {}))
    assert (faults == []) is whole
    assert whole or "a part of something else" in faults[0]


@pytest.mark.parametrize(
    ("line", "script", "whole"),
    [
        (1, ("body.txt", 1), True),
        (2, ("body.txt", 1), False),
        (1, ("feed.txt", 1), False),
        (1, None, False),
    ],
    ids=["within a script", "in another line of the file", "as in a script of another file", "no script"],
)
def test_only_within_a_script_are_numbers_whole_that_stand_without_blanks(
    line: int, script: tuple[str, int] | None, whole: bool
) -> None:
    """Anywhere else `X204Y7` is one word, of which nobody knows what its parts are."""
    data = b"first=G1 X204Y7\nother=G1 X204Y7\n"
    values = {1: (6, 15), 2: (22, 31)}
    assert all(data[start:end] == b"G1 X204Y7" for start, end in values.values())
    start = data.index(b"204", values[line][0])
    edit = Edit("body.txt", line, start, start, start + 3, "204", "7")
    known = {(script[0], *values[script[1]]): "script"} if script else {}
    faults = list(faults_of(edit, read("body.txt", data, "flat"), known))
    assert any("a part of something else" in each for each in faults) is not whole


def test_a_role_that_the_site_file_says_is_one_that_was_said() -> None:
    site = parse_site(b"site: 1\nroles: {a.conf: in force}\n", "cfgmigrate.yaml")
    files = [FileInput(path, "", "flat", role="in force") for path in ("a.conf", "b.conf")]
    assert {path: each.said for path, each in roles_of(files, site).items()} == {
        "a.conf": True,
        "b.conf": False,
    }


def test_values_that_only_a_names_file_explains_are_read_again_by_it(tmp_path: Path) -> None:
    """So a packet that writes one of them otherwise than it says is found."""
    (tmp_path / "flow.conf").write_text("gruz=22.9\nquibble=7\n")
    (tmp_path / "names.yaml").write_text("gruz: {quantity: feeder.feed_per_turn, unit: mm}\n")
    (tmp_path / "sheet.yaml").write_text("new: {feed_per_turn: 4.15 mm}\n")
    made = api.prepare(
        [tmp_path / "flow.conf"],
        tmp_path / "sheet.yaml",
        out=tmp_path / "packet",
        names=tmp_path / "names.yaml",
    )
    assert [change.new.text for change in made.plan.changes] == ["4.15"]
    assert unfaithful(read_packet(tmp_path / "packet")) == []

    def lie(data: dict[str, Any]) -> None:
        data["changes"][0]["edits"][0]["new"] = "4.51"

    crafted(tmp_path / "packet", lie)
    assert len(unfaithful(read_packet(tmp_path / "packet"))) == 1


def test_a_packet_reads_a_console_s_listing_without_its_talk_as_the_folder_is_read(tmp_path: Path) -> None:
    """Read with its talk, more numbers may be kept by the board than were told, and a packet speaks against itself."""
    listing = b"> show stored\nlag 0.65\npull 6.2\n> show heat\n 5 s   tip 30.6 of 208\n10 s   tip 37.3 of 208\n> bye\n"
    site = b"site: 1\nroles:\n  stored.txt: saved values\ndialects:\n  stored.txt: flat\n"
    for path, data in (
        ("stored.txt", listing),
        ("cfgmigrate.yaml", site),
        ("feed.txt", b"feeder steps=97\n"),
    ):
        (tmp_path / path).write_bytes(data)
    found = {each.path: each for each in open_configuration([tmp_path]).documents}["stored.txt"]
    kept = [FileInput("stored.txt", sha256(listing), "flat", "saved values")]
    (again,) = documents_of(kept, {"stored.txt": listing}, parse_site(site, "site.yaml"))
    assert [each.name for each in again.settings] == [each.name for each in found.settings] == ["lag", "pull"]


@pytest.mark.parametrize(
    ("start", "end", "new", "why"),
    [
        (7, 10, "0,8", ""),
        (7, 10, "0.8", "a point"),
        (7, 8, "9", "a part of something else"),
        (9, 10, "9", "a part of something else"),
    ],
)
def test_of_a_number_with_a_comma_no_part_is_written_and_no_point(
    start: int, end: int, new: str, why: str
) -> None:
    data = b"pull = 5,2\n"
    document = with_decimal_commas(read("reel.txt", data, "flat"))
    said = [
        *faults_of(Edit("reel.txt", 1, start + 1, start, end, data[start:end].decode(), new), document, {})
    ]
    assert len(said) == bool(why) and why in "".join(said)


def test_a_word_in_a_value_that_only_the_site_file_explains_may_be_written_and_its_neighbours_may_not(
    tmp_path: Path,
) -> None:
    """What prepare wrote, verify and install refused."""
    folder = tmp_path / "crake"
    folder.mkdir()
    (folder / "kept.txt").write_text(
        "; speeds mm/min, accel mm/s2\nM10 X160.40 Y160.10 Z800.00 E487.90 ; steps per mm\n"
        "; -- lead of the feeder, ms\nM7233 K590\n; -- pull back: L mm, F mm/min\nM31 L5.60 F2700\n"
    )
    profile = (
        '{"title": "PLA", "filament_diameter": 1.75, "layer": 0.2, "retract": 5.6, "retract_speed": 45, "feed_lead": 0.58,\n'
        '  "begin": ["M7233 K580", "M7399 S31", "G28"]}\n'
    )
    site = (
        "site: 1\nroles: {kept.txt: in force, pla.json: profile}\n"
        "meanings: {feed_lead: {quantity: lag.coefficient, unit: s}}\n"
        "codes: {M7233.K: {quantity: lag.coefficient, unit: ms}}\n"
    )
    (folder / "pla.json").write_text(profile)
    (folder / "cfgmigrate.yaml").write_text(site)
    sheet = tmp_path / "sheet.yaml"
    sheet.write_text(
        "old: {drive: tube-fed, tube: {length: 620 mm}, path_length: 710 mm}\n"
        "new: {drive: on the carriage, tube: {length: 24 mm}, path_length: 60 mm}\nfilament: {material: PLA}\n"
    )
    packet = tmp_path / "packet"
    api.prepare([folder], sheet, out=packet, preparer="A. Knot")
    assert b"M7233 K580" not in (packet / "after" / "pla.json").read_bytes()
    assert unfaithful(read_packet(packet)) == []

    def further(data: dict[str, Any]) -> None:
        for change in data["changes"]:
            for edit in change["edits"]:
                if edit["file"] == "pla.json" and edit["old"] == "580":
                    start = profile.encode().index(b"31")
                    column = start - profile.encode().rindex(b"\n", 0, start)
                    edit.update(start=start, end=start + 2, old="31", new="99", column=column)

    crafted(packet, further)
    assert any(
        "may be written" in each or "something else" in each for each in unfaithful(read_packet(packet))
    )
