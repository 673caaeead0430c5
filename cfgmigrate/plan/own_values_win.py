"""Profiles that have a value of their own where a measurement moved the machine's: theirs wins whenever they run.

A value measured without naming a profile is written where all share it. A profile with its own value goes on with that one,
perhaps the old drive's, and whoever measured would never see it. So each such line is named. None is written: it was
measured with another filament or print.
"""

from __future__ import annotations

from collections.abc import Iterator

from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.model import Machine, Reading
from cfgmigrate.plan.model import Change, Plan

#: so many lines are named for one value
MOST_OWN_VALUES = 9


def own_values_win(machine: Machine, plan: Plan, feeder: int) -> Iterator[Doubt]:
    """A question for each changed value that profiles of this feeder have as their own."""
    moved = {(change.quantity, change.holder) for change in plan.changes}
    profiles = machine.profiles_serving(feeder)
    for change in plan.changes:
        own = [
            reading
            for profile in profiles
            for reading in machine.set_by(profile, (feeder,))
            if reading.quantity == change.quantity
            and (reading.quantity, str(reading.holder)) not in moved
            and reading.text != change.new.text
        ]
        if own and not change.holder.startswith(("filament ", "print ")):
            yield _told(change, own)


def _told(change: Change, own: list[Reading]) -> Doubt:
    named = [
        f"{each.place.file}:{each.place.line} ({each.holder}) has its own {each.text}"
        for each in own[:MOST_OWN_VALUES]
    ]
    more = f", and {len(own) - MOST_OWN_VALUES} more" if own[MOST_OWN_VALUES:] else ""
    first = own[0]
    return Doubt(
        first.place,
        first.text,
        f"{change.label} becomes {change.new.text} for the machine, but {'; '.join(named)}{more}, which wins there",
        f"Measure with each of them and say so in the measured sheet, of: {{{first.holder.kind}: {first.holder.name}}}; or take "
        "its line out where it is to have the machine's value",
    )
