"""A change to one half of loading and unloading while the other half is a question, said where the change is.

Who loads by the new length and unloads by the old one pushes or pulls filament past the gears. The change is not taken out,
as others may rest on it; a warning makes it one of the first things that are read.

This module deliberately works nothing out and holds nothing back.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from msgspec.structs import replace

from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.model import Machine, Reading
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.plan.model import Change

_PAIRS = (("feeder.load_length", "feeder.unload_length"), ("script.load", "script.unload"))
_OTHER = {one: other for pair in _PAIRS for one, other in (pair, pair[::-1])}


def halves_said(machine: Machine, changes: Sequence[Change], doubts: Sequence[Doubt]) -> Iterable[Change]:
    """The changes, each half of a pair with a warning where only that half would be written, for each feeder by itself."""
    halves = [each for each in machine.every_reading if each.quantity in _OTHER]
    written = {id(half) for half in halves for change in changes if _changes(change, half)}
    for change in changes:
        mine = {
            (half.quantity, number) for half in halves if _changes(change, half) for number in half.serves
        }
        if change.quantity in _OTHER and not mine:
            mine = {(change.quantity, number) for number in machine.feeders}
        asked = dict.fromkeys(
            why
            for name, number in sorted(mine)
            if (why := _asked(machine, _OTHER[name], number, halves, written, doubts))
        )
        yield replace(change, warnings=(*change.warnings, *asked)) if asked else change


def _asked(
    machine: Machine,
    name: str,
    number: int,
    halves: Sequence[Reading],
    written: set[int],
    doubts: Sequence[Doubt],
) -> str:
    """What is said where that half of a feeder is a question and is not written."""
    theirs = [half for half in halves if half.quantity == name and number in half.serves]
    if any(id(half) in written for half in theirs):
        return ""
    for doubt in doubts:
        if any(_lies_in(doubt, half) for half in theirs) or (
            doubt.about == name and _may_be_of(machine, doubt, number)
        ):
            return (
                f"The {quantity(name).label} stays old, as {doubt.place.file}:{doubt.place.line} is a question, and loading and "
                "unloading belong together: settle that before you install, or hold this back too."
            )
    return ""


def _may_be_of(machine: Machine, doubt: Doubt, number: int) -> bool:
    """Whether a line in doubt may be a feeder's: its section holds values of no other one alone."""
    file, line = doubt.place.file, doubt.place.line
    document = next((each for each in machine.documents if each.path == file), None)
    own = {each.section for each in document.settings if each.line == line} if document else set()
    feeders = {
        each.serves
        for each in machine.every_reading
        if each.place.file == file and (each.place.line == line or each.setting.section in own - {""})
    }
    return not feeders or any(number in serves for serves in feeders)


def _lies_in(doubt: Doubt, half: Reading) -> bool:
    lines = range(half.place.line, half.place.line + half.text.count("\n") + 1)
    return doubt.place.file == half.place.file and doubt.place.line in lines


def _changes(change: Change, half: Reading) -> bool:
    return any(edit.file == half.place.file and half.start <= edit.start < half.end for edit in change.edits)
