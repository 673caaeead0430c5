"""The entries of a history, each a line of JSON, and what makes a line one that can be believed.

An entry carries the hash of the one before it and its own. A line is read in one of two ways. In full, everything is
looked at: its hash, that it is written as this program writes, that it follows the one before, and the kinds of all its
fields. By its shape alone, it is taken as it stands, and its reasons, most of its bytes, are read when somebody asks for
them; that is for lines that are known, by the hash of them all, to have been read in full before.

What lines make up a history, and where they lie, is in `history.py`.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import Any

import msgspec
from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.ground.findings import Refused
from cfgmigrate.ground.later import Later
from cfgmigrate.packet.folder import hash_of_json
from cfgmigrate.plan.edits import Span
from cfgmigrate.store.kept_reasons import are_reasons

#: the kind of an entry that ticks what was done by hand; it touches no file, and its reasons name the items
DONE = "done"


class EntryFile(Struct, frozen=True, gc=False):
    """One file of an entry: the SHA-256 of its content before (None: there was none) and after."""

    path: str
    dialect: str
    before: str | None
    after: str
    spans: tuple[Span, ...]

    def to_json(self) -> dict[str, Any]:
        spans = [span.to_json() for span in self.spans]
        return {
            "path": self.path,
            "dialect": self.dialect,
            "before": self.before,
            "after": self.after,
            "spans": spans,
        }


class HistoryEntry(Struct, frozen=True):
    """One step. `kind` is install, tune, revert or done; `packet` the packet's content hash; `values` are
    (name, text before, text after); `reasons` are what `recorded_reasons.py` keeps of the packet, None in an entry
    without (a revert, or an older one). `problem` says why the entry can't be trusted, "" where it can."""

    number: int
    kind: str
    time: str
    packet: str
    machine: str
    files: tuple[EntryFile, ...]
    values: tuple[tuple[str, str, str], ...]
    previous: str
    hash: str = ""
    problem: str = ""
    reasons: Mapping[str, Any] | None = None

    def content(self) -> dict[str, Any]:
        """What its hash is of."""
        found = {
            "number": self.number,
            "kind": self.kind,
            "time": self.time,
            "packet": self.packet,
            "machine": self.machine,
            "files": [file.to_json() for file in self.files],
            "values": [list(value) for value in self.values],
            "previous": self.previous,
        }
        return found if self.reasons is None else {**found, "reasons": dict(self.reasons)}

    def to_json(self) -> dict[str, Any]:
        found = {**self.content(), "hash": self.hash}
        return {**found, "problem": self.problem} if self.problem else found

    @property
    def copies(self) -> Iterator[tuple[str, str]]:
        """The kept copies that it needs, each behind the path of its file."""
        for file in self.files:
            if file.before is not None:
                yield file.path, file.before
            yield file.path, file.after


class OthersEntry(Struct, frozen=True):
    """A step of another machine that shares the history, and changed `files` which the machine asked about has, too. `of` are
    files that only the other one has, `values` those of the shared ones, each with its file."""

    entry: int
    kind: str
    time: str
    files: tuple[str, ...]
    of: tuple[str, ...]
    values: tuple[tuple[str, str], ...]

    def to_json(self) -> dict[str, Any]:
        lists = {name: list(getattr(self, name)) for name in ("files", "of")}
        return {"entry": self.entry, "kind": self.kind, "time": self.time, **lists}


_NONE = msgspec.Raw(b"")


class _Line(Struct, frozen=True):
    """An entry as a line has it, its reasons unread."""

    number: int
    kind: str
    time: str
    packet: str
    machine: str
    files: tuple[EntryFile, ...]
    values: tuple[tuple[str, str, str], ...]
    previous: str
    hash: str
    reasons: msgspec.Raw = _NONE


_DECODER = msgspec.json.Decoder(_Line)


def line_of(entry: HistoryEntry) -> str:
    return json_line(entry.to_json())


def json_line(data: Any) -> str:
    return json.dumps(data, separators=(", ", ": "))


def entry_of(line: str, number: int, previous: str) -> HistoryEntry:
    """A line read in full, at its place in the history. What is wrong with it is said in its `problem`."""
    try:
        data = json.loads(line)
        hash_ = data.pop("hash")
        files = tuple(
            EntryFile(**{**file, "spans": tuple(_span(span) for span in file["spans"])})
            for file in data.pop("files")
        )
        values = tuple((str(a), str(b), str(c)) for a, b, c in data.pop("values"))
        entry = HistoryEntry(**data, files=files, values=values, hash=hash_)
        if hash_of_json(entry.content()) != hash_ or line_of(entry) != line:
            told = entry if _well_formed(entry) else replace(unreadable(number), hash=str(hash_))
            return replace(told, problem="it was changed after it was written")
        if not _well_formed(entry):
            raise TypeError
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return unreadable(number)
    if entry.number != number or entry.previous != previous:
        return replace(
            entry, problem="it does not follow the one before it: something was removed, added or moved"
        )
    return entry


def unreadable(number: int) -> HistoryEntry:
    """What stands for an entry of which nothing can be told."""
    return HistoryEntry(number, "?", "", "", "", (), (), "", problem="it can't be read")


def entries_known(lines: bytes, number: int, previous: str) -> tuple[HistoryEntry, ...]:
    """Lines that were read in full before, by their shape alone; `number` and `previous` are for the first of them.
    Where that does not do (a name of a file that is no text, say), they are read in full."""
    try:
        return tuple(_entry_known(line) for line in _DECODER.decode_lines(lines))
    except (msgspec.MsgspecError, UnicodeError, RecursionError):
        found: list[HistoryEntry] = []
        for at, line in enumerate(lines.decode("utf-8", "surrogateescape").split("\n")[:-1], number):
            found.append(entry_of(line, at, found[-1].hash if found else previous))
        return tuple(found)


def _entry_known(line: _Line) -> HistoryEntry:
    reasons = Later(lambda: _reasons(line)) if bytes(line.reasons) else None
    head = (line.number, line.kind, line.time, line.packet, line.machine)
    return HistoryEntry(*head, line.files, line.values, line.previous, line.hash, "", reasons)


def _reasons(line: _Line) -> Mapping[str, Any]:
    """The reasons of a line. Raises Refused where they are none."""
    try:
        found = json.loads(bytes(line.reasons))
    except (ValueError, RecursionError):
        found = None
    if not isinstance(found, dict) or not are_reasons(found):
        raise Refused(f"the reasons of entry {line.number} of the history can't be read")
    return found


def _well_formed(entry: HistoryEntry) -> bool:
    """Whether every field is of its kind; whoever writes an entry by hand can make its hash anew."""
    texts = [entry.kind, entry.time, entry.packet, entry.machine, entry.previous]
    texts += [
        text for file in entry.files for text in (file.path, file.dialect, file.after, file.before or "")
    ]
    reasons = entry.reasons is None or are_reasons(entry.reasons)
    return all(isinstance(text, str) for text in texts) and type(entry.number) is int and reasons


def _span(found: list[Any]) -> Span:
    quantity, *places = found
    return Span(str(quantity), *(int(place) for place in places))
