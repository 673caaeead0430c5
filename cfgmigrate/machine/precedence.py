"""Several readings of one quantity and holder: which is in force, which move along with it, and which are in doubt.

The same setting twice: the last one is in force, and a doubt reports the first. Where the last one stands
in a block that the machine itself wrote behind comment markers, the one in the body moves with it, though it
be in an included file.
Different settings, or the same one in different files, with equal values move together (`followed`). With
unequal values there is a doubt; the last is in force where the quantity may rightly stand both in the
machine's files and in a slicing profile, where a later file overrides an earlier one by the same setting,
or where the quantity is protected, and none is in force otherwise.

This module deliberately looks at no words and at no file's text.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.model import Key, Reading
from cfgmigrate.machine.quantities import facts, quantity
from cfgmigrate.machine.values import name_line

#: Two values closer than this, relative to the larger, are the same.
SAME = 1e-6
TWICE = "take out the line that is not meant"
IN_STEP = "nothing has to be done: where one changes, the other is changed with it"


@dataclass
class Standing:
    """All readings, settled."""

    in_force: list[Reading] = field(default_factory=list)
    shadowed: list[Reading] = field(default_factory=list)
    followed: dict[Key, tuple[Reading, ...]] = field(default_factory=dict)
    doubts: list[Doubt] = field(default_factory=list)


def alike(one: Reading, other: Reading) -> bool:
    """Whether two readings say the same."""
    if one.value is None or other.value is None:
        return one.text.split() == other.text.split()
    return abs(one.value - other.value) <= SAME * max(abs(one.value), abs(other.value))


def settle(readings: Iterable[Reading]) -> Standing:
    """Settles readings that stand in the order of files and lines."""
    by_key: dict[Key, list[Reading]] = {}
    for reading in readings:
        by_key.setdefault(reading.key, []).append(reading)
    found = Standing()
    for several in by_key.values():
        _settle_one(found, _each_span_once(several))
    return found


def _each_span_once(several: list[Reading]) -> list[Reading]:
    """A number that is read under two names is one number."""
    return list({(each.place.file, each.start, each.end): each for each in several}.values())


def _settle_one(found: Standing, several: list[Reading]) -> None:
    if len(several) == 1:
        found.in_force.append(several[0])
        return
    standing, moving = _last_of_each_setting(found, several)
    *others, last = standing
    unequal = [other for other in others if not alike(other, last)]
    if unequal:
        if _overrides(unequal, last) and last.setting.saved:
            how = "is overridden by the block that the machine wrote,"
            found.doubts.extend(_doubt(other, last, how, IN_STEP) for other in unequal)
        elif _overrides(unequal, last):
            found.doubts.extend(_doubt(other, last, "is overridden by") for other in unequal)
            found.shadowed.extend(unequal)
            others = [other for other in others if other not in unequal]
        elif facts(last.quantity).both:
            found.doubts.extend(_doubt(other, last, "differs from") for other in unequal)
        elif quantity(last.quantity).protected:
            found.shadowed.extend(others)
            others = []
        else:
            found.doubts.extend(_undecided(reading, last) for reading in unequal)
            found.shadowed.extend((*others, last, *moving))
            return
    found.in_force.append(last)
    if others or moving:
        found.followed[last.key] = (*others, *moving)


def _last_of_each_setting(found: Standing, several: list[Reading]) -> tuple[list[Reading], list[Reading]]:
    """The last reading of each setting of each file, and those in a body that a written block overrides."""
    last: dict[tuple[str, ...], Reading] = {}
    moving: list[Reading] = []
    for reading in several:
        key = (reading.place.file, *_setting(reading))
        earlier = last.pop(key, None)
        last[key] = reading
        if earlier is None:
            continue
        if reading.setting.saved and not earlier.setting.saved:
            moving.append(earlier)
            how = "is overridden by the block that the machine wrote,"
            if not alike(earlier, reading):
                found.doubts.append(_doubt(earlier, reading, how, IN_STEP))
        else:
            found.shadowed.append(earlier)
            found.doubts.append(_doubt(earlier, reading, "is overridden by"))
    return list(last.values()), moving


def _setting(reading: Reading) -> tuple[str, str]:
    return reading.setting.section.casefold(), reading.setting.key.casefold()


def _overrides(others: list[Reading], last: Reading) -> bool:
    """Whether a later file overrides all others by the very same setting."""
    return all(_setting(other) == _setting(last) for other in others)


def _doubt(reading: Reading, last: Reading, how: str, remedy: str = TWICE) -> Doubt:
    label = quantity(reading.quantity).label
    place = f"{last.place.file}:{last.place.line}"
    why = f"{label} stands more than once: {reading.text} {how} {last.text} at {place}"
    return Doubt(reading.place, _line(reading), why, remedy)


def _undecided(reading: Reading, last: Reading) -> Doubt:
    label = quantity(reading.quantity).label
    place = f"{last.place.file}:{last.place.line}"
    why = f"{label} is {reading.text} here and {last.text} at {place}; which one holds is not clear"
    lines = " or ".join(name_line(each.setting, "ignore") for each in (reading, last))
    return Doubt(
        reading.place, _line(reading), why, f"say in a names file which one is nothing of the kind: {lines}"
    )


def _line(reading: Reading) -> str:
    first = reading.setting.value.splitlines()[0] if reading.setting.value else ""
    return f"{reading.setting.key} = {first}"
