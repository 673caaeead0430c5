"""A packet stands alone, and one byte changed anywhere in it is found and named."""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from msgspec.structs import replace
from packetbench import members, seal_anew

from cfgmigrate.apply.install import install
from cfgmigrate.apply.revert import revert
from cfgmigrate.ground.findings import BadInput, Refused
from cfgmigrate.ground.paths import fault_of_path
from cfgmigrate.packet.binding import basis_of, older_digests
from cfgmigrate.packet.folder import INDEX, REVIEW, Contents, Packet, hash_of_json, index_bytes
from cfgmigrate.packet.opening import read_packet, verify_hashes
from cfgmigrate.packet.recompute import recompute
from cfgmigrate.packet.write import write_packet


def test_what_was_written_is_read_again(packet: Packet, kit: SimpleNamespace) -> None:
    again = read_packet(packet.folder)
    assert again == packet
    assert dict(again.before) == kit.FILES
    assert again.preparer == "A. Dunlin"
    assert verify_hashes(packet.folder) == ()


def test_what_is_written_just_now_is_held_against_its_bytes_and_not_against_what_says_of_itself_that_it_is_whole(
    packet: Packet,
) -> None:
    """Else whoever alters it in that moment and seals it anew would get another packet in under this one's name."""
    folder = packet.folder
    written = {name: (folder / name).read_bytes() for name in members(folder)}
    assert read_packet(folder, written) == packet
    for name in members(folder):
        if name == INDEX:
            index = json.loads(written[INDEX])
            (folder / INDEX).write_bytes(index_bytes({**index, "prepared_by": "B. Plover"}))
        else:
            (folder / name).write_bytes(written[name] + b"\n")
        seal_anew(folder)
        with pytest.raises(Refused, match=INDEX):
            read_packet(folder, written)
        (folder / INDEX).write_bytes(written[INDEX])
        if name != INDEX:
            with pytest.raises(Refused, match=name):
                read_packet(folder, written)
            (folder / name).write_bytes(written[name])
    assert read_packet(folder, written) == packet


def commands(folder: Path) -> list[Callable[[], object]]:
    return [
        lambda: read_packet(folder),
        lambda: install(folder),
        lambda: install(folder, require_review=True),
        lambda: revert(folder),
    ]


def test_one_byte_changed_in_any_file_makes_every_command_refuse_and_name_it(
    reviewed: Packet, config: Path, kit: SimpleNamespace
) -> None:
    folder = reviewed.folder
    for name in members(folder):
        whole = (folder / name).read_bytes()
        for place in sorted({0, len(whole) // 3, len(whole) // 2, len(whole) - 1}):
            changed = bytearray(whole)
            changed[place] ^= 0x01
            (folder / name).write_bytes(bytes(changed))
            assert name in {fault.file for fault in verify_hashes(folder)}, (name, place)
            for command in commands(folder):
                with pytest.raises(Refused, match=name):
                    command()
        (folder / name).write_bytes(whole)
    assert kit.on_disk(config) == kit.FILES
    assert verify_hashes(folder) == ()


@pytest.mark.exhaustive
def test_every_single_byte_of_the_index_and_the_review_counts(reviewed: Packet) -> None:
    for name in (INDEX, REVIEW):
        path = reviewed.folder / name
        whole = path.read_bytes()
        for place in range(0, len(whole), 7):
            for bit in (0x01, 0x20):
                changed = bytearray(whole)
                changed[place] ^= bit
                path.write_bytes(bytes(changed))
                assert verify_hashes(reviewed.folder), (name, place, bit)
        path.write_bytes(whole)


def test_a_file_missing_or_added_is_named(packet: Packet) -> None:
    (packet.folder / "rules" / "extra.yaml").write_bytes(b"")
    (packet.folder / "after" / "flow.conf").unlink()
    assert [fault.file for fault in verify_hashes(packet.folder)] == ["after/flow.conf", "rules/extra.yaml"]


def test_a_file_laid_beside_the_packets_own_does_no_harm(packet: Packet) -> None:
    (packet.folder / "my notes.txt").write_bytes(b"looked at it with the ringing group")
    assert verify_hashes(packet.folder) == ()


@pytest.mark.parametrize("kind", ["link to a file", "link to a folder", "pipe"])
def test_links_and_devices_in_a_packet_are_refused(packet: Packet, tmp_path: Path, kind: str) -> None:
    target = packet.folder / "after" / "flow.conf"
    if kind == "link to a folder":
        shutil.move(packet.folder / "after", tmp_path / "outside")
        (packet.folder / "after").symlink_to(tmp_path / "outside")
    elif kind == "link to a file":
        shutil.move(target, tmp_path / "outside")
        target.symlink_to(tmp_path / "outside")
    else:
        target.unlink()
        os.mkfifo(target)
    with pytest.raises(Refused, match="after"):
        install(packet.folder)


@pytest.mark.parametrize("place", ["before", "before/parts"])
def test_a_file_behind_a_linked_folder_is_not_even_read(packet: Packet, tmp_path: Path, place: str) -> None:
    shutil.move(packet.folder / place, tmp_path / "outside")
    (packet.folder / place).symlink_to(tmp_path / "outside")
    assert (place, "not an ordinary folder") in {
        (each.file, each.what) for each in verify_hashes(packet.folder)
    }


@pytest.mark.parametrize("group", ["findings", "by_hand"])
def test_a_packet_that_lacks_what_older_releases_did_not_write_is_checked_without_it(
    packet: Packet, group: str
) -> None:
    def leave_out(data: dict[str, Any]) -> None:
        del data[group]
        for change in data["changes"]:
            del change["rule"]
        with_hash(data)

    resealed(packet, leave_out)
    found = read_packet(packet.folder)
    assert not [each for each in recompute(found.index) if "worked out" in each]
    assert set(basis_of(found)) >= {f"change {change.id}" for change in found.plan.changes}
    assert set(older_digests(found)) <= set(basis_of(found))


def resealed(packet: Packet, change: Callable[[dict[str, Any]], None]) -> None:
    """Somebody edits changes.json and knows how to seal it again."""
    data = json.loads((packet.folder / INDEX).read_bytes())
    change(data)
    data.pop("seal")
    (packet.folder / INDEX).write_bytes(index_bytes({**data, "seal": hash_of_json(data)}))


HOSTILE = [
    "../outside.conf",
    "parts/../../outside.conf",
    "/etc/outside.conf",
    "C:/outside.conf",
    "C:outside.conf",
    "..\\outside.conf",
    "a//b",
    "./a",
    "a\nb",
    "a\x1b[2Jb",
    "a\x00b",
    ".cfgmigrate/history.jsonl",
    "",
    "..",
]


@pytest.mark.parametrize("path", HOSTILE, ids=ascii)
def test_a_path_that_leaves_the_root_is_refused_even_with_every_hash_right(
    packet: Packet, config: Path, kit: SimpleNamespace, path: str
) -> None:
    assert fault_of_path(path)

    def add(data: dict[str, Any]) -> None:
        data["contents"][path] = data["contents"]["before/flow.conf"]

    resealed(packet, add)
    for command in commands(packet.folder):
        with pytest.raises(Refused, match=INDEX):
            command()
    assert kit.on_disk(config) == kit.FILES


@pytest.mark.parametrize("path", ["../outside.conf", "/etc/passwd", "parts/../../x"])
def test_an_edit_of_a_file_outside_is_refused_even_with_every_hash_right(packet: Packet, path: str) -> None:
    def point_outside(data: dict[str, Any]) -> None:
        data["changes"][0]["edits"][0]["file"] = path

    resealed(packet, point_outside)
    with pytest.raises(Refused, match=r"changes\.json: a change to .*, which is not among the files"):
        install(packet.folder)


def with_hash(data: dict[str, Any]) -> None:
    """The content hash that this changes.json should have, by its definition."""
    own = {"root", "prepared_by", "contents", "hash", "seal"}
    planned = {name: value for name, value in data.items() if name not in own}
    folders = ("before/", "after/", "rules/", "sheet.yaml", "names.yaml")
    files = {path: digest for path, digest in data["contents"].items() if path.startswith(folders)}
    data["hash"] = hash_of_json({"plan": planned, "files": files})


@pytest.mark.parametrize("release", ["older", "newer"])
def test_a_packet_of_another_release_installs_and_reverts(
    packet: Packet, config: Path, kit: SimpleNamespace, release: str
) -> None:
    """Fields may be added to format 1: an older packet lacks some, and a newer one has more."""

    def rewrite(data: dict[str, Any]) -> None:
        if release == "older":
            for name in ("findings", "left_alone", "doubts", "by_hand", "swap"):
                del data[name]
            for change in data["changes"]:
                for name in ("says", "unrounded", "low", "high", "step", "notes", "depends", "warnings"):
                    del change[name]
                del change["derivation"]["contributions"]
        else:
            data["weather"] = "fair"
            for change in data["changes"]:
                change["mood"] = ["calm"]
                change["edits"][0]["why"] = "so"
                change["derivation"]["aside"] = {"a": 1}
        with_hash(data)

    resealed(packet, rewrite)
    install(packet.folder)
    assert kit.on_disk(config) == dict(packet.after)
    revert(packet.folder)
    assert kit.on_disk(config) == kit.FILES


def test_a_packet_without_its_sheet_is_refused_even_with_every_hash_right(packet: Packet) -> None:
    def leave_out(data: dict[str, Any]) -> None:
        del data["contents"]["sheet.yaml"]
        with_hash(data)

    resealed(packet, leave_out)
    for command in commands(packet.folder):
        with pytest.raises(Refused, match=r"changes\.json: sheet\.yaml is not among the files"):
            command()


def set_in(*path: str | int, value: object) -> Callable[[dict[str, Any]], None]:
    def change(data: dict[str, Any]) -> None:
        place: Any = data
        for step in path[:-1]:
            place = place[step]
        place[path[-1]] = value
        with_hash(data)

    return change


@pytest.mark.parametrize(
    "change",
    [
        set_in("root", value=7),
        set_in("machine", value=None),
        set_in("changes", value=None),
        set_in("changes", value=[1]),
        set_in("changes", 0, "quantity", value=["a"]),
        set_in("changes", 0, "depends", value=[[1]]),
        set_in("changes", 0, "edits", value=7),
        set_in("changes", 0, "edits", 0, "start", value="3"),
        set_in("changes", 0, "edits", 0, "start", value=-5),
        set_in("changes", 0, "edits", 0, "end", value=10**30),
        set_in("changes", 0, "edits", 0, "old", value="other"),
        set_in("changes", 0, "edits", 0, "new", value=None),
        set_in("changes", 0, "status", value="sure"),
        set_in("inputs", value=[]),
        set_in("inputs", "files", 0, "path", value=None),
        set_in("inputs", "files", 0, "sha256", value="0"),
        set_in("inputs", "files", value=[]),
    ],
)
def test_an_index_with_wrong_fields_is_refused_even_with_every_hash_right(
    packet: Packet, config: Path, kit: SimpleNamespace, change: Callable[[dict[str, Any]], None]
) -> None:
    resealed(packet, change)
    for command in commands(packet.folder):
        with pytest.raises(Refused, match=r"changes\.json|before/"):
            command()
    assert kit.on_disk(config) == kit.FILES


def test_an_after_that_the_plan_does_not_give_is_refused_even_with_every_hash_right(packet: Packet) -> None:
    (packet.folder / "after" / "flow.conf").write_bytes(b"hello\n")

    def agree(data: dict[str, Any]) -> None:
        from hashlib import sha256

        data["contents"]["after/flow.conf"] = sha256(b"hello\n").hexdigest()

    resealed(packet, agree)
    with pytest.raises(Refused, match=r"after/flow\.conf: not what the planned changes make"):
        install(packet.folder)


@pytest.mark.parametrize(
    "text",
    [
        b"",
        b"{",
        b"[]",
        b"null",
        b'{"format": 2}',
        b'{"format": 1}',
        b"[" * 100_000,
        b'{"format": 1, "contents": 7}',
        b"\xff\xfe",
        b'{"format": ' + b"9" * 5000 + b"}",
    ],
    ids=lambda text: ascii(text[:20]),
)
def test_an_index_that_is_no_index_is_refused_and_named(packet: Packet, text: bytes) -> None:
    (packet.folder / INDEX).write_bytes(text)
    with pytest.raises(Refused, match=INDEX):
        read_packet(packet.folder)


def test_no_packet_is_bad_input(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="no such folder") as nowhere:
        read_packet(tmp_path / "nowhere")
    assert "rename" not in nowhere.value.remedy, "nothing was laid aside there"
    with pytest.raises(BadInput, match="no packet"):
        read_packet(tmp_path)


MARKS = "\u202e\u2066\x7f\U000e0041"


def with_marks(packet: Packet) -> Packet:
    """The packet, for a machine whose name turns the reading direction round."""
    plan = replace(packet.plan, machine=f"Wren {MARKS} é\udc80")
    contents = Contents(plan, packet.before, packet.after, packet.sheet, None, packet.rules)
    return write_packet(packet.folder.with_name("marked"), contents, {}, packet.preparer)


def test_its_index_holds_nothing_that_turns_the_reading_direction(packet: Packet) -> None:
    marked = with_marks(packet)
    text = (marked.folder / INDEX).read_bytes().decode("utf-8")
    assert not [letter for letter in MARKS if letter in text] and "é" in text
    assert marked.plan.machine == f"Wren {MARKS} é\udc80"


def test_an_index_as_older_releases_spelled_it_is_read(packet: Packet) -> None:
    marked = with_marks(packet)
    data = json.loads((marked.folder / INDEX).read_bytes())
    text = json.dumps(data, indent=2, ensure_ascii=False) + "\n"
    (marked.folder / INDEX).write_bytes(text.encode("utf-8", "surrogateescape"))
    assert read_packet(marked.folder).plan == marked.plan
    (marked.folder / INDEX).write_bytes(json.dumps(data, indent=2).encode() + b"\n")
    assert [fault.file for fault in verify_hashes(marked.folder)] == [INDEX]
