"""What earlier installs of the same swap did to a configuration, and the files as the old machine had them.

A swap may be carried out in parts: a review lets some values in and holds others back. What is left must
still be worked out from the old machine, because the files describe half of each. The history beside the
configuration has all it takes: this module follows it back over the installs of the swap that still stand,
puts their old texts in again, and keeps every other edit made since. A value that was held back then and
edited or tuned since counts as settled by hand: it gets its old text too, and is not planned again. An
installed value that can't be found any more (its line moved to another file, its file renamed) is lost: where
the files still set it, it would be worked out a second time from what was installed.

Nothing is written here, and no value is worked out. `remaining.py` draws the consequence for a plan.
"""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from msgspec import Struct

from cfgmigrate.apply.former_words import in_present_words
from cfgmigrate.apply.locate import LocatedSpan, SpanState, locate, undo
from cfgmigrate.apply.other_machines import is_others, others_files_of
from cfgmigrate.apply.past_steps import GONE_BACK, Lookup, PastStep, newest_first
from cfgmigrate.apply.told_by_hand import told_before
from cfgmigrate.dialects.document import readable
from cfgmigrate.ground.findings import CfgError, Place, Refused
from cfgmigrate.packet.folder import Packet
from cfgmigrate.plan.basis import Basis, Install, Lost, TakenOver, ToldAge, ToldByHand
from cfgmigrate.plan.edits import Draft, FileStep, Offsets, Span, spans_of
from cfgmigrate.plan.identity import parts_of
from cfgmigrate.plan.model import Change
from cfgmigrate.rules.age import Age, Past, Told
from cfgmigrate.store.entries import HistoryEntry
from cfgmigrate.store.history import History, steps_of
from cfgmigrate.store.keeping import Store

Said = Callable[[str], Mapping[str, str]]
"""What a sheet says of a holder (by its name): the fields of that holder's flat sheet, and their texts."""


class Earlier(Struct, frozen=True):
    """The installs of the swap that stand, oldest first; the files as the old machine had them, with later
    edits kept; each value that was taken back for that, in each file's order; and by name what is lost."""

    entries: tuple[Install, ...]
    old: Mapping[str, bytes]
    taken: Mapping[str, tuple[TakenOver, ...]]
    lost: Mapping[str, Lost]
    #: whether the sheet says all that the last of them moved by
    whole: bool = True
    #: the numbers of installs that tell nothing any more: they were taken back, and their values written anew
    replaced: frozenset[int] = frozenset()
    #: what they told to do by hand
    told: tuple[ToldByHand, ...] = ()


def earlier_installs(
    past: History, root: Path, present: Mapping[str, bytes], said: Said, whatever: bool = False
) -> Earlier | None:
    """The installs at `root`, whose history is `past`, that were of the swap of which a sheet says `said`; None where
    none stands. `present` are the files as they are.

    Of an install those values are of this swap that moved by what the sheet says of their holder still: it may tell
    of more feeders and filaments by now. With `whatever`, the last install counts as one of this swap, whatever its
    sheet said. Raises Refused where the history or its copies can't be trusted.
    """
    if not past.whole:
        raise Refused(
            "the history is broken, so nothing tells which parts of this swap are installed already: "
            + "; ".join(past.problems),
            Place(str(root)),
            "Nothing was written. Revert the last packet first, or move the history elsewhere (keep it).",
        )
    store, past = Store(root.resolve()), in_present_words(past)
    lookup = Lookup(store)
    seen = [each for each in newest_first(past.entries, lookup, present, "install") if each.standing]
    still = [each for each in seen if not each.replaced]
    others = {each.entry.number: others_files_of(store, each.entry, present, past) for each in still}
    chain = _chain(
        still,
        said,
        whatever,
        {each.entry.number for each in still if is_others(each.entry, others[each.entry.number], present)},
    )
    if not chain:
        return None
    files = {path: _File(path, data) for path, data in present.items()}
    lost: dict[str, Lost] = {}
    for entry, mine, reverted in chain:
        steps = steps_of(store, entry)
        there = dict(lookup.located(entry, present))
        for step in steps:
            for span in () if step.path in others[entry.number] else _gone(step, there.get(step.path)):
                if span.name in mine and (step.path, span.name) not in reverted:
                    installed = readable(step.after[span.after_start : span.after_end])
                    lost.setdefault(span.name, Lost(span.name, step.path, installed, _install(entry)))
        for step in (*steps, *_held_steps(store, entry)):
            if step.path in files:
                files[step.path].take_back(step, entry, mine)
    taken = {path: found for path, file in files.items() if (found := file.taken())}
    old = {path: file.draft.data for path, file in files.items()}
    last, mine, _ = chain[0]
    left = [file for file in last.files if file.path not in others[last.number]]
    whole = all(span.name in mine for file in left for span in file.spans)
    entries = tuple(_install(entry) for entry, *_ in reversed(chain))
    replaced = frozenset(each.entry.number for each in seen if each.replaced)
    told = told_before(
        entry for entry, *_ in reversed(chain) if not is_others(entry, others[entry.number], present)
    )
    return Earlier(entries, old, taken, lost, whole, replaced, told)


def told_by(
    past: History, root: Path, files: Mapping[str, bytes], said: Said, earlier: Earlier | None
) -> Past:
    """What the history tells of the age of what stands in `files`, which are those of the old machine where `earlier`
    took something back. Another machine's install tells of the values in files that both have, and of nothing else."""
    store, past = Store(root.resolve()), in_present_words(past)
    mine = {entry.number for entry in earlier.entries} if earlier is not None else set()
    written: dict[tuple[str, int, int], Told] = {}
    restored: dict[tuple[str, int, int], Told] = {}
    inputs: set[str] | None = set()
    holders: set[str] = set()
    installs = False
    replaced = earlier.replaced if earlier is not None else frozenset()
    entries = [entry for entry in past.entries if past.whole and entry.number not in replaced]
    for seen in newest_first(entries, Lookup(store), files, "install"):
        entry = seen.entry
        if entry.number not in mine and (seen.replaced or not seen.standing):
            continue
        if not is_others(entry, others_files_of(store, entry, files, past), files):
            installs = True
            read = (entry.reasons or {}).get("inputs")
            inputs = None if inputs is None or read is None else inputs | {str(path) for path in read}
            holders.update(str(name) for name in (entry.reasons or {}).get("holders", ()))
        for (path, name, _), found in seen.values.items():
            span = (path, found.start, found.end)
            if found.start == found.end:
                continue
            if found.state is SpanState.OLD:
                why = f"it is as it was before entry {entry.number} of the history"
                restored.setdefault(span, Told(Age.OLD, why))
            elif found.state is not SpanState.GONE:
                written.setdefault(span, _age_of(entry, name, said))
        for step in _held_steps(store, entry):
            for held in locate(step, files[step.path]) if step.path in files else ():
                if held.state is SpanState.INSTALLED:
                    why = f"entry {entry.number} of the history held it back"
                    restored.setdefault((step.path, held.start, held.end), Told(Age.OLD, why))
    taken = {
        (path, each.after_start, each.after_end)
        for path, several in (earlier.taken if earlier is not None else {}).items()
        for each in several
    }
    known = None if inputs is None else frozenset(inputs)
    return Past({**restored, **written}, frozenset(taken), installs, known, frozenset(holders))


def basis_of(past: Past, earlier: Earlier | None) -> Basis:
    """What the history told, as a packet records it."""
    return Basis(
        installs=past.installs,
        inputs=None if past.inputs is None else tuple(sorted(past.inputs)),
        holders=tuple(sorted(past.holders)),
        ages=tuple(ToldAge(*span, str(told.age), told.why) for span, told in sorted(past.written.items())),
        entries=earlier.entries if earlier else (),
        taken=tuple(each for several in earlier.taken.values() for each in several) if earlier else (),
        lost=tuple(earlier.lost.values()) if earlier else (),
        told=earlier.told if earlier else (),
    )


def recalled(basis: Basis, old: Mapping[str, bytes]) -> tuple[Past, Earlier | None]:
    """The same from what a packet recorded. `old` are the files as the old machine had them. Raises ValueError
    where an age is none."""
    taken: dict[str, tuple[TakenOver, ...]] = {}
    for each in basis.taken:
        taken[each.file] = (*taken.get(each.file, ()), each)
    past = Past(
        {(each.file, each.start, each.end): Told(Age(each.age), each.why) for each in basis.ages},
        frozenset((each.file, each.after_start, each.after_end) for each in basis.taken),
        basis.installs,
        None if basis.inputs is None else frozenset(basis.inputs),
        frozenset(basis.holders),
    )
    if not basis.entries:
        return past, None
    lost = {each.name: each for each in basis.lost}
    return past, Earlier(basis.entries, old, taken, lost, told=basis.told)


def _install(entry: HistoryEntry) -> Install:
    return Install(entry.number, entry.packet)


def _age_of(entry: HistoryEntry, name: str, said: Said) -> Told:
    """The age of a value that stands as an install put it there, by another cause than the sheet's."""
    now, then = said(parts_of(name)[1]), _said_then(entry, name)
    pairs = [
        (text, then[was]) for path, text in now.items() for was in (_new_side(path),) if was and was in then
    ]
    by = f"entry {entry.number} of the history ({entry.kind}) wrote it"
    if pairs and all(one == other for one, other in pairs):
        return Told(Age.OLD, f"{by}, and what was new then is the old side of this sheet")
    return Told(Age.UNKNOWN, f"{by} by what another sheet said")


def _new_side(path: str) -> str:
    """The field that said of the new side what a field says of the old one; "" where it says nothing of the old."""
    if path.startswith("old."):
        return "new." + path.removeprefix("old.")
    return path.replace(".old_", ".new_") if ".old_" in path else ""


def _said_then(entry: HistoryEntry, name: str) -> Mapping[str, str]:
    """What the sheet of an install said of a value's holder, as far as the history kept it."""
    reasons = entry.reasons or {}
    cause = _cause(entry, name)
    return {**{str(path): str(text) for path, text in reasons.get("said", ())}, **(cause or {})}


def partly_installed(past: History, root: Path, present: Mapping[str, bytes]) -> HistoryEntry | None:
    """The last install at `root` of this machine, where it stands and held values back; else None."""
    if not past.whole:
        return None
    installs = (entry for entry in reversed(past.entries) if entry.kind == "install")
    store = Store(root.resolve())
    mine = (
        entry
        for entry in installs
        if not is_others(entry, others_files_of(store, entry, present, past), present)
    )
    last = next(mine, None)
    if last is None or not _held(last):
        return None
    return last if step_stands(last, past, root, present) else None


def step_stands(entry: HistoryEntry, past: History, root: Path, present: Mapping[str, bytes]) -> bool:
    """Whether anything of a step is still in these files, whatever came after it."""
    later = [each for each in past.entries[entry.number :] if each.kind == GONE_BACK]
    lookup = Lookup(Store(root.resolve()))
    return any(seen.standing for seen in newest_first((entry, *later), lookup, present, entry.kind))


def held_values(
    store: Store, packet: Packet, changes: Sequence[Change], why: Mapping[str, str]
) -> dict[str, Any]:
    """What the history is to keep of the values that an install of `changes` alone holds back, with the reason
    for each: where they stand in the files as the install leaves them. The caller holds the lock."""
    left = {step.path: step.after for step in packet.steps(tuple(changes))}
    files = []
    for step in packet.steps():
        spans = [span for span in step.spans if span.name in why]
        if not spans or step.before is None:
            continue
        offsets = Offsets(spans_of(changes, step.path))
        data = left.get(step.path, step.before)
        held = tuple(_unchanged(span, offsets.after(span.before_start)) for span in spans)
        name = store.keep(data, store.root / step.path)
        files.append(
            {"path": step.path, "dialect": step.dialect, "before": name, "after": name}
            | {"spans": [span.to_json() for span in held]}
        )
    return {"why": dict(why), "files": files}


def _chain(
    standing: Iterable[PastStep], said: Said, whatever: bool, others: Container[int]
) -> list[tuple[HistoryEntry, Container[str], Container[tuple[str, str]]]]:
    """Of the installs that stand, newest first, those of this swap, each with the names of its values that are, and by
    file and name what was taken back of it. A value that another swap wrote over is that one's. `others` are the numbers
    of another machine's: none of them is the last install, whatever its sheet said."""
    known: set[str] = set()
    over: set[tuple[str, str]] = set()
    wanted: Any = None
    chain: list[tuple[HistoryEntry, Container[str], Container[tuple[str, str]]]] = []
    for seen in standing:
        entry = seen.entry
        reasons = entry.reasons or {}
        first = whatever and entry.number not in others and not chain
        whole = first or entry.packet in known or (wanted is not None and reasons.get("said") == wanted)
        names = [(file.path, span.name) for file in entry.files for span in file.spans]
        mine = {
            name
            for path, name in names
            if (path, name) not in over and (whole or _same_cause(entry, name, said))
        }
        if mine:
            # what moved by no field of the sheet is of the same swap as what it was installed with
            mine |= {name for path, name in names if (path, name) not in over and _cause(entry, name) == {}}
        over.update(pair for pair in names if pair[1] not in mine)
        if not mine:
            continue
        held = {str(name) for name in _held(entry).get("why", ())}
        chain.append((entry, mine | held, {value[:2] for value in seen.reverted}))
        known.update(reasons.get("rest_of", ()))
        if first:
            wanted = reasons.get("said")
    return chain


def _same_cause(entry: HistoryEntry, name: str, said: Said) -> bool:
    """Whether a value was installed by what the sheet says still. An older entry kept no causes: there the whole
    sheet must have said the same."""
    now = said(parts_of(name)[1])
    cause = _cause(entry, name)
    if cause:
        return all(now.get(path) == text for path, text in cause.items())
    return {str(path): str(text) for path, text in (entry.reasons or {}).get("said", ())} == dict(now)


def _cause(entry: HistoryEntry, name: str) -> dict[str, str] | None:
    """The fields by which a value moved in an install, None where the history did not keep them."""
    for change in (entry.reasons or {}).get("changes", ()):
        if change.get("id", change.get("quantity")) == name and "cause" in change:
            return {str(path): str(text) for path, text in change["cause"]}
    return None


def _gone(step: FileStep, there: Sequence[LocatedSpan] | None) -> list[Span]:
    """The values of a step that can't be found in the file as it is, or all of them where it is not read."""
    if there is None:
        return list(step.spans)
    return [found.span for found in there if found.state is SpanState.GONE]


def _held(entry: HistoryEntry) -> Mapping[str, Any]:
    return (entry.reasons or {}).get("held") or {}


def _held_steps(store: Store, entry: HistoryEntry) -> tuple[FileStep, ...]:
    """The values that an install held back, as steps that change nothing. Copies that are gone are passed over."""
    found = []
    for file in _held(entry).get("files", ()):
        try:
            data = store.kept(file["after"])
            spans = tuple(Span(str(name), *(int(at) for at in places)) for name, *places in file["spans"])
            found.append(FileStep(str(file["path"]), str(file["dialect"]), data, data, spans))
        except (CfgError, KeyError, TypeError, ValueError):
            continue
    return tuple(found)


class _File:
    """A file while earlier installs are taken back in a draft of it."""

    def __init__(self, path: str, data: bytes) -> None:
        self.path = path
        self.draft = Draft(data)
        self._what: dict[str, tuple[str | None, Install]] = {}

    def take_back(self, step: FileStep, entry: HistoryEntry, mine: Container[str]) -> None:
        held = step.before == step.after
        found = [
            each for each in locate(step, self.draft.data) if each.span.name in mine and self._differs(each)
        ]

        def label(each: LocatedSpan) -> str:
            """Several entries may have put something at one place: the draft's names tell them apart."""
            name = f"{len(self._what)} {each.span.name}"
            self._what[name] = (None if held else readable(each.installed), _install(entry))
            return name

        undo(self.draft, found, label)

    def _differs(self, found: LocatedSpan) -> bool:
        return found.state is not SpanState.GONE and found.present != found.old

    def taken(self) -> tuple[TakenOver, ...]:
        return tuple(
            TakenOver(
                self.path,
                span.before_start,
                span.before_end,
                span.after_start,
                span.after_end,
                readable(self.draft.original[span.before_start : span.before_end]),
                *self._what[span.name],
            )
            for span in self.draft.net_spans()
        )


def _unchanged(span: Span, start: int) -> Span:
    """The span of a value that stays as it is, where it is now."""
    end = start + span.before_end - span.before_start
    return Span(span.name, start, end, start, end)
