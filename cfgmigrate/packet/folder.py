"""The packet: the folder that is reviewed, installed and reverted, and that stands alone.

    changes.json    the plan, the SHA-256 of every other file, and two hashes over it all
    changes.md, changes.html, checklist.md    the pages for people
    forward.patch, revert.patch               the way there and back without this program
    before/, after/                           the files as they were read, and as they will be
    sheet.yaml, site.yaml, names.yaml, rules/ what was put in: sheet, site file, names file, rule book and tables
    origin/                                   for what was carried over: the files that it came from
    old/                                      for the rest of a swap: the files as they were before its first part
    review.yaml                               once it was reviewed

`hash` is the identity of the content: plan, files, sheet, names and rules. It depends neither on time,
nor on where the configuration stands, nor on the wording of the pages, so that the pages can show it and
an identical preparation keeps its review. `seal` covers all of changes.json, and through it every file:
one byte changed anywhere is found and named.

This module reads and checks; `write.py` writes. Neither works out a value.
"""

from __future__ import annotations

import json
import os
import stat
from collections.abc import Iterator, Mapping
from functools import cached_property
from pathlib import Path
from typing import Any

import msgspec
from msgspec import Struct, field

from cfgmigrate.ground.findings import BadInput, Place, Refused, in_one_line
from cfgmigrate.ground.hashing import sha256 as sha256
from cfgmigrate.ground.once import once
from cfgmigrate.ground.paths import checked_path, fault_of_path, read_ordinary
from cfgmigrate.ground.plain_json import inert_json
from cfgmigrate.plan.edits import FileStep, apply_edits, edits_by_file, spans_of
from cfgmigrate.plan.model import FORMATS, Change, Plan

INDEX = "changes.json"
SHEET = "sheet.yaml"
NAMES = "names.yaml"
SITE_COPY = "site.yaml"
FORWARD = "forward.patch"
REVERT = "revert.patch"
REVIEW = "review.yaml"
BEFORE, AFTER, RULES = "before/", "after/", "rules/"
ORIGIN, OLD = "origin/", "old/"
FOLDERS = (BEFORE, AFTER, RULES, ORIGIN, OLD)
_PAGES = ("changes.md", "changes.html", "checklist.md")
#: files that only a packet itself may have in its folder
OWN_NAMES = frozenset({SHEET, SITE_COPY, NAMES, FORWARD, REVERT, *_PAGES})

_SEAL_LINE = b"seal: "


class Fault(Struct, frozen=True):
    """What is wrong with one file of a packet."""

    file: str
    what: str

    def __str__(self) -> str:
        return f"{self.file}: {self.what}"


class Packet(Struct, frozen=True):
    """A packet that was read and whose hashes hold. `before` and `after` have the same paths."""

    folder: Path
    plan: Plan
    before: Mapping[str, bytes]
    after: Mapping[str, bytes]
    sheet: bytes
    names: bytes | None
    rules: Mapping[str, bytes]
    pages: Mapping[str, bytes]
    preparer: str
    hash: str
    review: bytes | None
    #: changes.json as it was read
    index: Mapping[str, Any] = field(default_factory=dict)
    site: bytes | None = None
    origin: Mapping[str, bytes] = field(default_factory=dict)
    old: Mapping[str, bytes] = field(default_factory=dict)
    patches: Mapping[str, bytes] = field(default_factory=dict)

    def change(self, name: str) -> Change | None:
        """The change of that name (`plan/identity.py`)."""
        return next((change for change in self.plan.changes if change.id == name), None)

    def steps(self, changes: tuple[Change, ...] | None = None) -> tuple[FileStep, ...]:
        """What the given changes (all, where None) do to each file that they touch."""
        chosen = self.plan.changes if changes is None else changes
        dialects = {file.path: file.dialect for file in self.plan.files}
        return tuple(
            FileStep(
                path,
                dialects.get(path, ""),
                self.before[path],
                apply_edits(self.before[path], edits),
                spans_of(chosen, path),
            )
            for path, edits in sorted(edits_by_file(chosen).items())
        )


def aside(folder: Path) -> Path:
    """Where a packet waits while another takes its place, on a system that can't exchange two folders."""
    return folder.with_name(f".{folder.name}.replaced")


def hash_of_json(data: Any) -> str:
    """The SHA-256 of JSON data, whatever the order of its keys."""
    return sha256(canonical(data).encode())


def canonical(data: Any) -> str:
    """JSON data as the text by which it is hashed."""
    return json.dumps(data, sort_keys=True, separators=(",", ":"), allow_nan=False)


def canonical_object(fields: Mapping[str, str]) -> str:
    """The same of an object, from the texts of its fields."""
    return "{" + ",".join(f"{canonical(name)}:{fields[name]}" for name in sorted(fields)) + "}"


@once
def canonical_fields(plan: Plan) -> Mapping[str, str]:
    """The texts of a plan's fields: most of what both hashes of a packet are of."""
    return {name: canonical(value) for name, value in plan.to_json().items()}


class Contents(Struct, frozen=True, dict=True):
    """What a packet is made of, but for its pages: the plan, every file that was read `before`, what comes out of those
    that change (`after`; the others stay), and what was put in. `more` are further inputs by their place in the packet
    (`origin/x.conf`)."""

    plan: Plan
    before: Mapping[str, bytes]
    after: Mapping[str, bytes]
    sheet: bytes
    names: bytes | None
    rules: Mapping[str, bytes]
    more: Mapping[str, bytes] = field(default_factory=dict)

    @property
    def all_after(self) -> Mapping[str, bytes]:
        return {**self.before, **self.after}

    def files(self) -> dict[str, bytes]:
        """The inputs and what comes out, by their place in the packet. Raises Refused where a path is not allowed,
        ValueError where something further has no place there."""
        found = {SHEET: self.sheet, **({NAMES: self.names} if self.names is not None else {})}
        for folder, files in ((BEFORE, self.before), (AFTER, self.all_after), (RULES, self.rules)):
            found |= {folder + checked_path(path): data for path, data in files.items()}
        for path, data in self.more.items():
            if not is_input(path):
                raise ValueError(f"{path} is no place for an input")
            found[checked_path(path)] = data
        return found

    @cached_property
    def digests(self) -> Mapping[str, str]:
        """The SHA-256 of each of these files."""
        return {path: sha256(data) for path, data in self.files().items()}

    @cached_property
    def hash(self) -> str:
        """What identifies a packet's content, and what a review is bound to."""
        planned = {name: text for name, text in canonical_fields(self.plan).items() if name != "root"}
        both = {"plan": canonical_object(planned), "files": canonical(self.digests)}
        return sha256(canonical_object(both).encode())


def _content_hash(index: Mapping[str, Any], contents: Mapping[str, str]) -> str:
    """A packet's hash from changes.json as it is, which an older or newer release may have written."""
    planned = {name: value for name, value in index.items() if name not in {*_OWN, "root"}}
    given = {path: digest for path, digest in contents.items() if is_input(path)}
    return hash_of_json({"plan": planned, "files": given})


def index_bytes(data: Mapping[str, Any]) -> bytes:
    """changes.json as it is written; there is one spelling only."""
    return inert_json(_index_text(data)).encode("utf-8", "surrogateescape")


def _older_index_bytes(data: Mapping[str, Any]) -> bytes:
    """The spelling of older releases, which left direction marks as they were."""
    return _index_text(data).encode("utf-8", "surrogateescape")


def _index_text(data: Mapping[str, Any]) -> str:
    # Python's own writer takes three times as long where it indents itself
    text = json.dumps(data, ensure_ascii=False, allow_nan=False)
    lines = msgspec.json.format(text.encode("utf-8", "surrogateescape"), indent=2)
    return lines.decode("utf-8", "surrogateescape") + "\n"


def sealed(lines: bytes) -> bytes:
    """A text with its own SHA-256 as its last line."""
    return lines + _SEAL_LINE + sha256(lines).encode() + b"\n"


def unsealed(data: bytes) -> bytes | None:
    """The text above its seal; None where the seal does not hold."""
    start = data.rfind(b"\n" + _SEAL_LINE) + 1
    return data[:start] if start and sealed(data[:start]) == data else None


def read_packet(folder: Path, written: Mapping[str, bytes] | None = None) -> Packet:
    """The packet in `folder`, checked to the last byte: by its hashes, or where it was `written` just now against those
    bytes.

    Raises BadInput where there is no packet, and Refused, naming every file at fault, where it is not as
    it was written.
    """
    opened = _Opened(folder, written)
    faults = tuple(opened.faults())
    if faults:
        raise Refused(
            "the packet is not as it was written:\n  " + "\n  ".join(map(str, faults)),
            Place(str(folder)),
            "Nothing was changed. Prepare it again, or fetch the packet again from where it came.",
        )
    return opened.packet()


def opened(packet: Packet | Path) -> Packet:
    """A packet as it was opened and checked already, or the one in a folder."""
    return packet if isinstance(packet, Packet) else read_packet(packet)


def verify_hashes(packet: Packet | Path) -> tuple[Fault, ...]:
    """Everything in which a packet's folder is not as it was written; empty where it holds."""
    return tuple(_Opened(packet.folder if isinstance(packet, Packet) else packet).faults())


class _Opened:
    """A packet's folder while it is being checked."""

    def __init__(self, folder: Path, written: Mapping[str, bytes] | None = None) -> None:
        self.folder, self.written = folder, written
        if not folder.is_dir() or not (folder / INDEX).exists():
            remedy = "Give the folder that prepare wrote."
            if not folder.exists() and aside(folder).is_dir():
                remedy = f"Replacing it was interrupted: rename {aside(folder)}, or prepare it again."
            lacking = f"no packet: {INDEX} is missing" if folder.exists() else "there is no such folder"
            raise BadInput(lacking, Place(str(folder)), remedy)
        self.raw = read_ordinary(folder / INDEX, INDEX)
        self.files: dict[str, bytes] = {}
        self.data: dict[str, Any] = {}
        self.plan: Plan | None = None

    def faults(self) -> Iterator[Fault]:
        fault = self._read_index()
        if fault:
            yield fault
            return
        yield from self._read_files()
        yield from self._unlisted()
        if not self._complete():
            return
        yield from self._consistency()

    def _read_index(self) -> Fault | None:
        changed = Fault(INDEX, "its seal does not hold: it was changed after it was written")
        try:
            self.data = json.loads(self.raw.decode("utf-8", "surrogateescape"))
            rest = {name: value for name, value in self.data.items() if name != "seal"}
            if self.data.get("format") not in FORMATS:
                return Fault(INDEX, "an unknown format: it needs another release of this program")
            if not (self._is_sealed(rest) if self.written is None else self.raw == self.written[INDEX]):
                return changed
            self.plan = Plan.from_json({name: value for name, value in rest.items() if name not in _OWN})
            if not all(isinstance(item, str) for pair in rest["contents"].items() for item in pair):
                return changed
            if SHEET not in rest["contents"]:
                return Fault(INDEX, f"{SHEET} is not among the files that it lists")
        except RecursionError:
            return Fault(INDEX, "nested too deeply")
        except (ValueError, KeyError, TypeError, AttributeError) as error:
            return Fault(INDEX, f"can't be read ({type(error).__name__}: {error})")
        return None

    def _is_sealed(self, rest: Mapping[str, Any]) -> bool:
        spelled = self.raw in (index_bytes(self.data), _older_index_bytes(self.data))
        return spelled and hash_of_json(rest) == self.data.get("seal")

    def _read_files(self) -> Iterator[Fault]:
        ordinary = {""}
        for path, expected in self.data["contents"].items():
            fault = fault_of_path(path)
            if fault:
                yield Fault(INDEX, f"{fault}: {path!a}")
                continue
            within = path.rpartition("/")[0]
            if within not in ordinary and (linked := _linked_folder(self.folder, path)):
                yield Fault(linked, "not an ordinary folder")
                continue
            ordinary.add(within)
            try:
                found = read_ordinary(self.folder / path, path)
            except Refused as error:
                yield Fault(path, error.what)
                continue
            if (sha256(found) != expected) if self.written is None else (found != self.written.get(path)):
                yield Fault(path, "it was changed after it was written")
            self.files[path] = found

    def _unlisted(self) -> Iterator[Fault]:
        """Files that came in later. Beside the packet's own they do no harm. Within its folders they might, and where
        they have the name of one of its own; links, devices and pipes are never tolerated."""
        for path, ordinary in _walk(self.folder, ""):
            if not ordinary:
                yield Fault(path, "neither a file nor a folder")
            elif path not in self.data["contents"] and (
                path.startswith(FOLDERS) or path.lower() in OWN_NAMES
            ):
                yield Fault(path, "not part of the packet")
        if (self.folder / REVIEW).is_file():
            self.review = read_ordinary(self.folder / REVIEW, REVIEW)
            if unsealed(self.review) is None:
                yield Fault(REVIEW, "its seal does not hold: it was changed after it was recorded")

    review: bytes | None = None

    def _complete(self) -> bool:
        return set(self.files) == set(self.data["contents"])

    def _consistency(self) -> Iterator[Fault]:
        """The parts fit together: what was read, what was planned, and what came out."""
        assert self.plan is not None
        before, after = self._folder(BEFORE), self._folder(AFTER)
        listed = {file.path: file.sha256 for file in self.plan.files}
        for path in sorted(listed.keys() ^ before.keys() | before.keys() ^ after.keys()):
            yield Fault(BEFORE + path, "not among the plan's files, or without its counterpart")
        edits = edits_by_file(self.plan.changes)
        for path in sorted(edits.keys() - before.keys()):
            yield Fault(INDEX, f"a change to {path!a}, which is not among the files")
        for path in sorted(listed.keys() & before.keys() & after.keys()):
            if sha256(before[path]) != listed[path]:
                yield Fault(BEFORE + path, "not the file that the plan was made from")
                continue
            try:
                if apply_edits(before[path], edits.get(path, [])) != after[path]:
                    yield Fault(AFTER + path, "not what the planned changes make of the file")
            except Refused as error:
                yield Fault(INDEX, f"a change does not fit the file as it was ({in_one_line(error)})")
        if self.written is None and _content_hash(self.data, self.data["contents"]) != self.data.get("hash"):
            yield Fault(INDEX, "its content hash does not hold")

    def _folder(self, folder: str) -> dict[str, bytes]:
        return {
            path.removeprefix(folder): data for path, data in self.files.items() if path.startswith(folder)
        }

    def packet(self) -> Packet:
        assert self.plan is not None
        return Packet(
            folder=self.folder,
            plan=self.plan,
            before=self._folder(BEFORE),
            after=self._folder(AFTER),
            sheet=self.files[SHEET],
            names=self.files.get(NAMES),
            rules=self._folder(RULES),
            pages={path: data for path, data in self.files.items() if is_page(path)},
            preparer=str(self.data.get("prepared_by", "")),
            hash=self.data["hash"],
            review=self.review,
            index=self.data,
            site=self.files.get(SITE_COPY),
            origin=self._folder(ORIGIN),
            old=self._folder(OLD),
            patches={path: self.files[path] for path in (FORWARD, REVERT) if path in self.files},
        )


#: fields of changes.json that are the packet's own and not the plan's
_OWN = {"prepared_by", "in_place_of", "contents", "hash", "seal"}


def is_input(path: str) -> bool:
    """Whether a file of a packet belongs to its content: it was read, put in, or comes out."""
    return path in {SHEET, SITE_COPY, NAMES} or path.startswith(FOLDERS)


def is_page(path: str) -> bool:
    """Whether a file of a packet is one of its pages for people."""
    return "/" not in path and path not in {SHEET, SITE_COPY, NAMES, FORWARD, REVERT, REVIEW, INDEX}


def _linked_folder(folder: Path, path: str) -> str:
    """The first step towards `path` that is no ordinary folder; "" where all are."""
    steps = path.split("/")[:-1]
    for depth in range(len(steps)):
        step = "/".join(steps[: depth + 1])
        try:
            if not stat.S_ISDIR((folder / step).lstat().st_mode):
                return step
        except OSError:
            return ""
    return ""


def _walk(folder: Path, prefix: str) -> Iterator[tuple[str, bool]]:
    """Everything below a folder that is not a folder itself, and whether it is an ordinary file; links are not followed."""
    with os.scandir(folder) as found:
        for entry in sorted(found, key=lambda entry: entry.name):
            if entry.is_dir(follow_symlinks=False):
                yield from _walk(Path(entry.path), prefix + entry.name + "/")
            else:
                yield prefix + entry.name, entry.is_file(follow_symlinks=False)
