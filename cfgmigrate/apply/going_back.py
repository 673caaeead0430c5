"""What going back would come to: the values that return, those that are left, and the conflicts that wait for an
answer, worked out from the steps of the way and the files as they are now.

Nothing is written here, and whoever must be asked is only named: `revert.py` does both. Where an old file or old
lines would come to stand beside installed ones that were renamed or moved, nobody knows which of them the machine
reads, and going back is refused.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.apply.file_revert import Answers, Returning, RevertedItem, in_full, kept_along
from cfgmigrate.apply.whereabouts import beside, renamed, whereabouts
from cfgmigrate.apply.whole_revert import Before, taken_out, whole_steps
from cfgmigrate.ground.findings import Place, Refused
from cfgmigrate.ground.paths import check_writable, target
from cfgmigrate.plan.edits import FileStep, Span
from cfgmigrate.plan.identity import told_apart
from cfgmigrate.store.history import read_history
from cfgmigrate.store.keeping import Store
from cfgmigrate.store.undoing import Recovery

Way = Sequence[tuple[tuple[FileStep, ...], str]]
"""Steps to take back in turn, newest first, each with the packet that they are of."""

ANSWERS = "--keep NAME leaves it as it is now, --force NAME puts the old value in its place"
TO_THE_LETTER = (
    "--whole gives every file back to the letter, without the edits made since, and keeps those beside"
)


class RevertReport(Struct, frozen=True):
    """What a revert did, or with a dry run would do, in three groups: values `restored`; edits made since
    and `kept`; values `left` as they are, with the reason. `conflicts` wait for an answer. `by_hand` is what
    the packet asked to be done by hand, which no revert takes back. `entry` is its number in the history, 0
    where nothing was written. `taken_out` are edits made since that went with the files, `beside` is the folder below
    the root that has the files with them."""

    packet: str
    root: str
    files: tuple[str, ...]
    restored: tuple[RevertedItem, ...]
    kept: tuple[RevertedItem, ...]
    left: tuple[RevertedItem, ...]
    conflicts: tuple[RevertedItem, ...]
    notes: tuple[str, ...]
    recovered: Recovery | None
    entry: int
    written: bool
    by_hand: tuple[str, ...] = ()
    taken_out: tuple[RevertedItem, ...] = ()
    beside: str = ""
    called: tuple[tuple[str, str], ...] = ()

    def to_json(self) -> dict[str, Any]:
        groups = {
            name: [item.to_json() for item in getattr(self, name)]
            for name in ("restored", "kept", "left", "conflicts")
        }
        return {
            "packet": self.packet,
            "root": self.root,
            "files": list(self.files),
            **groups,
            "notes": list(self.notes),
            "recovered": self.recovered.to_json() if self.recovered else None,
            "entry": self.entry,
            "written": self.written,
            "by_hand": list(self.by_hand),
            "taken_out": [item.to_json() for item in self.taken_out],
            "beside": self.beside,
            "called": dict(self.called),
        }


class Unanswered(Refused):
    """Conflicts that nobody answered; `report` shows them."""

    def __init__(self, report: RevertReport) -> None:
        self.report = report
        lines = [
            f"{item.file}:{item.line or ''} {item.name}: before {item.old!r}, installed {item.installed!r}"
            + (f", now {item.present!r}; {item.why}" if item.present is not None else f"; {item.why}")
            for item in report.conflicts
        ]
        names = in_full(item.typed or item.name for item in report.conflicts)
        super().__init__(
            "these values have changed since, and you have not said what to do with them:\n  "
            + "\n  ".join(lines),
            remedy=f"Nothing was changed. Answer each: {ANSWERS} ({names}); or name with --only what to revert. {TO_THE_LETTER}.",
        )


def worked_out(
    root: Path,
    way: Way,
    answers: Answers,
    wanted: Mapping[str, Before] | None = None,
) -> tuple[RevertReport, list[FileStep], dict[str, str]]:
    """The report of going back, what it writes, and where."""
    paths = list(dict.fromkeys(step.path for steps, _ in way for step in steps))
    targets = {path: target(root, path) for path in paths}
    files = {path: Returning(path, targets[path].data) for path in paths}
    for steps, _ in way:
        for step in steps:
            files[step.path].take_back(step, answers)
    moved = [step for step in (file.step() for file in files.values()) if step is not None]
    real = {step.path: targets[step.path].real for step in moved}
    conflicts = tuple(item for file in files.values() for item in file.conflicts())
    gone: tuple[RevertedItem, ...] = ()
    lost: list[RevertedItem] = []
    if wanted is not None:
        ordinary = {step.path: step for step in moved}
        moved, real = whole_steps(root, wanted, ordinary, [step for steps, _ in way for step in steps])
        lost = [item for item in conflicts if item.present is None]
        gone, conflicts = taken_out(moved, ordinary), ()
        targets = {step.path: target(root, step.path) for step in moved}
    _refuse_renamed(root, way, moved)
    if wanted is not None:
        _refuse_moved(root, spans_named(way, {(item.file, item.name) for item in lost}), wanted)
    for step in moved:
        check_writable(root, targets[step.path])
    report = RevertReport(
        packet=way[0][1] if way else "",
        root=str(root),
        files=tuple(step.path for step in moved),
        restored=tuple(item for file in files.values() for item in file.restored()),
        kept=() if wanted is not None else tuple(item for file in files.values() for item in file.kept()),
        left=tuple(item for file in files.values() for item in file.left()),
        conflicts=_explained(root, way, conflicts) if conflicts else (),
        notes=(
            *(note for step in moved for note in targets[step.path].notes),
            *kept_along([item for file in files.values() for item in file.every_kept()]),
        ),
        recovered=None,
        entry=0,
        written=False,
        taken_out=gone,
    )
    return report, moved, real


def spans_named(way: Way, named: Collection[tuple[str, str]]) -> list[tuple[FileStep, Span]]:
    """The spans of the way that are named by file and name, each with its step."""
    return [
        (step, span)
        for steps, _ in way
        for step in steps
        for span in step.spans
        if (step.path, span.name) in named
    ]


def _explained(root: Path, way: Way, conflicts: Sequence[RevertedItem]) -> tuple[RevertedItem, ...]:
    """The conflicts with what can be told besides: who changed the value, or where it may have gone."""
    gone = spans_named(way, {(item.file, item.name) for item in conflicts if item.present is None})
    traces = whereabouts(root, gone)
    mine = {packet for _, packet in way}
    setters = {
        (name, new): each
        for each in read_history(Store(root)).entries
        if each.packet not in mine
        for name, _, new in each.values
    }
    known = dict.fromkeys(span.name for steps, _ in way for step in steps for span in step.spans)
    found = []
    for item in conflicts:
        setter = setters.get((item.name, item.present or ""))
        trace = traces.get(item.name) if item.present is None else None
        if setter is not None:
            add = f", by entry {setter.number} of the history ({setter.kind}): revert that packet first, or"
            add += " all of them at once with --to"
        else:
            add = f"; {trace}" if trace else ""
        found.append(replace(item, why=item.why + add, typed=told_apart(item.name, known)))
    return tuple(found)


def refuse_unanswered(report: RevertReport) -> None:
    if report.conflicts:
        raise Unanswered(report)


def _refuse_renamed(root: Path, way: Way, moved: Sequence[FileStep]) -> None:
    """Refuses to put an old file beside the installed one that was renamed since: which of them the machine reads
    nobody knows here."""
    absent = {step.path for step in moved if step.before is None}
    for steps, _ in way:
        for step in steps:
            if step.path in absent and (other := renamed(root, step)):
                raise Refused(
                    f"the file is not there, and {other}",
                    Place(step.path),
                    f"Nothing was changed. Rename it to {step.path} and revert again; or take it out of the folder, if it is a copy that"
                    " the machine doesn't read.",
                )


def _refuse_moved(root: Path, lost: Sequence[tuple[FileStep, Span]], wanted: Mapping[str, Before]) -> None:
    """Refuses to put old lines beside installed ones that were moved into another file: which of them the machine reads nobody knows
    here."""
    gone = [(step, span) for step, span in lost if (root / step.path).exists()]
    if places := beside(root, gone, {}, wanted):
        raise Refused(
            f"lines of it were moved: {'; '.join(places)}",
            Place(gone[0][0].path),
            "Nothing was changed. Put them back, or take the other file out of the folder if the machine doesn't read it; and revert again.",
        )
