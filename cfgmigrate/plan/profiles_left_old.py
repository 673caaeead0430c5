"""What profiles print with by a line that nobody reads, where each sets a value for itself and the machine has none.

A light may say so of the machine, "each profile sets it for itself", only as long as each that runs here is known to. A line that was
said to be nothing, though its words say that it is such a value, stays as it is: it may well be another machine's, or for all of
several, and this one prints with it all the same. So it is named, and so is a profile that has no such line at all beside others
of its kind that have one, and inherits none of theirs: what it prints with stands where nobody looked.

A line that was said to be nothing is gone by where its file has another one that is read: that is how a machine has one of
its own beside the one for all. This module takes no value, and asks nothing of values that the machine has itself.
"""

from __future__ import annotations

from collections.abc import Collection

from cfgmigrate.machine.model import Machine
from cfgmigrate.plan.inherited import inherits

#: so many are named for one value
MOST_LEFT_NAMED = 4
#: the kinds of profiles; each print runs with one of either
_KINDS = ("filament", "print")


def profiles_left_old(machine: Machine, feeder: int, elsewhere: Collection[str]) -> dict[str, str]:
    """What is to be said of each value that profiles set `elsewhere`, where not all of them are known to set it."""
    found: dict[str, str] = {}
    for quantity in sorted(elsewhere):
        if told := [*_said_nothing(machine, quantity), *_without(machine, feeder, quantity)]:
            more = f", and {len(told) - MOST_LEFT_NAMED} more" if told[MOST_LEFT_NAMED:] else ""
            found[quantity] = ", ".join(told[:MOST_LEFT_NAMED]) + more
    return found


def _said_nothing(machine: Machine, quantity: str) -> list[str]:
    """The lines that were said to be nothing, of files in which none is read as the value."""
    read = {each.place.file for each in machine.every_reading if each.quantity == quantity}
    return [
        f"{each.place.file}:{each.place.line} ({each.text}) was said to be nothing and stays"
        for each in machine.said_nothing
        if quantity in each.nearest and each.place.file not in read
    ]


def _without(machine: Machine, feeder: int, quantity: str) -> list[str]:
    """The profiles with which a print may run that none sets the value for: those of the kind of which most have it."""
    lacking: dict[str, list[str]] = {}
    for kind in _KINDS:
        own = [each for each in machine.profiles_serving(feeder) if each.kind == kind]
        has = [
            any(found.quantity == quantity for found in machine.set_by(each, (feeder,)))
            or inherits(machine, each, feeder, quantity)
            for each in own
        ]
        if any(has):
            lacking[kind] = [f"{each} has none" for each, sets in zip(own, has, strict=True) if not sets]
    return min(lacking.values(), key=len, default=[])
