"""The rest of a swap: a plan for the old machine, put onto files that hold a part of it already.

What an earlier install put in is not planned again; where it was edited or tuned since, that edit stays.
Every other edit moves to where its value stands in the files as they are. The plan says which is which, and
remembers whose rest it is. A light that rests on a value that stays, and is not what the swap comes to, is unknown.

This module computes no value and reads no file; what was installed is found out in `prior_installs.py`.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from typing import TypeVar

from msgspec.structs import replace

from cfgmigrate.apply.locate import line_of
from cfgmigrate.apply.prior_installs import Earlier
from cfgmigrate.apply.told_by_hand import not_told_again
from cfgmigrate.dialects.decimal_commas import number_in_points
from cfgmigrate.dialects.source import Source
from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.plan.basis import Install, Lost, TakenOver
from cfgmigrate.plan.edits import Offsets, Span
from cfgmigrate.plan.items import finding_instead
from cfgmigrate.plan.lights_left import as_they_stand
from cfgmigrate.plan.model import ByHand, Change, Edit, Finding, LeftAlone, OldValue, Plan
from cfgmigrate.store.entries import HistoryEntry

#: as far as a measured value may lie from one that was worked out (share of it; common practice, no source)
TUNED = 0.05

_Reasoned = TypeVar("_Reasoned", Change, ByHand, Finding)


def the_rest(plan: Plan, earlier: Earlier, present: Mapping[str, bytes]) -> Plan:
    """`plan`, made for the files `earlier.old`, as a plan for the files as they are."""
    rest = _Rest(earlier, present)
    changes: list[Change] = []
    left: list[LeftAlone] = []
    known: list[Finding] = []
    kept = {change.id for change in plan.changes if rest.keeps_another(change)}
    for change in plan.changes:
        edits, reasons = _lost(change, earlier.lost) or rest.placed(change)
        if edits:
            changes.append(_with_edits(rest.before(change), edits))
        else:
            left.append(LeftAlone(change.quantity, "; ".join(dict.fromkeys(reasons)), change.holder))
            known += [] if change.quantity.startswith("script.") else [finding_instead(change)]
    told = {(each.rule, each.holder): each for each in earlier.told}
    by_hand, done = not_told_again(plan.by_hand, told)
    return replace(
        plan,
        files=tuple(replace(file, sha256=_sha256(present[file.path])) for file in plan.files),
        changes=tuple(changes),
        by_hand=tuple(rest.before(item) for item in by_hand),
        findings=tuple(rest.before(item) for item in (*known, *plan.findings)),
        left_alone=(*left, *done, *plan.left_alone),
        rest_of=tuple(dict.fromkeys(entry.packet for entry in earlier.entries)),
        lights=as_they_stand(plan.lights, kept),
    )


def _lost(change: Change, lost: Mapping[str, Lost]) -> tuple[list[Edit], list[str]] | None:
    """Why a change is not made whose value was installed before and stands elsewhere now, or that rests on such
    a value; None for all others."""
    if change.id in lost:
        there, first = lost[change.id], change.edits[0]
        why = (
            f"installed already by {said_of(there.entry)} as {there.installed!r} in {there.file}, and moved since:"
            f" {first.old!r} stands at {first.file}:{first.line}, and is kept"
        )
        return [], [why]
    under = [name for name in change.depends if name in lost]
    if under:
        return [], [f"it rests on {under[0]}, which was installed in {lost[under[0]].file} and moved since"]
    return None


def another_sheet(entry: HistoryEntry, sheet: str) -> Doubt:
    """What to say where the last install held values back, and was of another sheet than this one."""
    held = ", ".join((entry.reasons or {}).get("held", {}).get("why", ()))
    return Doubt(
        Place(sheet),
        f"packet {entry.packet[:12]}",
        f"the last install (entry {entry.number} of the history) held values back ({held}), and its sheet said"
        " something else than this one; what it installed by that is not taken back, and the files are taken as they are",
        "If this is the same swap with its sheet mended, prepare it with --rest.",
    )


def said_of(entry: Install) -> str:
    """An install in words."""
    return f"packet {entry.packet[:12]} (entry {entry.number} of the history)"


class _Rest:
    """Where a plan's edits go in files that hold some of them already."""

    def __init__(self, earlier: Earlier, present: Mapping[str, bytes]) -> None:
        self.taken = earlier.taken
        self.lost = earlier.lost
        self.sources = {path: Source(path, data) for path, data in present.items() if path in earlier.taken}
        self.entries = {
            f"{path}:{line_of(earlier.old[path], each.after_start)}": each.entry
            for path, found in earlier.taken.items()
            for each in found
        }

    def placed(self, change: Change) -> tuple[list[Edit], list[str]]:
        """The edits that are still to be made, where they stand now; and why the others are not."""
        edits, reasons = [], []
        for edit in change.edits:
            met = self._met(edit)
            if met is None:
                edits.append(self._moved(edit))
            elif met.installed is not None and (met.after_start, met.after_end) == (
                edit.start,
                edit.end,
            ):
                if met.present == met.installed and not _near(met.installed, edit.new, change):
                    edits.append(self._over(edit, met))
                else:
                    reasons.append(self._why(edit, met))
            else:
                reasons.append(self._why(edit, met))
        return edits, reasons

    def keeps_another(self, change: Change) -> bool:
        """Whether a value stays somewhere that is not what the swap comes to: edited since, or moved."""
        if _lost(change, self.lost) is not None:
            return True
        stays = ((edit, self._met(edit)) for edit in change.edits)
        return any(
            met is not None and met.present != met.installed and not _could_be(met.present, edit.new, change)
            for edit, met in stays
        )

    def _met(self, edit: Edit) -> TakenOver | None:
        return next((each for each in self.taken.get(edit.file, ()) if _meets(each, edit)), None)

    def before(self, item: _Reasoned) -> _Reasoned:
        """A change, an item or a finding whose reasons say which numbers stood in the files before an install."""
        derivation = item.derivation
        if derivation is None:
            return item
        inputs = tuple(replace(each, origin=self._origin(each.origin)) for each in derivation.inputs)
        parts = tuple(replace(each, origin=self._origin(each.origin)) for each in derivation.contributions)
        return replace(item, derivation=replace(derivation, inputs=inputs, contributions=parts))

    def _origin(self, origin: str) -> str:
        entry = self.entries.get(origin)
        return origin if entry is None else f"{origin}, before {said_of(entry)}"

    def _moved(self, edit: Edit) -> Edit:
        taken = self.taken.get(edit.file, ())
        offsets = Offsets(
            [Span("", each.before_start, each.before_end, each.after_start, each.after_end) for each in taken]
        )
        start = offsets.before(edit.start)
        return self._at(replace(edit, start=start, end=start + edit.end - edit.start))

    def _over(self, edit: Edit, met: TakenOver) -> Edit:
        return self._at(replace(edit, start=met.before_start, end=met.before_end, old=met.present))

    def _at(self, edit: Edit) -> Edit:
        if edit.file not in self.sources:
            return edit
        line, column = self.sources[edit.file].where(edit.start)
        return replace(edit, line=line, column=column)

    def _why(self, edit: Edit, met: TakenOver) -> str:
        line = line_of(self.sources[edit.file].data, met.before_start)
        where = f"{met.present!r} stands at {edit.file}:{line}"
        if met.installed is None:
            return f"held back by {said_of(met.entry)} and changed since: {where}, and is kept (it would be {edit.new!r})"
        if met.present == met.installed:
            return f"installed already by {said_of(met.entry)}: {where}"
        return f"installed already by {said_of(met.entry)} as {met.installed!r}, and changed since: {where}, and is kept"


def _near(installed: str, new: str, change: Change) -> bool:
    """Whether an installed text is the new one, or no farther from it than what is not known of the value: another
    release may round otherwise."""
    return installed == new or _within(installed, new, change, 0)


def _could_be(present: str, new: str, change: Change) -> bool:
    """Whether a text that somebody wrote since may be the new value, measured or tuned."""
    return present == new or _within(present, new, change, TUNED)


def _within(text: str, new: str, change: Change, share: float) -> bool:
    """Whether a number is no farther from the new one than what is not known of that, or than a share of it."""
    one, other = read_value(number_in_points(text)), read_value(number_in_points(new))
    if not isinstance(one, Number) or not isinstance(other, Number):
        return False
    if not change.new.value or not other.value:
        return False
    return abs(one.value / other.value - 1) <= max(change.new.uncertainty / abs(change.new.value), share)


def _with_edits(change: Change, edits: list[Edit]) -> Change:
    first, old = edits[0], change.old
    if old is not None and (old.text, old.file, old.line) != (first.old, first.file, first.line):
        known = old.value if old.text == first.old else None
        old = OldValue(known, first.old, first.file, first.line)
    return replace(change, edits=tuple(edits), old=old)


def _meets(taken: TakenOver, edit: Edit) -> bool:
    start, end = taken.after_start, taken.after_end
    return (start < edit.end and edit.start < end) or (start, end) == (edit.start, edit.end)


def _sha256(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()
