"""What was done to a configuration: one entry an install, a revert or a tuning, each bound to the last.

The history is a file of JSON lines in `.cfgmigrate/`. Its first line says how many entries there are and
the hash of the last; every entry carries the hash of the one before it and its own. So an entry that was
changed, removed, added or swapped is noticed, and said. What each entry changed is kept as a copy of the
file before and after, with the spans of the values, so that every step can be taken back.

This module deliberately takes nothing back: that is in `revert.py`.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.ground.findings import CfgError, Place, Refused
from cfgmigrate.ground.paths import OWN_FOLDER, checked_path, existing_root, read_ordinary
from cfgmigrate.packet.folder import hash_of_json
from cfgmigrate.plan.edits import FileStep, Span
from cfgmigrate.store.keeping import Store
from cfgmigrate.store.kept_reasons import are_reasons
from cfgmigrate.store.transaction import FileReplacement, carry_out

HISTORY = "history.jsonl"
HISTORY_PATH = f"{OWN_FOLDER}/{HISTORY}"
_START = ""
#: the kind of an entry that ticks what was done by hand; it touches no file, and its reasons name the items
DONE = "done"


class EntryFile(Struct, frozen=True):
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


class History(Struct, frozen=True):
    """The entries, oldest first, and what is wrong with the chain as a whole."""

    entries: tuple[HistoryEntry, ...]
    problems: tuple[str, ...] = ()

    def __iter__(self) -> Iterator[HistoryEntry]:
        return iter(self.entries)

    def __len__(self) -> int:
        return len(self.entries)

    @property
    def whole(self) -> bool:
        return not self.problems

    def to_json(self) -> dict[str, Any]:
        return {
            "whole": self.whole,
            "problems": list(self.problems),
            "entries": [entry.to_json() for entry in self.entries],
        }


def history(root: Path) -> History:
    """What was done to the configuration at `root`; empty where nothing was. Changes nothing.

    A broken chain is not an error here: each entry at fault says so, and `problems` lists it all.
    """
    return read_history(Store(existing_root(root)))


def read_history(store: Store) -> History:
    if not (store.folder / HISTORY).exists():
        return History(())
    raw = read_ordinary(store.folder / HISTORY, HISTORY_PATH)
    first, *lines = raw.decode("utf-8", "surrogateescape").split("\n")
    problems: list[str] = []
    entries: list[HistoryEntry] = []
    previous = _START
    copies: dict[str, str] = {}
    for number, line in enumerate(lines if lines and lines[-1] else lines[:-1], 1):
        entry = _entry(line, number, previous)
        if not entry.problem:
            entry = replace(entry, problem=_missing_copies(store, entry, copies))
        if entry.problem:
            problems.append(f"entry {number}: {entry.problem}")
        entries.append(entry)
        previous = entry.hash
    head = _head(len(entries), previous)
    if first != head:
        problems.append(
            f"the first line says {_counted(first)}, and {len(entries)} with another end were found"
        )
    return History(tuple(entries), tuple(problems))


def record(
    store: Store,
    kind: str,
    steps: Sequence[FileStep],
    real_paths: dict[str, str],
    packet: str,
    machine: str,
    now: datetime | None = None,
    reasons: Mapping[str, Any] | None = None,
) -> tuple[HistoryEntry, tuple[str, ...]]:
    """Carry out `steps` and add the entry, all or nothing. The caller holds the lock.

    `reasons` is plain JSON (`kept_reasons.py`; else ValueError). `real_paths` gives each step's own path below the root, without links. Returns the entry, and notes in
    words. Raises Refused as `carry_out`, and where the history so far is broken.
    """
    if reasons is not None and not are_reasons(dict(reasons)):
        raise ValueError("reasons of such a shape could not be read again")
    past = read_history(store)
    if not past.whole:
        raise Refused(
            "the history is broken: " + "; ".join(past.problems),
            Place(HISTORY_PATH),
            f"Nothing was changed. Look at it; to begin a new one, move {HISTORY_PATH} away (keep it).",
        )
    files = tuple(_entry_file(store, step, real_paths[step.path]) for step in steps)
    previous = past.entries[-1].hash if past.entries else _START
    time = (now or datetime.now(UTC)).strftime("%Y-%m-%dT%H:%M:%SZ")
    values = tuple(_values(steps))
    entry = HistoryEntry(len(past) + 1, kind, time, packet, machine, files, values, previous, reasons=reasons)
    entry = replace(entry, hash=hash_of_json(entry.content()))
    whole = _history_bytes((*past.entries, entry))
    present = read_ordinary(store.folder / HISTORY, HISTORY_PATH) if past.entries else None
    moves = [FileReplacement(real_paths[step.path], step.before, step.after) for step in steps]
    return entry, carry_out(store, kind, [*moves, FileReplacement(HISTORY_PATH, present, whole)])


def steps_of(store: Store, entry: HistoryEntry) -> tuple[FileStep, ...]:
    """The entry's changes with the bytes of its files. Raises Refused where a copy is missing."""
    return tuple(
        FileStep(
            checked_path(file.path, HISTORY_PATH),
            file.dialect,
            store.kept(file.before) if file.before is not None else None,
            store.kept(file.after),
            file.spans,
        )
        for file in entry.files
    )


def _entry_file(store: Store, step: FileStep, real: str) -> EntryFile:
    like = store.root / real
    before = store.keep(step.before, like) if step.before is not None else None
    return EntryFile(step.path, step.dialect, before, store.keep(step.after, like), step.spans)


def _values(steps: Sequence[FileStep]) -> Iterator[tuple[str, str, str]]:
    for step in steps:
        for span in step.spans:
            old = (step.before or b"")[span.before_start : span.before_end]
            new = step.after[span.after_start : span.after_end]
            yield span.name, readable_text(old), readable_text(new)


def readable_text(data: bytes) -> str:
    """A value's text as an entry keeps it."""
    return data.decode("utf-8", "backslashreplace")


def _history_bytes(entries: Sequence[HistoryEntry]) -> bytes:
    lines = [_head(len(entries), entries[-1].hash), *(_json(entry.to_json()) for entry in entries)]
    return ("\n".join(lines) + "\n").encode()


def _head(count: int, last: str) -> str:
    return _json({"format": 1, "entries": count, "last": last})


def _json(data: Any) -> str:
    return json.dumps(data, separators=(", ", ": "))


def _counted(first: str) -> str:
    try:
        return f"{int(json.loads(first)['entries'])} entries"
    except (ValueError, KeyError, TypeError, RecursionError):
        return "nothing that can be read"


def _entry(line: str, number: int, previous: str) -> HistoryEntry:
    try:
        data = json.loads(line)
        hash_ = data.pop("hash")
        files = tuple(
            EntryFile(**{**file, "spans": tuple(_span(span) for span in file["spans"])})
            for file in data.pop("files")
        )
        values = tuple((str(a), str(b), str(c)) for a, b, c in data.pop("values"))
        entry = HistoryEntry(**data, files=files, values=values, hash=hash_)
        if hash_of_json(entry.content()) != hash_ or _json(entry.to_json()) != line:
            return replace(entry, problem="it was changed after it was written")
        if not _well_formed(entry):
            raise TypeError
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return HistoryEntry(number, "?", "", "", "", (), (), "", problem="it can't be read")
    if entry.number != number or entry.previous != previous:
        return replace(
            entry, problem="it does not follow the one before it: something was removed, added or moved"
        )
    return entry


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


def _missing_copies(store: Store, entry: HistoryEntry, known: dict[str, str]) -> str:
    """What is wrong with the copies of an entry; `known` are those that were looked at, each with what was wrong."""
    for file in entry.files:
        for name in (file.before, file.after):
            if name is not None and name not in known:
                known[name] = _fault_of_copy(store, name)
            if name is not None and known[name]:
                return f"{file.path} can't be given back: {known[name]}"
    return ""


def _fault_of_copy(store: Store, name: str) -> str:
    try:
        store.kept(name)
    except CfgError as error:
        return str(error)
    return ""
