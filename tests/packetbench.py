"""A small made-up machine of a bird-ringing station, and plans built by hand for it.

Wren's three files hold what real ones do: CRLF in one, no last newline in another, bytes that are not
UTF-8, commented look-alikes, a macro, and the same key in several sections.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from functools import partial
from pathlib import Path
from types import SimpleNamespace

import pytest

from cfgmigrate.apply.replacing import refuse_replacing
from cfgmigrate.dialects.document import readable
from cfgmigrate.packet.folder import INDEX, Contents, Packet, hash_of_json, index_bytes, sha256
from cfgmigrate.packet.opening import content_hash, read_packet
from cfgmigrate.packet.review import Judgement, Review, Verdict
from cfgmigrate.packet.standing import record_review
from cfgmigrate.packet.write import write_packet
from cfgmigrate.plan.edits import apply_edits, edits_by_file
from cfgmigrate.plan.model import ByHand, Change, Edit, FileInput, NewValue, OldValue, Plan
from cfgmigrate.rules.result import Derivation, Status

Changes = tuple[Change, ...]

FEEDER = (
    b"\xef\xbb\xbf# Wren, a printer of the ringing hut: the feeder\r\n"
    b"[feeder]\r\n"
    b"mm_per_turn: 22.9   ; as measured in spring\r\n"
    b"#mm_per_turn: 22.9\r\n"
    b"gear ratio: 7:4\r\n"
    b"[feeder motor]\r\n"
    b"run current: 0.8\r\n"
    b"\r\n"
    b"[script feed]\r\n"
    b"steps:\r\n"
    b"  unfold net\r\n"
    b"  feed 40 at 22.9\r\n"
)
AXES = (
    b"# axes; caf\xe9 hours\n"
    b"[axis x]\nhighest spot = 235\n"
    b"[axis y]\nhighest spot = 235\n"
    b"[axis z]\nhighest spot = 235\n"
    b"[mesh]\nlimits = 10, 10, 225, 225"
)
FLOW = b"retract.length=5.4\nretract.speed=45\n; lag below\nlag.coefficient 0.55\nmachine.name=Wren\n"

FILES: dict[str, bytes] = {"feeder.ini": FEEDER, "parts/axes.ini": AXES, "flow.conf": FLOW}
DIALECTS = {"feeder.ini": "sectioned", "parts/axes.ini": "sectioned", "flow.conf": "flat"}

#: quantity, file, text around the old value with `<...>` about it, new text, what it depends on
MOVES: tuple[tuple[str, str, bytes, str, tuple[str, ...]], ...] = (
    ("feeder.feed_per_turn", "feeder.ini", b"\nmm_per_turn: <22.9>", "4.15", ()),
    ("feeder.gear_ratio", "feeder.ini", b"gear ratio: <7:4>", "50:9", ()),
    ("motor.run_current", "feeder.ini", b"run current: <0.8>", "0.45", ()),
    ("axis.z.max", "parts/axes.ini", b"[axis z]\nhighest spot = <235>", "186.5", ()),
    ("mesh.to_y", "parts/axes.ini", b"225, <225>", "221", ()),
    ("retraction.length", "flow.conf", b"retract.length=<5.4>", "0.6", ("path.give",)),
    ("lag.coefficient", "flow.conf", b"lag.coefficient <0.55>", "0.04", ("retraction.length",)),
)


def move(
    files: Mapping[str, bytes],
    quantity: str,
    path: str,
    marked: bytes,
    new: str,
    depends: tuple[str, ...] = (),
) -> Change:
    """A change of the one place in a file that reads as `marked`, where `<` and `>` stand about the value."""
    head, _, rest = marked.partition(b"<")
    value, _, tail = rest.partition(b">")
    data = files[path]
    assert data.count(head + value + tail) == 1, marked
    start = data.index(head + value + tail) + len(head)
    line = data.count(b"\n", 0, start) + 1
    column = start - (data.rfind(b"\n", 0, start) + 1) + 1
    old = readable(value)
    edit = Edit(path, line, column, start, start + len(value), old, new)
    return Change(
        quantity=quantity,
        label=quantity.replace(".", " "),
        unit="mm",
        status=Status.COMPUTED,
        way="by hand",
        old=OldValue(None, old, path, line),
        new=NewValue(None, 0.0, new),
        derivation=Derivation("given", "given", (), "a made-up value for this test"),
        rounding="",
        edits=(edit,),
        depends=depends,
        rule=quantity,
    )


def plan_for(
    files: Mapping[str, bytes], changes: Sequence[Change], root: str = "", sheet: bytes = b"machine: Wren\n"
) -> Plan:
    """A plan over all of `files` with these changes and one thing to do by hand."""
    return Plan(
        machine="Wren",
        root=root,
        files=tuple(
            FileInput(path, hashlib.sha256(data).hexdigest(), DIALECTS.get(path, "sectioned"))
            for path, data in files.items()
        ),
        sheet_path="wren-swap.yaml",
        sheet_sha256=hashlib.sha256(sheet).hexdigest(),
        rules_sha256="0" * 64,
        changes=tuple(changes),
        by_hand=(ByHand("turn the current screw", 0.62, "V", "the driver is set by a screw"),),
    )


def pack(
    folder: Path,
    files: Mapping[str, bytes],
    changes: Sequence[Change],
    root: str = "",
    preparer: str = "A. Dunlin",
    replace: bool = False,
    in_place_of: Mapping[str, object] | None = None,
) -> Packet:
    """A packet with these changes, with small pages."""
    plan = plan_for(files, changes, root)
    after = dict(files)
    for path, edits in edits_by_file(changes).items():
        after[path] = apply_edits(files[path], edits)
    pages = {"changes.md": "# Wren\n", "changes.html": "<!doctype html>\n", "checklist.md": "- power off\n"}
    rules = {"feed_per_turn.yaml": b"says: how far a turn feeds\n"}
    return write_packet(
        folder,
        Contents(plan, files, after, b"machine: Wren\n", None, rules),
        pages,
        preparer,
        partial(refuse_replacing, root=plan.root) if replace else None,
        in_place_of=in_place_of,
    )


def lay_out(root: Path, files: Mapping[str, bytes]) -> Path:
    """The files on disk below `root`."""
    for path, data in files.items():
        (root / path).parent.mkdir(parents=True, exist_ok=True)
        (root / path).write_bytes(data)
    return root


def on_disk(root: Path) -> dict[str, bytes]:
    """All files of a configuration, without our own folder."""
    return {
        path.relative_to(root).as_posix(): path.read_bytes()
        for path in sorted(root.rglob("*"))
        if path.is_file() and path.relative_to(root).parts[0] != ".cfgmigrate"
    }


@pytest.fixture
def wren_changes() -> Changes:
    return tuple(move(FILES, *each) for each in MOVES)


@pytest.fixture
def config(tmp_path: Path) -> Path:
    """Wren's configuration on disk."""
    return lay_out(tmp_path / "config", FILES)


@pytest.fixture
def packet(tmp_path: Path, config: Path, wren_changes: Changes) -> Packet:
    """A packet for Wren, prepared in `config`."""
    return pack(tmp_path / "packet", FILES, wren_changes, str(config))


@pytest.fixture
def reviewed(packet: Packet) -> Packet:
    """The same with a review that accepts every change."""
    accepted = tuple(Judgement(change.quantity, Verdict.ACCEPTED) for change in packet.plan.changes)
    record_review(packet.folder, Review(packet.hash, "B. Redshank", "2031-05-04T10:11:12Z", accepted, {}))
    return read_packet(packet.folder)


def members(folder: Path) -> list[str]:
    """The files in a folder and below."""
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())


@pytest.fixture(scope="session")
def kit() -> SimpleNamespace:
    """The builders above, for tests that make machines of their own."""
    return SimpleNamespace(
        FILES=FILES, MOVES=MOVES, move=move, plan_for=plan_for, pack=pack, lay_out=lay_out, on_disk=on_disk
    )


def seal_anew(packet: Path) -> None:
    """Seal a packet anew, as whoever altered it can."""
    index = json.loads((packet / INDEX).read_bytes())
    for path in index["contents"]:
        index["contents"][path] = sha256((packet / path).read_bytes())
    index["hash"] = content_hash(index, index["contents"])
    index["seal"] = hash_of_json({name: value for name, value in index.items() if name != "seal"})
    (packet / INDEX).write_bytes(index_bytes(index))
