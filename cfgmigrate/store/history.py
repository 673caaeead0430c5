"""What was done to a configuration: one entry an install, a revert or a tuning, each bound to the last.

The history is a file of JSON lines in `.cfgmigrate/`. Its first line says how many entries there are and
the hash of the last; every entry carries the hash of the one before it and its own. So an entry that was
changed, removed, added or swapped is noticed, and said. What each entry changed is kept as a copy of the
file before and after, with the spans of the values, so that every step can be taken back.

How it is read is in `chain.py`: what was found whole before and has not been touched since (`checked.py`) is not read
again, so that no command takes longer for a long history than for a short one, unless it shows all of it.

This module deliberately takes nothing back: that is in `revert.py`.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.ground.findings import Place, Refused
from cfgmigrate.ground.hashing import sha256
from cfgmigrate.ground.paths import HISTORY, KEPT, checked_path, existing_root
from cfgmigrate.packet.folder import hash_of_json
from cfgmigrate.plan.edits import FileStep
from cfgmigrate.store.chain import (
    BUNDLE,
    HISTORY_PATH,
    LEFT,
    NO_ENTRY,
    FoundChain,
    head_of,
    read_chain,
)
from cfgmigrate.store.checked import FoundWhole, changed_at, read_note, write_note
from cfgmigrate.store.entries import (
    EntryFile,
    HistoryEntry,
    OthersEntry,
    line_of,
)
from cfgmigrate.store.keeping import Store
from cfgmigrate.store.kept_reasons import are_reasons
from cfgmigrate.store.transaction import FileReplacement, carry_out


class History(Struct, frozen=True):
    """The entries, oldest first, and what is wrong with the chain as a whole. Where one of several machines was asked about,
    the entries are its own, and `others` are those by which another one changed its files. Where several were asked about at once,
    `several` are the files that each of them has alone. Where there is none here, `below` are the folders in which one was found."""

    entries: Sequence[HistoryEntry]
    problems: tuple[str, ...] = ()
    others: tuple[OthersEntry, ...] = ()
    several: tuple[tuple[str, ...], ...] = ()
    below: tuple[str, ...] = ()

    def __iter__(self) -> Iterator[HistoryEntry]:
        return iter(self.entries)

    def __len__(self) -> int:
        return len(self.entries)

    @property
    def whole(self) -> bool:
        return not self.problems

    def to_json(self, newest: int | None = None) -> dict[str, Any]:
        """All of it, or only so many of the newest entries."""
        first = 0 if newest is None else max(len(self) - newest, 0)
        return {
            "whole": self.whole,
            "problems": list(self.problems),
            "entries": [entry.to_json() for entry in self.entries[first:]],
            **({"others": [each.to_json() for each in self.others]} if self.others else {}),
            **({"below": list(self.below)} if self.below else {}),
        }


def history(root: Path, anew: bool = False) -> History:
    """What was done to the configuration at `root`; empty where nothing was. Changes nothing.

    A broken chain is not an error here: each entry at fault says so, and `problems` lists it all. With `anew` every
    entry and every kept copy is read, whatever was read before.
    """
    return read_history(Store(existing_root(root)), anew)


def read_history(store: Store, anew: bool = False) -> History:
    found = read_chain(store, {} if anew else read_note(store))
    return History(found.entries, found.problems)


def refuse_broken(problems: Sequence[str]) -> None:
    """Raises Refused where these are the problems of a history: nothing more is recorded in it. A dry run asks too."""
    if problems:
        raise Refused(
            "the history is broken: " + "; ".join(problems),
            Place(HISTORY_PATH),
            f"Nothing was changed. Look at it; to begin a new one, move {HISTORY_PATH} away (keep it). After that each "
            "packet can be reverted by itself.",
        )


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
    note = read_note(store)
    found = read_chain(store, note)
    refuse_broken(found.problems)
    files = tuple(_entry_file(store, step, real_paths[step.path]) for step in steps)
    previous = found.entries[-1].hash if found.entries else NO_ENTRY
    time = (now or datetime.now(UTC)).strftime("%Y-%m-%dT%H:%M:%SZ")
    values = tuple(_values(steps))
    entry = HistoryEntry(
        len(found.entries) + 1, kind, time, packet, machine, files, values, previous, reasons=reasons
    )
    entry = replace(entry, hash=hash_of_json(entry.content()))
    marks, lines = _bundled(store, found, [*found.lines, line_of(entry)])
    whole = "\n".join([head_of(entry.number, entry.hash, list(marks)), *lines, ""]).encode()
    moves = [FileReplacement(real_paths[step.path], step.before, step.after) for step in steps]
    notes = carry_out(store, kind, [*moves, FileReplacement(HISTORY_PATH, found.raw, whole)])
    _clear_up(store, [found.raw, whole])
    _note_down(store, found, marks, note)
    return entry, notes


def _bundled(store: Store, found: FoundChain, lines: list[str]) -> tuple[dict[str, FoundWhole], list[str]]:
    """All bundles with their marks, the newest ones made of the oldest lines, and the lines that are left."""
    marks = dict(found.marks)
    entries = found.entries
    first = len(entries) + 2 - len(lines)
    while len(lines) >= BUNDLE + LEFT:
        name = store.keep("\n".join([*lines[:BUNDLE], ""]).encode(), store.folder / HISTORY)
        mine = entries[first - 1 : first - 1 + BUNDLE]
        copies = dict.fromkeys([name, *(copy for entry in mine for _, copy in entry.copies)])
        marks[name] = FoundWhole(first, mine[0].previous, mine[-1].hash, copies)
        lines, first = lines[BUNDLE:], first + BUNDLE
    return marks, lines


def _clear_up(store: Store, texts: Sequence[bytes | None]) -> None:
    """The history's own texts are copies that only an interrupted change needs."""
    if not store.pending:
        for text in texts:
            if text is not None:
                with contextlib.suppress(OSError):
                    (store.folder / KEPT / sha256(text)).unlink()


def _note_down(
    store: Store, found: FoundChain, marks: Mapping[str, FoundWhole], note: Mapping[str, FoundWhole]
) -> None:
    """Note which bundles are whole, where that is not noted yet."""
    with contextlib.suppress(OSError):
        now = changed_at(store, HISTORY)
        fresh = {
            name: found.looked.mark(mark.first, mark.previous, mark.last, mark.copies, now)
            for name, mark in marks.items()
        }
        if fresh != note:
            write_note(store, fresh)


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
