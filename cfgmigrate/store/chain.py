"""The chain of a history's entries, followed from its start.

The history's file holds the newest entries. Older ones are bundled, sixteen by sixteen, each bundle a kept copy like any
other, and the file's first line names them, oldest first. So what an install has to write, and to read in full, does not
grow with the history. A bundle that was found whole and has not been touched since (`checked.py`) is read when somebody
asks for its entries. Where anything at all is wrong with the chain, it is read in full once more, to tell what it is.

How a line becomes an entry is in `entries.py`, and how one is added in `history.py`.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.ground.findings import CfgError, Place, Refused
from cfgmigrate.ground.paths import HISTORY, KEPT, OWN_FOLDER, read_ordinary
from cfgmigrate.store.checked import FoundWhole, Looked
from cfgmigrate.store.entries import HistoryEntry, entries_known, entry_of, json_line, unreadable
from cfgmigrate.store.keeping import COPY_NAME, Store

HISTORY_PATH = f"{OWN_FOLDER}/{HISTORY}"
#: so many entries make a bundle
BUNDLE = 16
#: and so many, the newest, are left in the file at least
LEFT = 8
NO_ENTRY = ""


class _Bundled(Sequence[HistoryEntry]):
    """The entries of bundles, each read when it is asked for, and those behind them."""

    def __init__(
        self, bundles: Sequence[Callable[[], tuple[HistoryEntry, ...]]], rest: tuple[HistoryEntry, ...]
    ) -> None:
        self._bundles = bundles
        self._rest = rest
        self._read: dict[int, tuple[HistoryEntry, ...]] = {}

    def __len__(self) -> int:
        return len(self._bundles) * BUNDLE + len(self._rest)

    def __getitem__(self, index: Any) -> Any:
        places = range(len(self))[index]  # raises IndexError
        return self._at(places) if isinstance(places, int) else tuple(self._at(each) for each in places)

    def _at(self, place: int) -> HistoryEntry:
        number, place = divmod(place, BUNDLE)
        if number >= len(self._bundles):
            return self._rest[(number - len(self._bundles)) * BUNDLE + place]
        if number not in self._read:
            self._read[number] = self._bundles[number]()
        return self._read[number][place]


class FoundChain(Struct, frozen=True):
    """A history as it was read: the file's own bytes, its lines without the first, the names of the bundles before
    them with their marks, and what the copies looked like."""

    entries: Sequence[HistoryEntry]
    problems: tuple[str, ...]
    raw: bytes | None
    lines: tuple[str, ...]
    marks: Mapping[str, FoundWhole]
    looked: Looked


def read_chain(store: Store, note: Mapping[str, FoundWhole]) -> FoundChain:
    """The history; what the note says of its bundles is believed as long as nothing is wrong anywhere."""
    looked = Looked(store)
    if not store.holds(HISTORY):
        return FoundChain((), (), None, (), {}, looked)
    raw = read_ordinary(store.folder / HISTORY, HISTORY_PATH)
    first, *lines = _lines(raw)
    chain = _Chain(store, looked, note)
    for name in _bundles_named(first):
        chain.take_bundle(name)
    entries = chain.take(lines)
    last = entries[-1].hash if entries else chain.previous
    head = head_of(chain.number, last, list(chain.marks))
    if first != head:
        chain.problems.append(
            f"the first line says {_counted(first)}, and {chain.number} with another end were found"
        )
    if chain.problems and note:
        return read_chain(store, {})
    every = _Bundled(chain.bundles, entries) if chain.bundles else entries
    return FoundChain(every, tuple(chain.problems), raw, tuple(lines), chain.marks, looked)


class _Chain:
    """A history while it is followed from its start: how many entries there were, and the hash of the last."""

    def __init__(self, store: Store, looked: Looked, note: Mapping[str, FoundWhole]) -> None:
        self.store = store
        self.looked = looked
        self.note = note
        self.number = 0
        self.previous = NO_ENTRY
        self.problems: list[str] = []
        self.bundles: list[Callable[[], tuple[HistoryEntry, ...]]] = []
        self.marks: dict[str, FoundWhole] = {}

    def take_bundle(self, name: str) -> None:
        mark, first = self.note.get(name), self.number + 1
        if (
            mark is not None
            and (mark.first, mark.previous) == (first, self.previous)
            and not any(self.looked.fault(copy, look) for copy, look in {name: None, **mark.copies}.items())
        ):
            self.bundles.append(lambda: _entries_in(self.store, name, mark))
            self.number, self.previous, self.marks[name] = first - 1 + BUNDLE, mark.last, mark
            return
        before = self.previous
        lines = _lines_of_bundle(self.store, name)
        if fault := self.looked.fault(name) or (
            "" if len(lines) == BUNDLE else "another number of them is there"
        ):
            self.problems.append(f"entries {first} to {first - 1 + BUNDLE}: {fault}")
        entries = self.take([*lines, *[""] * BUNDLE][:BUNDLE])
        self.bundles.append(lambda: entries)
        copies = {name: None, **{copy: None for entry in entries for _, copy in entry.copies}}
        self.marks[name] = FoundWhole(first, before, self.previous, dict.fromkeys(copies))

    def take(self, lines: Sequence[str]) -> tuple[HistoryEntry, ...]:
        """The entries in these lines, read in full."""
        return tuple(self._entry(line) for line in lines)

    def _entry(self, line: str) -> HistoryEntry:
        self.number += 1
        entry = entry_of(line, self.number, self.previous) if line else unreadable(self.number)
        if not entry.problem:
            entry = replace(entry, problem=_missing_copies(entry, self.looked))
        if entry.problem:
            self.problems.append(f"entry {self.number}: {entry.problem}")
        self.previous = entry.hash
        return entry


def _lines(raw: bytes) -> list[str]:
    """The lines, without their ends; one that has no end is a line too."""
    first, *lines = raw.decode("utf-8", "surrogateescape").split("\n")
    return [first, *(lines if lines and lines[-1] else lines[:-1])]


def _bundles_named(first: str) -> list[str]:
    """The bundles that the first line names; none where it can't be read, which is told when it is held against what it
    should be."""
    try:
        names = json.loads(first)["bundles"]
    except (ValueError, KeyError, TypeError, RecursionError):
        return []
    known = isinstance(names, list) and all(
        isinstance(name, str) and COPY_NAME.fullmatch(name) for name in names
    )
    return names if known and len(set(names)) == len(names) else []


def _lines_of_bundle(store: Store, name: str) -> list[str]:
    """The lines of a bundle as far as they are there, damaged or not."""
    try:
        return _lines(read_ordinary(store.folder / KEPT / name, f"{OWN_FOLDER}/{KEPT}/{name}"))
    except (CfgError, ValueError):
        return []


def _entries_in(store: Store, name: str, mark: FoundWhole) -> tuple[HistoryEntry, ...]:
    """The entries of a bundle that was found whole. Raises Refused where its copy is damaged, or is none such."""
    entries = entries_known(store.kept(name), mark.first, mark.previous)
    previous = mark.previous
    for number, entry in enumerate(entries, mark.first):
        if entry.problem or (entry.number, entry.previous) != (number, previous):
            break
        previous = entry.hash
    if len(entries) != BUNDLE or previous != mark.last:
        raise Refused("this is no part of the history", Place(f"{OWN_FOLDER}/{KEPT}/{name}"))
    return entries


def head_of(count: int, last: str, bundles: Sequence[str]) -> str:
    if not bundles:
        return json_line({"format": 1, "entries": count, "last": last})
    return json_line({"format": 2, "entries": count, "last": last, "bundles": bundles})


def _counted(first: str) -> str:
    try:
        return f"{int(json.loads(first)['entries'])} entries"
    except (ValueError, KeyError, TypeError, RecursionError):
        return "nothing that can be read"


def _missing_copies(entry: HistoryEntry, looked: Looked) -> str:
    """What is wrong with the copies of an entry."""
    for path, copy in entry.copies:
        if fault := looked.fault(copy):
            return f"{path} can't be given back: {fault}"
    return ""
