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

This module says what a packet is and by what it is known; `opening.py` reads and checks one, `write.py` writes it. None of
them works out a value.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import cached_property
from pathlib import Path
from typing import Any

import msgspec
from msgspec import Struct, field

from cfgmigrate.ground.hashing import sha256 as sha256
from cfgmigrate.ground.once import once
from cfgmigrate.ground.paths import checked_path
from cfgmigrate.ground.plain_json import inert_json
from cfgmigrate.plan.edits import FileStep, apply_edits, edits_by_file, spans_of
from cfgmigrate.plan.model import Change, Plan

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
#: fields of changes.json that are the packet's own and not the plan's
FIELDS_OF_THE_PACKET = frozenset({"prepared_by", "in_place_of", "contents", "hash", "seal"})

_SEAL_LINE = b"seal: "


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


def index_bytes(data: Mapping[str, Any]) -> bytes:
    """changes.json as it is written; there is one spelling only."""
    return inert_json(_index_text(data)).encode("utf-8", "surrogateescape")


def older_index_bytes(data: Mapping[str, Any]) -> bytes:
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


def is_input(path: str) -> bool:
    """Whether a file of a packet belongs to its content: it was read, put in, or comes out."""
    return path in {SHEET, SITE_COPY, NAMES} or path.startswith(FOLDERS)


def is_page(path: str) -> bool:
    """Whether a file of a packet is one of its pages for people."""
    return "/" not in path and path not in {SHEET, SITE_COPY, NAMES, FORWARD, REVERT, REVIEW, INDEX}
