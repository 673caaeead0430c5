"""A machine with several feeders and a sheet that tells of one swap: whose values are worked out is said.

A sheet says nothing of the feeder's number, so the first one's values are worked out, and those of all
others stay as they are. Where it was another one that was swapped, its motor would keep the old one's
current and the first motor would get the new one's: that is a warning on every value concerned.

This module changes no value and no reading.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from cfgmigrate.machine.model import Machine, Reading
from cfgmigrate.machine.quantities import group_member, member_number, numbered_groups
from cfgmigrate.plan.model import Change, LeftAlone

_ORDINALS = {2: "second", 3: "third"}


def further_members(machine: Machine) -> tuple[Reading, ...]:
    """The first reading of each further feeder; () where there is one feeder."""
    found: dict[int, Reading] = {}
    for reading in machine.readings:
        number = member_number(reading.quantity)
        if number > 1:
            found.setdefault(number, reading)
    return tuple(found[number] for number in sorted(found))


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
        replace(change, warnings=(warning, *change.warnings))
        if change.quantity.partition(".")[0] in numbered_groups()
        else change
        for change in changes
    ]


def left_members(machine: Machine, changes: Iterable[Change]) -> list[LeftAlone]:
    """The values of further feeders whose like changes in the first."""
    why = "the sheet tells of one swap, and its values go to the first feeder"
    moved = [change.quantity for change in changes if change.quantity.partition(".")[0] in numbered_groups()]
    numbers = [member_number(reading.quantity) for reading in further_members(machine)]
    others = (group_member(name, number) for number in numbers for name in moved)
    return [LeftAlone(name, why) for name in others if machine.get(name) is not None]


def _name(reading: Reading) -> str:
    number = member_number(reading.quantity)
    return f"the {_ORDINALS.get(number, f'{number}th')}"
