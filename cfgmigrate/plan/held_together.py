"""Changes that are no good by halves: held back together, each with what stands in the way.

A formula of a header may rest on a gear ratio that is understood and on a diameter that is not. With the one new and the
other old it would come to a number that is right for neither drive. So nothing that such a formula rests on is written where
it would come to another number than the one that was worked out for it. Likewise a gear ratio counts for the feed per
turn beside it, so that it stays where that one does, or where none is understood; and microsteps and full steps count for the
steps per mm, so that they stay where those are a question. And what is scaled from an old value waits where a text is asked
about that gives another one, and steps per mm wait where the jumpers of another driver may make other microsteps.

This module decides what is not written; what is told of the formulas is the matter of `formulas_apart.py`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.quantities import of_feeder, quantity
from cfgmigrate.plan.decided import Decided
from cfgmigrate.plan.drivers_named import other_jumpers
from cfgmigrate.plan.formulas_apart import Apart, formulas_apart
from cfgmigrate.plan.items import finding_instead
from cfgmigrate.plan.model import Change, LeftAlone
from cfgmigrate.plan.rests_on_listed import rests_on_listed
from cfgmigrate.rules.lanes import Worked
from cfgmigrate.rules.result import Result

_RATIO, _TURN, _STEPS = "feeder.gear_ratio", "feeder.feed_per_turn", "feeder.steps_per_mm"
_COUNTS = ("feeder.microsteps", "feeder.full_steps")


def hold_together(found: Decided, worked: Worked, machine: Machine) -> None:
    """Takes the changes out of `found` that are no good without another one, and says why."""
    right = wanted(worked, machine)
    while held := list(_halves(found.changes, right, machine)):
        for change, apart in held:
            found.changes.remove(change)
            found.find(finding_instead(change))
            found.left.append(
                LeftAlone(change.quantity, f"it is not written alone: {apart.told}", change.holder)
            )
            if apart not in found.apart:
                found.apart.append(apart)
    for change, beside, of in [*_ratios_alone(found, machine), *_steps_alone(found, worked, machine)]:
        found.changes.remove(change)
        found.find(finding_instead(change))
        why = f"it would be {change.new.text}, but {beside}"
        found.left.append(LeftAlone(change.quantity, why, change.holder))
        edit = change.edits[0]
        remedy = f"Settle the {of} and prepare again, or write both by hand, {change.new.text} here."
        found.doubts.append(Doubt(Place(edit.file, edit.line, edit.column), change.label, why, remedy))
    for change, why in [*rests_on_listed(found.changes, machine), *_behind_jumpers(found, worked, machine)]:
        if change not in found.changes:
            continue
        found.changes.remove(change)
        found.find(finding_instead(change))
        found.left.append(
            LeftAlone(change.quantity, f"it would be {change.new.text}, but {why}", change.holder)
        )


def _behind_jumpers(found: Decided, worked: Worked, machine: Machine) -> Iterator[tuple[Change, str]]:
    """The changes that count for microsteps which other jumpers may make others of; each with why it waits."""
    said = (each.entries for each in worked.sheets.values())
    why = other_jumpers(machine, said, worked.swapped)
    for change in found.changes if why else ():
        if change.quantity in (_STEPS, _TURN, *_COUNTS):  # a feed per turn counts for them as well
            yield change, why


def wanted(worked: Worked, machine: Machine) -> Mapping[str, Result]:
    """The results that a formula may be held against: of several feeders nobody says whose a formula is."""
    several = len(machine.feeders) > 1
    return {
        name: result
        for name, result in worked.base.by_target.items()
        if result.value is not None and not result.unsettled and not (several and of_feeder(name))
    }


def _halves(
    changes: Sequence[Change], right: Mapping[str, Result], machine: Machine
) -> Iterator[tuple[Change, Apart]]:
    """The changes that move a formula of another quantity to a number which is not right for it."""
    told: set[str] = set()
    for apart in formulas_apart(machine, changes, right):
        for change in changes:
            if change.quantity != apart.quantity and change.id not in told and apart.rests_on(change):
                told.add(change.id)
                yield change, apart


def _steps_alone(found: Decided, worked: Worked, machine: Machine) -> Iterator[tuple[Change, str, str]]:
    """The counts of steps beside steps per mm that are worked out and are a question; each with what is to be said of that."""
    becomes = {(change.quantity, change.holder) for change in found.changes}
    asked = any(
        (result := outcome.by_target.get(_STEPS)) is not None and result.unsettled
        for outcome in worked.lanes.values()
    )
    beside = {str(each.holder) for each in machine.readings if each.quantity == _STEPS}
    label = quantity(_STEPS).label
    for change in found.changes if asked else ():
        stays = change.holder in beside and (_STEPS, change.holder) not in becomes
        if change.quantity in _COUNTS and stays:
            yield change, f"the {label} that go with it stay as they are", label


def _ratios_alone(found: Decided, machine: Machine) -> Iterator[tuple[Change, str, str]]:
    """The gear ratios beside a feed per turn that is not understood, or that stays as it is though it is not new already; each
    with what is to be said of that, and of what."""
    becomes = {(change.quantity, change.holder) for change in found.changes}
    new = {(left.quantity, left.holder) for left in found.left if left.already}
    read = {each.quantity for each in machine.every_reading}
    for change in found.changes:
        if change.quantity != _RATIO:
            continue
        beside = any(
            each.quantity == _TURN and str(each.holder) == change.holder for each in machine.readings
        )
        if beside and (_TURN, change.holder) not in becomes | new:
            yield change, "the feed per turn that it goes with stays as it is", "feed per turn"
        elif not beside and (_TURN in machine.in_doubt or read.isdisjoint((_TURN, _STEPS))):
            yield change, "the feed per turn that it goes with is not understood", "feed per turn"
