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

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from cfgmigrate.apply.locate import Found, State, locate, undo
from cfgmigrate.dialects.document import readable
from cfgmigrate.ground.findings import CfgError, Place, Refused
from cfgmigrate.ground.paths import target
from cfgmigrate.packet.folder import Packet
from cfgmigrate.plan.edits import Draft, FileStep, Offsets, Span, spans_of
from cfgmigrate.plan.model import Change
from cfgmigrate.store.history import Entry, History, history, steps_of
from cfgmigrate.store.transaction import Store

Said = Sequence[Sequence[str]]
"""What a sheet says: its fields and their texts, in its order."""


@dataclass(frozen=True, slots=True)
class Taken:
    """One value that was taken back for the old machine. `span` says where it is in the file as it is (before),
    where it reads `present`, and in the old machine's file (after). `installed` is what the
    entry put there, None where it held the value back and somebody else changed it."""

    file: str
    span: Span
    present: str
    installed: str | None
    entry: Entry


@dataclass(frozen=True, slots=True)
class Lost:
    """A value that an install put into `file` as `installed`, and that can't be found there any more."""

    file: str
    installed: str
    entry: Entry


@dataclass(frozen=True, slots=True)
class Earlier:
    """The installs of the swap that stand, oldest first; the files as the old machine had them, with later
    edits kept; each value that was taken back for that, in each file's order; and by name what is lost."""

    entries: tuple[Entry, ...]
    old: Mapping[str, bytes]
    taken: Mapping[str, tuple[Taken, ...]]
    lost: Mapping[str, Lost]


def earlier_installs(
    past: History, root: Path, present: Mapping[str, bytes], said: Said, whatever: bool = False
) -> Earlier | None:
    """The installs at `root`, whose history is `past`, of the swap of which a sheet says `said`; None where none
    stands. `present` are the files as they are. With `whatever`, the last install counts as one of this swap,
    whatever its sheet said.

    Raises Refused where the history or its copies can't be trusted.
    """
    if not past.whole:
        raise Refused(
            "the history is broken, so it can't be told what of this swap was installed already: "
            + "; ".join(past.problems),
            Place(str(root)),
            "Nothing was written. Take the last packet back first, or move the history away (keep it).",
        )
    store = Store(root.resolve())
    chain = _chain(past.entries, store, present, said, whatever)
    if not chain:
        return None
    files = {path: _File(path, data) for path, data in present.items()}
    lost: dict[str, Lost] = {}
    for entry in chain:
        for step in steps_of(store, entry):
            for span in _gone(step, present.get(step.path)):
                if (step.path, span.name) not in _reverted(entry, past.entries):
                    installed = readable(step.after[span.after_start : span.after_end])
                    lost.setdefault(span.name, Lost(step.path, installed, entry))
        for step in (*steps_of(store, entry), *_held_steps(store, entry)):
            if step.path in files:
                files[step.path].take_back(step, entry)
    taken = {path: found for path, file in files.items() if (found := file.taken())}
    old = {path: file.draft.data for path, file in files.items()}
    return Earlier(tuple(reversed(chain)), old, taken, lost)


def partly_installed(past: History, root: Path, present: Mapping[str, bytes]) -> Entry | None:
    """The last install at `root`, where it stands and held values back; else None."""
    last = next((entry for entry in reversed(past.entries) if entry.kind == "install"), None)
    if last is None or not past.whole or not _held(last):
        return None
    store = Store(root.resolve())
    return last if _stands(last, past.entries, store, present) else None


def stands(past: History, root: Path, entry: Entry) -> bool:
    """Whether anything of an install is still in the files at `root`. Raises Refused where they can't be read."""
    store = Store(root.resolve())
    present = {file.path: target(store.root, file.path).data for file in entry.files}
    there = {path: data for path, data in present.items() if data is not None}
    return _stands(entry, past.entries, store, there)


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
    entries: Sequence[Entry], store: Store, present: Mapping[str, bytes], said: Said, whatever: bool
) -> list[Entry]:
    """The installs of this swap that stand, newest first, back to the last one of another swap."""
    wanted = [list(pair) for pair in said]
    known: set[str] = set()
    chain: list[Entry] = []
    for entry in reversed(entries):
        if entry.kind != "install" or not _stands(entry, entries, store, present):
            continue
        reasons = entry.reasons or {}
        first = whatever and not chain
        if not (first or entry.packet in known or reasons.get("said") == wanted):
            break
        chain.append(entry)
        known.update(reasons.get("rest_of", ()))
        if first:
            wanted = reasons.get("said", wanted)
    return chain


def _stands(entry: Entry, entries: Sequence[Entry], store: Store, present: Mapping[str, bytes]) -> bool:
    """Whether anything that an install put in is still there, or was changed by something else than a revert."""
    reverted = _reverted(entry, entries)
    return any(
        found.state is State.INSTALLED
        or (found.state is not State.OLD and (step.path, found.span.name) not in reverted)
        for step in steps_of(store, entry)
        if step.path in present
        for found in locate(step, present[step.path])
    )


def _reverted(entry: Entry, entries: Sequence[Entry]) -> set[tuple[str, str]]:
    """The files and quantities that a revert touched after an entry."""
    return {
        (file.path, span.name)
        for later in entries[entry.number :]
        if later.kind == "revert"
        for file in later.files
        for span in file.spans
    }


def _gone(step: FileStep, present: bytes | None) -> list[Span]:
    """The values of a step that can't be found in the file as it is, or all of them where it is not read."""
    if present is None:
        return list(step.spans)
    return [found.span for found in locate(step, present) if found.state is State.GONE]


def _held(entry: Entry) -> Mapping[str, Any]:
    return (entry.reasons or {}).get("held") or {}


def _held_steps(store: Store, entry: Entry) -> tuple[FileStep, ...]:
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
        self._what: dict[str, tuple[str | None, Entry]] = {}

    def take_back(self, step: FileStep, entry: Entry) -> None:
        held = step.before == step.after
        found = [each for each in locate(step, self.draft.data) if self._differs(each)]

        def label(each: Found) -> str:
            """Several entries may have put something at one place: the draft's names tell them apart."""
            name = f"{len(self._what)} {each.span.name}"
            self._what[name] = (None if held else readable(each.installed), entry)
            return name

        undo(self.draft, found, label)

    def _differs(self, found: Found) -> bool:
        return found.state is not State.GONE and found.present != found.old

    def taken(self) -> tuple[Taken, ...]:
        return tuple(
            Taken(
                self.path,
                span,
                readable(self.draft.original[span.before_start : span.before_end]),
                *self._what[span.name],
            )
            for span in self.draft.net_spans()
        )


def _unchanged(span: Span, start: int) -> Span:
    """The span of a value that stays as it is, where it is now."""
    end = start + span.before_end - span.before_start
    return Span(span.name, start, end, start, end)


def refuse_replacing(present: Packet) -> None:
    """Another packet is to take this one's place. Raises Refused where a packet is installed, or it can't be told that it is not."""
    place = Place(str(present.folder))
    remedy = "Nothing was changed. Choose another folder, or take the packet back first."
    root = Path(present.plan.root)
    past = history(root) if present.plan.root and root.is_dir() else None
    if past is None or not past.whole:
        why = "its history is broken" if past else f"there is no configuration at {present.plan.root or '?'}"
        raise Refused(f"it can't be told whether the packet in the way is installed: {why}", place, remedy)
    mine = [entry for entry in past if entry.packet == present.hash and entry.kind != "revert"]
    if any(stands(past, root, entry) for entry in mine):
        raise Refused("the packet in the way is installed, and is the way back", place, remedy)
