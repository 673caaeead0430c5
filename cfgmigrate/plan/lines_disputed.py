"""Lines on which the packets of several machines do not agree: none of them writes there, and each asks.

    common.txt: top feed speed = 70      dill's packet would write 37, fennel's 30

What the other has there is found by `apply/disputed_lines.py` and lies in the plan. A line on which all say the same is written
as ever. What one of them keeps, because it is right for it already, is asked like what it would write. What counts for the feed goes together: with a part of it held, all of it is. This module works no value out.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from msgspec import UNSET
from msgspec.structs import replace

from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.machine.quantities import known, quantity
from cfgmigrate.plan.basis import OtherText
from cfgmigrate.plan.items import finding_instead
from cfgmigrate.plan.lights_left import in_dispute
from cfgmigrate.plan.lines_of_others import with_them
from cfgmigrate.plan.model import Change, Edit, KeptText, LeftAlone, Plan

_REMEDY = (
    "give each machine a line of its own, in a file that it alone reads, with its own value, where that line wins; or, where one "
    "value does for all of them (of a limit the lowest), say in each sheet what that one follows from; then prepare each of them again"
)


def but_disputed(plan: Plan) -> Plan:
    """The plan without the changes to lines on which another machine's packet would not agree, each of them asked."""
    said: dict[tuple[str, int], list[OtherText]] = {}
    for each in plan.basis.disputed if plan.basis.disputed is not UNSET else ():
        said.setdefault((each.file, each.start), []).append(each)
    clashes = [
        (change, edit, said[edit.file, edit.start])
        for change in plan.changes
        for edit in change.edits
        if (edit.file, edit.start) in said
    ]
    ours = {(edit.file, edit.start) for _, edit, _ in clashes}
    kept = tuple(_asked_of_kept(*each) for each in _kept_in_dispute(plan, said) if each[2] not in ours)
    if not clashes:
        return replace(plan, doubts=(*kept, *plan.doubts)) if kept else plan
    files = {change.id: edit.file for change, edit, _ in clashes}
    files |= dict(with_them(plan.changes, files))
    left = [change for change in plan.changes if change.id in files]
    return replace(
        plan,
        changes=tuple(change for change in plan.changes if change.id not in files),
        findings=(
            *(finding_instead(change) for change in left if not change.quantity.startswith("script.")),
            *plan.findings,
        ),
        left_alone=(
            *plan.left_alone,
            *(LeftAlone(each.quantity, _why(each, files[each.id]), each.holder) for each in left),
        ),
        doubts=(*(_asked(*clash) for clash in clashes), *kept, *plan.doubts),
        lights=in_dispute(plan.lights, left),
    )


def kept_in(plan: Plan) -> Iterator[KeptText]:
    """What a plan leaves as it stands, because that is right already."""
    for left in plan.left_alone:
        yield from left.at if left.at is not UNSET else ()


def _kept_in_dispute(
    plan: Plan, said: Mapping[tuple[str, int], Sequence[OtherText]]
) -> Iterator[tuple[LeftAlone, KeptText, tuple[str, int], Sequence[OtherText]]]:
    for left in plan.left_alone:
        for each in left.at if left.at is not UNSET else ():
            if (each.file, each.start) in said:
                yield left, each, (each.file, each.start), said[each.file, each.start]


def _asked_of_kept(
    left: LeftAlone, kept: KeptText, place: tuple[str, int], others: Sequence[OtherText]
) -> Doubt:
    label = quantity(left.quantity).label if known(left.quantity) else left.quantity
    why = (
        f"{label}: for this machine {kept.text} is right here as it stands, and {_theirs(others)} here by its own packet; the line "
        f"has one value for all that read {kept.file}. So neither packet writes it"
    )
    return Doubt(Place(kept.file, kept.line, kept.column), kept.text, why, _REMEDY)


def _theirs(others: Sequence[OtherText]) -> str:
    return ", ".join(f"{each.machine or 'another machine'} has {each.text}" for each in others)


def _why(change: Change, file: str) -> str:
    return f"it would be {change.new.text}, but another machine that reads {file} has another value there by its own packet"


def _asked(change: Change, edit: Edit, others: Sequence[OtherText]) -> Doubt:
    why = (
        f"{change.label}: this machine's packet would write {edit.new} here, and {_theirs(others)} here by its own; the line has one value for "
        f"all that read {edit.file}, and the install that came last would win. So it is not written"
    )
    if more := [f"{each.file}:{each.line}" for each in change.edits if each != edit]:
        why += f", and neither is {', '.join(more)}, which goes with it"
    return Doubt(Place(edit.file, edit.line, edit.column), edit.old, why, _REMEDY)
