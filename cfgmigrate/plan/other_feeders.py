"""A machine with several feeders and a sheet that tells of one swap: whose values are worked out is said.

A sheet says nothing of the feeder's number, so the first one's values are worked out, and those of all
others stay as they are. Where it was another one that was swapped, its motor would keep the old one's
current and the first motor would get the new one's: that is a warning on every value concerned.

This module changes no value and no reading.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from cfgmigrate.machine.model import Machine, Reading, feeder
from cfgmigrate.machine.quantities import known, numbered, of_feeder
from cfgmigrate.plan.model import Change, LeftAlone

_ORDINALS = {2: "second", 3: "third"}


def further_members(machine: Machine) -> tuple[Reading, ...]:
    """The first reading of each further feeder; () where there is one feeder."""
    own = (machine.held_by(feeder(number)) for number in machine.feeders if number > 1)
    return tuple(readings[0] for readings in own if readings)


def warned(changes: Iterable[Change], others: Sequence[Reading]) -> list[Change]:
    """The changes, those of the first feeder with the warning that there are others."""
    if not others:
        return list(changes)
    named = ", ".join(f"{_name(each)}, from {each.place.file}:{each.place.line}" for each in others)
    warning = (
        f"The files hold {len(others) + 1} feeders and the sheet tells of one swap: these values go to the first feeder,"
        f" and the others ({named}) stay as they are. If another one was swapped, don't install this: name its"
        " settings as those of the first in a names file, and the first one's as its own."
    )
    return [
        replace(change, warnings=(warning, *change.warnings)) if _of_feeder(change) else change
        for change in changes
    ]


def left_members(machine: Machine, changes: Iterable[Change]) -> list[LeftAlone]:
    """The values of further feeders whose like changes in the first."""
    why = "the sheet tells of one swap, and its values go to the first feeder"
    moved = [change.quantity for change in changes if _of_feeder(change)]
    return [
        LeftAlone(numbered(name, number), why)
        for number in machine.feeders
        for name in moved
        if number > 1 and machine.reading(name, feeder(number)) is not None
    ]


def _of_feeder(change: Change) -> bool:
    """Whether a change is of a feeder; that of a number in a script has an id of its own."""
    return known(change.quantity) and of_feeder(change.quantity)


def _name(reading: Reading) -> str:
    number = int(reading.holder.name)
    return f"the {_ORDINALS.get(number, f'{number}th')}"
