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

from cfgmigrate.apply.install import install
from cfgmigrate.apply.revert import revert
from cfgmigrate.ground.findings import BadInput, Refused
from cfgmigrate.ground.paths import fault_of_path
from cfgmigrate.packet.binding import basis_of, older_digests
from cfgmigrate.packet.folder import INDEX, REVIEW, Contents, Packet, aside, hash_of_json, index_bytes
from cfgmigrate.packet.opening import read_packet, verify_hashes
from cfgmigrate.packet.recompute import recompute
from cfgmigrate.packet.review import Judgement, Review, Verdict
from cfgmigrate.packet.standing import record_review
from cfgmigrate.packet.write import write_packet
from cfgmigrate.plan.model import Change

Changes = tuple[Change, ...]


@pytest.fixture
def reviewed(packet: Packet) -> Packet:
    record_review(
        packet.folder,
        Review(
            packet.hash,
            "B. Redshank",
            "2031-05-04T10:11:12Z",
            tuple(Judgement(change.quantity, Verdict.ACCEPTED) for change in packet.plan.changes),
            {},
        ),
    )
    return read_packet(packet.folder)


def members(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())


def test_what_was_written_is_read_again(packet: Packet, kit: SimpleNamespace) -> None:
    again = read_packet(packet.folder)
    assert again == packet
    assert dict(again.before) == kit.FILES
    assert again.preparer == "A. Dunlin"
    assert verify_hashes(packet.folder) == ()


def test_its_files_are_the_ones_that_the_design_lists(packet: Packet) -> None:
    assert members(packet.folder) == [
        "after/feeder.ini",
        "after/flow.conf",
        "after/parts/axes.ini",
        "before/feeder.ini",
        "before/flow.conf",
        "before/parts/axes.ini",
        "changes.html",
        "changes.json",
        "changes.md",
        "checklist.md",
        "forward.patch",
        "revert.patch",
        "rules/feed_per_turn.yaml",
        "sheet.yaml",
    ]


def test_its_hash_depends_neither_on_the_place_nor_on_the_pages(
    packet: Packet, wren_changes: Changes, tmp_path: Path, kit: SimpleNamespace
) -> None:
    elsewhere = kit.pack(tmp_path / "elsewhere", kit.FILES, wren_changes, "/another/root", "C. Curlew")
    assert elsewhere.hash == packet.hash
    given = (packet.before, packet.after, packet.sheet, packet.names, packet.rules)
    assert Contents(packet.plan, *given).hash == packet.hash


@pytest.mark.parametrize("part", ["before", "sheet", "rules", "changes", "names", "more"])
def test_its_hash_depends_on_everything_that_was_put_in(
    packet: Packet, wren_changes: Changes, tmp_path: Path, kit: SimpleNamespace, part: str
) -> None:
    plan, sheet, rules = packet.plan, packet.sheet, dict(packet.rules)
    before, after, names, more = dict(packet.before), dict(packet.after), packet.names, {}
    match part:
        case "before":
            before["flow.conf"] += b"\n"
        case "sheet":
            sheet += b"# a word\n"
        case "rules":
            rules["feed_per_turn.yaml"] += b"# a word\n"
        case "changes":
            plan = kit.plan_for(kit.FILES, wren_changes[:-1], plan.root)
        case "names":
            names = b"a: b\n"
        case "more":
            more = {"origin/flow.conf": b"# as it came\n"}
    assert Contents(plan, before, after, sheet, names, rules, more).hash != packet.hash


@pytest.mark.parametrize("path", ["checklist.md", "review.yaml", "elsewhere/flow.conf"])
def test_what_is_put_in_further_can_t_take_the_place_of_a_page(packet: Packet, path: str) -> None:
    given = (packet.before, packet.after, packet.sheet, packet.names, packet.rules)
    with pytest.raises(ValueError, match="no place for an input"):
        Contents(packet.plan, *given, {path: b"a"}).files()


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


def test_a_folder_with_something_else_in_it_is_not_written_to(
    wren_changes: Changes, tmp_path: Path, kit: SimpleNamespace
) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "thesis.txt").write_text("ten years of work")
    with pytest.raises(Refused, match="not empty and holds no packet"):
        kit.pack(tmp_path / "out", kit.FILES, wren_changes)
    assert members(tmp_path) == ["out/thesis.txt"]


def test_an_empty_folder_is_used(wren_changes: Changes, tmp_path: Path, kit: SimpleNamespace) -> None:
    (tmp_path / "out").mkdir()
    kit.pack(tmp_path / "out", kit.FILES, wren_changes)
    assert verify_hashes(tmp_path / "out") == ()


def test_a_file_or_a_link_in_the_way_is_refused(
    wren_changes: Changes, tmp_path: Path, kit: SimpleNamespace
) -> None:
    (tmp_path / "file").write_text("x")
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "link").symlink_to(tmp_path / "elsewhere")
    for name in ("file", "link"):
        with pytest.raises(Refused, match="in the way"):
            kit.pack(tmp_path / name, kit.FILES, wren_changes)


def test_what_the_disk_does_not_take_is_refused(packet: Packet, tmp_path: Path, kit: SimpleNamespace) -> None:
    """A file stands where a folder above the packet would."""
    (tmp_path / "file").write_text("x")
    with pytest.raises(Refused, match=r"(?s)can't be written.*Nothing was changed"):
        kit.pack(tmp_path / "file" / "packet", kit.FILES, packet.plan.changes)


def test_an_identical_packet_is_written_again_and_keeps_its_review(
    reviewed: Packet, wren_changes: Changes, kit: SimpleNamespace, config: Path
) -> None:
    handles = len(list(Path("/dev/fd").glob("*")))
    again = kit.pack(reviewed.folder, kit.FILES, wren_changes, str(config))
    assert len(list(Path("/dev/fd").glob("*"))) == handles, "the desk prepares without end"
    assert again.review == reviewed.review is not None
    assert again.hash == reviewed.hash
    assert not [path for path in reviewed.folder.parent.iterdir() if path.name.startswith(".")]


@pytest.mark.parametrize("exchanged", [True, False])
def test_another_packet_in_the_way_is_refused_unless_it_may_be_replaced(
    packet: Packet,
    wren_changes: Changes,
    kit: SimpleNamespace,
    config: Path,
    monkeypatch: pytest.MonkeyPatch,
    exchanged: bool,
) -> None:
    """Also where the system can't let two folders change names."""
    if not exchanged:
        monkeypatch.setattr("cfgmigrate.packet.write.exchange", lambda one, other: False)
    with pytest.raises(Refused, match="may be the way back"):
        kit.pack(packet.folder, kit.FILES, wren_changes[:-1], str(config))
    assert read_packet(packet.folder) == packet
    replaced = kit.pack(packet.folder, kit.FILES, wren_changes[:-1], str(config), replace=True)
    assert replaced.hash != packet.hash
    assert verify_hashes(packet.folder) == ()
    assert [path for path in packet.folder.parent.iterdir() if path.name.startswith(".")] == []


def test_what_somebody_laid_into_a_packet_stays_when_it_is_prepared_again(
    packet: Packet, wren_changes: Changes, kit: SimpleNamespace, config: Path
) -> None:
    laid = {"notes.txt": b"of the day", "photos/of/may/1.jpg": b"jpg", "signed/of.yaml": b"a record"}
    for name, data in laid.items():
        (packet.folder / name).parent.mkdir(parents=True, exist_ok=True)
        (packet.folder / name).write_bytes(data)
    kit.pack(packet.folder, kit.FILES, wren_changes[:-1], str(config), replace=True)
    assert {name: (packet.folder / name).read_bytes() for name in laid} == laid
    assert not {path.name for path in packet.folder.parent.iterdir()} & {".packet"}


def test_a_file_of_somebodys_is_not_written_over_by_a_new_packets_own(
    packet: Packet, wren_changes: Changes, kit: SimpleNamespace, config: Path
) -> None:
    (packet.folder / "mine.html").write_bytes(b"mine")
    whole = {path: path.read_bytes() for path in packet.folder.rglob("*") if path.is_file()}
    contents = Contents(
        packet.plan, packet.before, packet.after, packet.sheet, packet.names, dict(packet.rules)
    )
    with pytest.raises(Refused, match="has the name of one of the new packet's"):
        write_packet(packet.folder, contents, {"mine.html": "new"}, packet.preparer)
    assert {path: path.read_bytes() for path in packet.folder.rglob("*") if path.is_file()} == whole


@pytest.mark.parametrize("alike", [True, False])
def test_a_packet_never_takes_the_place_of_another_machines(
    alike: bool, packet: Packet, wren_changes: Changes, kit: SimpleNamespace, tmp_path: Path
) -> None:
    """Though all files are the same: its review and its install are that machine's."""
    other = tmp_path / "other"
    other.mkdir()
    with pytest.raises(Refused, match="is another machine's"):
        kit.pack(
            packet.folder, kit.FILES, wren_changes if alike else wren_changes[:-1], str(other), replace=True
        )
    assert read_packet(packet.folder) == packet


def test_an_installed_packet_is_never_replaced_until_it_was_taken_back(
    packet: Packet, wren_changes: Changes, kit: SimpleNamespace, config: Path
) -> None:
    install(packet.folder)
    flow = config / "flow.conf"
    flow.write_bytes(flow.read_bytes() + b"# nets\n")
    with pytest.raises(Refused, match="is installed, and is the way back"):
        kit.pack(packet.folder, kit.FILES, wren_changes[:-1], str(config), replace=True)
    revert(packet.folder, only=["retraction.length", "lag.coefficient"])
    with pytest.raises(Refused, match="is installed, and is the way back"):
        kit.pack(packet.folder, kit.FILES, wren_changes[:-1], str(config), replace=True)
    assert read_packet(packet.folder) == packet
    revert(packet.folder)
    assert (
        kit.pack(packet.folder, kit.FILES, wren_changes[:-1], str(config), replace=True).hash != packet.hash
    )


def test_a_packet_whose_configuration_is_not_there_may_be_installed_elsewhere_and_stays(
    packet: Packet, wren_changes: Changes, kit: SimpleNamespace, config: Path
) -> None:
    config.rename(config.with_name("moved"))
    with pytest.raises(Refused, match="can't be told whether the packet in the way is installed"):
        kit.pack(packet.folder, kit.FILES, wren_changes[:-1], str(config), replace=True)
    assert read_packet(packet.folder) == packet


def test_a_replacing_that_was_stopped_in_the_middle_is_undone_by_the_next_one(
    packet: Packet, wren_changes: Changes, kit: SimpleNamespace, config: Path
) -> None:
    """Only where the system can't let two folders change names is there a middle."""
    packet.folder.rename(aside(packet.folder))
    with pytest.raises(BadInput, match=r"(?s)no such folder.*rename .*\.packet\.replaced"):
        install(packet.folder)
    with pytest.raises(Refused, match="another packet is in the way"):
        kit.pack(packet.folder, kit.FILES, wren_changes[:-1], str(config))
    assert read_packet(packet.folder) == packet
    assert not aside(packet.folder).exists()


def test_what_a_stopped_replacing_left_beside_the_new_packet_is_cleared_up_by_the_next_one(
    packet: Packet, wren_changes: Changes, kit: SimpleNamespace, config: Path
) -> None:
    shutil.copytree(packet.folder, aside(packet.folder))
    kit.pack(packet.folder, kit.FILES, wren_changes, str(config))
    assert read_packet(packet.folder) == packet
    assert not aside(packet.folder).exists()


@pytest.mark.skipif(os.name != "posix", reason="nothing tells there whether the run still lives")
def test_what_a_killed_run_left_half_written_beside_is_cleared_up_by_the_next_one(
    packet: Packet, wren_changes: Changes, kit: SimpleNamespace, config: Path
) -> None:
    import fcntl

    left, living, somebodys, named = (
        packet.folder.parent / f".packet-{end}" for end in ("ab12_cd3", "living_1", "notes_of", "mine")
    )
    for each in (left, living, somebodys, named):
        (each / "packet").mkdir(parents=True)
        (each / "packet" / "half").write_text("a")
    (somebodys / "notes.txt").write_text("a")
    handle = os.open(living, os.O_RDONLY)
    fcntl.flock(handle, fcntl.LOCK_EX)  # as a run does that is not done yet
    kit.pack(packet.folder, kit.FILES, wren_changes, str(config))
    os.close(handle)
    hidden = {each.name for each in packet.folder.parent.glob(".packet-*")}
    assert hidden == {living.name, somebodys.name, named.name}


def test_a_packet_makes_the_folders_above_it(
    wren_changes: Changes, tmp_path: Path, kit: SimpleNamespace
) -> None:
    kit.pack(tmp_path / "a" / "b" / "packet", kit.FILES, wren_changes)
    assert verify_hashes(tmp_path / "a" / "b" / "packet") == ()


def test_file_names_with_blanks_quotes_and_letters_of_any_script_travel(
    tmp_path: Path, kit: SimpleNamespace
) -> None:
    name = "ring hut/m\u00f6we \u9ce5 'a' \"b\".ini"
    files = {name: b"[feeder]\nmm_per_turn: 22.9\n"}
    root = kit.lay_out(tmp_path / "config", files)
    change = kit.move(files, "feeder.feed_per_turn", name, b"mm_per_turn: <22.9>", "4.15")
    packet = kit.pack(tmp_path / "packet", files, [change], str(root))
    install(packet.folder)
    assert kit.on_disk(root) == {name: b"[feeder]\nmm_per_turn: 4.15\n"}
    revert(packet.folder)
    assert kit.on_disk(root) == files


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
