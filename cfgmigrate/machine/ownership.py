"""Whose a reading is: which feeder's, and whether it is the feeder's at all.

A motor current whose motor nobody names is the feeder's where it is the only one of its measure in the whole
configuration. Feeders are counted by the numbers behind their names. A number that sets two quantities at
once, because both name it, belongs to neither as far as edits go.

This module deliberately does not look at values.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.collect import Collected
from cfgmigrate.machine.model import Reading
from cfgmigrate.machine.quantities import group_member, numbered_groups, quantity
from cfgmigrate.machine.values import name_line


def with_owner(readings: list[Collected]) -> tuple[list[Collected], list[Doubt]]:
    """Leaves out readings of which nothing says whose they are, unless each is the only one of its measure.

    A number that is read under another name as well, which says whose it is, needs no doubt.
    """
    owned = {_span(each.reading) for each in readings if not each.alone}
    readings = [each for each in readings if not each.alone or _span(each.reading) not in owned]
    settings = Counter(
        measure
        for measure, _ in {(each.measure, identity(each.reading)) for each in readings if each.measure}
    )
    kept, doubts = [], []
    for each in readings:
        if not each.alone or (settings[each.measure] == 1 and not each.strange):
            kept.append(each)
        else:
            doubts.append(_ownerless(each.reading))
    return kept, doubts


def identity(reading: Reading) -> tuple[str, str, str]:
    """What makes two readings come from the same setting: file, section and key."""
    return reading.place.file, reading.setting.section.casefold(), reading.setting.key.casefold()


def _ownerless(reading: Reading) -> Doubt:
    label = quantity(reading.quantity).label
    line = name_line(reading.setting, reading.quantity)
    return Doubt(
        reading.place,
        f"{reading.setting.key} = {reading.setting.value}",
        f"this may be {label}, but nothing says what it belongs to",
        f"say so in a names file: {line}",
    )


def feeders_counted(readings: list[Collected]) -> list[Reading]:
    """Readings with the feeder each belongs to, counted from the lowest number that the files use.

    The lowest is 0 where there is a 0. Else it is 1, unless a setting without a number says the same as one
    with a 1 (`extruder`, `extruder1`): then the one without a number is the first feeder.
    """
    numbers = {each.number for each in readings if each.number is not None and not each.settled}
    bare = {each.reading.quantity for each in readings if each.number is None and not each.settled}
    ones = {each.reading.quantity for each in readings if each.number == 1 and not each.settled}
    first = 0 if 0 in numbers or (2 not in numbers and bare & ones) else 1
    return [_counted(each, first) for each in readings]


def _counted(each: Collected, first: int) -> Reading:
    reading = each.reading
    if each.settled or each.number is None or reading.quantity.partition(".")[0] not in numbered_groups():
        return reading
    return replace(reading, quantity=group_member(reading.quantity, max(each.number - first, 0) + 1))


def _span(reading: Reading) -> tuple[str, int, int]:
    return reading.place.file, reading.start, reading.end


def each_number_for_itself(readings: list[Reading]) -> tuple[list[Reading], list[Reading], list[Doubt]]:
    """Readings whose number is theirs alone; those whose number also sets another quantity, so that to edit
    one would change the other; and a doubt for each of these. Protected ones are never edited: they stay."""
    sharing: dict[tuple[str, int, int], list[str]] = {}
    for reading in readings:
        sharing.setdefault(_span(reading), []).append(reading.quantity)
    own, shared, doubts = [], [], []
    for reading in readings:
        others = set(sharing[_span(reading)]) - {reading.quantity}
        if others and not quantity(reading.quantity).protected:
            shared.append(reading)
            doubts.append(_shared_doubt(reading, others))
        else:
            own.append(reading)
    return own, shared, doubts


def _shared_doubt(reading: Reading, others: set[str]) -> Doubt:
    label = quantity(reading.quantity).label
    with_it = ", ".join(sorted(quantity(other).label for other in others))
    why = f"{label} ({reading.setting.name}) is the same number as {with_it}: to change one changes the other"
    return Doubt(reading.place, reading.text, why, "write a number of its own behind each name")
