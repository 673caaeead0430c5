"""Every file to the letter as it was before: the changed values, and whatever was edited by hand since.

An ordinary revert gives back values and keeps all else. Where the old machine is put together again, the edits made for
the new one have to go too, and a person who made eleven of them by the checklist does not want to find each. So the
files get the bytes that were read for the packet, or that the history keeps from before an entry. Nothing is lost: the
files as they are now, with their edits, are kept beside, in a folder with the number of the history's entry.

Which files those are, and what they held, is all that is decided here; how it is written is the history's matter.
"""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from itertools import count
from pathlib import Path

from msgspec import Struct

from cfgmigrate.apply.file_revert import RevertedItem
from cfgmigrate.apply.locate import hand_edits
from cfgmigrate.dialects.document import readable
from cfgmigrate.ground.findings import CfgError, in_one_line
from cfgmigrate.ground.paths import OWN_FOLDER, checked_path, target, target_of
from cfgmigrate.packet.folder import Packet
from cfgmigrate.plan.edits import FileStep, Span
from cfgmigrate.store.chain import HISTORY_PATH
from cfgmigrate.store.entries import HistoryEntry
from cfgmigrate.store.keeping import Store

EDITED = "edited"
_WHY = "edited since, and taken out again"


class Before(Struct, frozen=True):
    """What a file held, and by which dialect it was read ("" where nobody knows)."""

    data: bytes
    dialect: str = ""


def before_packet(packet: Packet) -> dict[str, Before]:
    """Every file that was read for a packet, as it was then."""
    return {file.path: Before(packet.before[file.path], file.dialect) for file in packet.plan.files}


def before_entries(store: Store, later: Sequence[HistoryEntry]) -> tuple[dict[str, Before], tuple[str, ...]]:
    """Every file of these entries, oldest first, as it was before the first of them, and what can't be told. An entry of an older release
    knows only the files that it changed."""
    found: dict[str, Before] = {}
    notes: list[str] = []
    for entry in later:
        named = {file.path: (file.before, file.dialect) for file in entry.files}
        read = {path: (name, "") for path, name in dict((entry.reasons or {}).get("read", {})).items()}
        for path, (name, dialect) in {**read, **named}.items():
            if path in found or name is None:
                continue
            try:
                found[checked_path(path, HISTORY_PATH)] = Before(store.kept(name), dialect)
            except CfgError as error:
                notes.append(
                    f"{path}: what it was before is not known ({in_one_line(error)}), so nothing is given back to it beyond the "
                    "values. Compare it with a copy of your own"
                )
    return found, tuple(notes)


def whole_steps(
    root: Path, wanted: Mapping[str, Before], ordinary: Mapping[str, FileStep], way: Sequence[FileStep]
) -> tuple[list[FileStep], dict[str, str]]:
    """What gives the files their old bytes, and where each stands. `ordinary` is what gives back the values alone, `way`
    the steps that it takes back, newest first: they tell the history which values went back."""
    steps: list[FileStep] = []
    real: dict[str, str] = {}
    for path, before in wanted.items():
        found = target(root, path)
        if found.data == before.data:
            continue
        spans = _spans(ordinary.get(path), [step for step in way if step.path == path])
        steps.append(FileStep(path, before.dialect, found.data, before.data, spans))
        real[path] = found.real
    return steps, real


def _spans(ordinary: FileStep | None, way: Sequence[FileStep]) -> tuple[Span, ...]:
    """Where the values that go back stand now, and where they stood at first."""
    if ordinary is None or not way:
        return ()
    first: dict[str, list[Span]] = {}
    for span in way[-1].spans:
        first.setdefault(span.name, []).append(span)
    found = []
    for span in ordinary.spans:
        if old := first.get(span.name):
            at = old.pop(0)
            found.append(Span(span.name, span.before_start, span.before_end, at.before_start, at.before_end))
    return tuple(found)


def taken_out(steps: Sequence[FileStep], ordinary: Mapping[str, FileStep]) -> tuple[RevertedItem, ...]:
    """The edits that go with the files: what stands there once the values are back, against what stood there at first."""
    found = []
    for step in steps:
        now = ordinary[step.path].after if step.path in ordinary else step.before
        if now is None:
            found.append(RevertedItem("", step.path, 0, "", "", None, _WHY))
            continue
        plain = FileStep(step.path, step.dialect, step.after, step.after, ())
        found += [
            RevertedItem("", step.path, edit.line, "", readable(edit.installed), readable(edit.present), _WHY)
            for edit in hand_edits(plain, now, ())
        ]
    return tuple(found)


def keep_beside(store: Store, steps: Sequence[FileStep], number: int) -> str:
    """Keep the files as they are now in a new folder of their own; its path below the root. The caller holds the lock."""
    files = {step.path: step.before for step in steps if step.before is not None}
    folder = store.folder / f"{EDITED}-{number}"
    for further in count(2):
        if not os.path.lexists(folder) or _holds_nothing_else(folder, files):
            break
        folder = store.folder / f"{EDITED}-{number}-{further}"
    for path, data in files.items():
        if not (folder / path).exists():
            store.keep_as(f"{folder.name}/{path}", data, target_of(store.root, path))
    return f"{OWN_FOLDER}/{folder.name}"


def _holds_nothing_else(folder: Path, files: Mapping[str, bytes]) -> bool:
    """Whether a folder is what a run left that was cut off before its entry was written. One of before, of a history that
    was moved away since, has other edits."""
    if folder.is_symlink() or not folder.is_dir():
        return False
    there = (path for path in folder.rglob("*") if path.is_symlink() or not path.is_dir())
    return all(
        not path.is_symlink() and files.get(path.relative_to(folder).as_posix()) == path.read_bytes()
        for path in there
    )
