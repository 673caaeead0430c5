"""How the steps of a history stand in the files, newest first, each looked up once and only where it must be.

A step is looked up in a file by aligning and reading that file as it was left, which is dear, and a history may have a
thousand steps. Where newer steps of it wrote the same values and these are found in the files, what is there now is
known, and a step's own texts tell how it stands: nothing of its copies is read. So the work is that of the values that
were ever changed, not of the number of steps.

Nothing is written here, and no conclusion drawn.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from typing import TypeVar

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.apply.locate import LocatedSpan, SpanState, locate
from cfgmigrate.ground.later import Later
from cfgmigrate.store.entries import EntryFile, HistoryEntry
from cfgmigrate.store.history import readable_text, steps_of
from cfgmigrate.store.keeping import Store

_Each = TypeVar("_Each")

GONE_BACK = "revert"

#: a value of a step: its file, its name, and which of the values of that name in that file it is
StepValue = tuple[str, str, int]


class StoodValue(Struct, frozen=True):
    """How a value of a step stands, and the bytes of its file and the text in which it is found."""

    state: SpanState
    start: int
    end: int
    present: str


class PastStep(Struct, frozen=True):
    """A step and how its values stand, in those of its files that are there. `standing` are those that it put in and are
    still there, or were changed by something else than a revert, `reverted` those that were taken back later. `replaced`
    is true where all of them were taken back, and newer steps that stand wrote all of them anew: what stands is theirs."""

    entry: HistoryEntry
    values: Mapping[StepValue, StoodValue]
    standing: tuple[StepValue, ...]
    reverted: frozenset[StepValue]
    replaced: bool


class Lookup:
    """Where the values of steps stand in files; what was looked up once is kept."""

    def __init__(self, store: Store) -> None:
        self.store = store
        self._known: dict[tuple[EntryFile, bytes], tuple[LocatedSpan, ...]] = {}

    def located(
        self, entry: HistoryEntry, files: Mapping[str, bytes]
    ) -> tuple[tuple[str, tuple[LocatedSpan, ...]], ...]:
        """The values of a step in each of its files that is there. Raises Refused where a copy is missing."""
        keys = [(file, files[file.path]) for file in entry.files if file.path in files]
        if any(key not in self._known for key in keys):
            for file, step in zip(entry.files, steps_of(self.store, entry), strict=True):
                if file.path in files:
                    self._known[file, files[file.path]] = locate(step, files[file.path])
        return tuple((file.path, self._known[file, data]) for file, data in keys)


def newest_first(
    entries: Sequence[HistoryEntry], lookup: Lookup, files: Mapping[str, bytes], *kinds: str
) -> Iterator[PastStep]:
    """The steps of these kinds, newest first. Raises Refused where a copy that is needed is missing."""
    reverts = _last_reverts(entries)
    newer: dict[StepValue, StoodValue] = {}
    stand: set[StepValue] = set()
    for entry in reversed(entries):
        if entry.kind not in kinds:
            continue
        texts = _texts(entry, files)
        values: Mapping[StepValue, StoodValue]
        if known := bool(texts) and newer.keys() >= texts.keys():
            values = _told_later(texts, newer)
            states = {name: _state(newer[name].present, *pair) for name, pair in texts.items()}
        else:
            found = _looked_up(lookup.located(entry, files))
            values = {name: _stood(each) for name, each in found.items()}
            states = {name: each.state for name, each in found.items()}
            for name, each in found.items():
                # where the whole of a setting was found for one word of it, other steps' texts can't be held against it
                if (
                    each.state is not SpanState.GONE
                    and readable_text(each.installed) == texts.get(name, ("", None))[1]
                ):
                    newer.setdefault(name, values[name])
        reverted = frozenset(name for name in states if reverts.get(name[:2], 0) > entry.number)
        standing = tuple(
            name
            for name, state in states.items()
            if state is SpanState.INSTALLED or (state is not SpanState.OLD and name not in reverted)
        )
        replaced = known and len(reverted) == len(states) and stand >= states.keys()
        stand.update(standing)
        yield PastStep(entry, values, standing, reverted, replaced)


def _told_later(
    texts: Mapping[StepValue, tuple[str, str]], newer: Mapping[StepValue, StoodValue]
) -> Mapping[StepValue, StoodValue]:
    """The values as a step sees them that wrote these texts; what is in `newer` stays."""
    return Later(
        lambda: {
            name: replace(newer[name], state=_state(newer[name].present, *pair))
            for name, pair in texts.items()
        }
    )


def _state(now: str, old: str, new: str) -> SpanState:
    """How a value stands for a step that wrote `new` where `old` was."""
    return SpanState.INSTALLED if now == new else SpanState.OLD if now == old else SpanState.CHANGED


def _looked_up(located: Iterable[tuple[str, tuple[LocatedSpan, ...]]]) -> dict[StepValue, LocatedSpan]:
    return _numbered(((path, each.span.name), each) for path, several in located for each in several)


def _stood(found: LocatedSpan) -> StoodValue:
    return StoodValue(found.state, found.start, found.end, readable_text(found.present))


def _texts(entry: HistoryEntry, files: Container[str]) -> dict[StepValue, tuple[str, str]]:
    """The text before and after of each value of a step, in files that are there; nothing where the entry does not
    tell them all."""
    names = [(file.path, span.name) for file in entry.files for span in file.spans]
    if [name for name, _, _ in entry.values] != [name for _, name in names]:
        return {}
    pairs = [(old, new) for _, old, new in entry.values]
    told = dict(zip([(*name, 0) for name in names], pairs, strict=True))
    if len(told) < len(names):
        told = _numbered(zip(names, pairs, strict=True))
    if all(file.path in files for file in entry.files):
        return told
    return {value: texts for value, texts in told.items() if value[0] in files}


def _numbered(values: Iterable[tuple[tuple[str, str], _Each]]) -> dict[StepValue, _Each]:
    """Those of one name in one file get numbers."""
    counted: Counter[tuple[str, str]] = Counter()
    found: dict[StepValue, _Each] = {}
    for name, each in values:
        found[*name, counted[name]] = each
        counted[name] += 1
    return found


def _last_reverts(entries: Iterable[HistoryEntry]) -> dict[tuple[str, str], int]:
    """For each file and name the number of the last revert that touched it."""
    return {
        (file.path, span.name): entry.number
        for entry in entries
        if entry.kind == GONE_BACK
        for file in entry.files
        for span in file.spans
    }
