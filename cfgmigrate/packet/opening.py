"""Opening a packet: its folder read, and checked to the last byte before anything is believed of it.

Everything at fault is named, file by file: a seal or a hash that does not hold, a file that is missing or came in later,
a link in place of a folder, a plan that does not make of `before/` what stands in `after/`. A packet that was written just
now is checked against what was written, byte by byte. What a packet is made of, and by what it is known, is in `folder.py`.

Whether its values are right is not asked here: that is `reread.py`.
"""

from __future__ import annotations

import json
import os
import stat
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from msgspec import Struct

from cfgmigrate.ground.findings import BadInput, Place, Refused, in_one_line
from cfgmigrate.ground.hashing import sha256
from cfgmigrate.ground.paths import fault_of_path, read_ordinary
from cfgmigrate.packet.folder import (
    AFTER,
    BEFORE,
    FIELDS_OF_THE_PACKET,
    FOLDERS,
    FORWARD,
    INDEX,
    NAMES,
    OLD,
    ORIGIN,
    OWN_NAMES,
    REVERT,
    REVIEW,
    RULES,
    SHEET,
    SITE_COPY,
    Packet,
    aside,
    hash_of_json,
    index_bytes,
    is_input,
    is_page,
    older_index_bytes,
    unsealed,
)
from cfgmigrate.plan.edits import apply_edits, edits_by_file
from cfgmigrate.plan.model import FORMATS, Plan


class Fault(Struct, frozen=True):
    """What is wrong with one file of a packet."""

    file: str
    what: str

    def __str__(self) -> str:
        return f"{self.file}: {self.what}"


def content_hash(index: Mapping[str, Any], contents: Mapping[str, str]) -> str:
    """A packet's hash from changes.json as it is, which an older or newer release may have written."""
    planned = {name: value for name, value in index.items() if name not in {*FIELDS_OF_THE_PACKET, "root"}}
    given = {path: digest for path, digest in contents.items() if is_input(path)}
    return hash_of_json({"plan": planned, "files": given})


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
            self.plan = Plan.from_json(
                {name: value for name, value in rest.items() if name not in FIELDS_OF_THE_PACKET}
            )
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
        spelled = self.raw in (index_bytes(self.data), older_index_bytes(self.data))
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
        if self.written is None and content_hash(self.data, self.data["contents"]) != self.data.get("hash"):
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
