"""What a profile sends when its print has ended, `at end = M861 S0.64`: what the machine is to go on with, and no value of the profile's.

The profile's own line sets the lag to 0.58 s, its beginning sends that, and its end sends back what the board keeps. Were the end
the last word on it, the profile's value would be asked about beside a number of the machine's, and either answer left a line
old. So such a line is the machine's: where it says what the machine has, it moves with that. Where it says another number it
stays, and is told.

This module deliberately looks at no words: which occasion a script is for is known elsewhere.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from msgspec.structs import replace

from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.model import Reading
from cfgmigrate.machine.precedence import Standing, alike
from cfgmigrate.machine.quantities import label_of

#: what a profile sets while it prints, and its end may put back
_PUT_BACK = ("lag.", "retraction.", "feeder.", "axis.", "motor.", "machine.")


def apart_from_the_end(
    readings: Sequence[Reading], off: Iterable[Reading], at_the_end: Callable[[Reading], bool]
) -> tuple[list[Reading], list[Reading]]:
    """The readings, and those of profiles that stand in a script of the end, where the profile has another line of it. `off` are
    those that only switch something off."""
    ends = {
        _span(each): each
        for each in readings
        if each.holder.profile and each.quantity.startswith(_PUT_BACK) and at_the_end(each)
    }
    if not ends:
        return list(readings), []
    others = {each.key for each in (*readings, *off) if _span(each) not in ends}
    ends = {span: each for span, each in ends.items() if each.key in others}
    return [each for each in readings if _span(each) not in ends], list(ends.values())


def _span(reading: Reading) -> tuple[str, int, int]:
    """A number that is read under two names is one number."""
    return reading.place.file, reading.start, reading.end


def with_what_is_put_back(standing: Standing, ends: Iterable[Reading]) -> None:
    """Lets what is sent at the end move with the machine's own value where it says the same, and tells of the rest."""
    of_machine: dict[str, list[Reading]] = {}
    for each in standing.in_force:
        if not each.holder.profile:
            of_machine.setdefault(each.quantity, []).append(each)
    for each in ends:
        found = of_machine.get(each.quantity, [])
        own = found[0] if found else None
        if len({one.holder for one in found}) > 1:
            standing.shadowed.append(each)
            standing.doubts.append(_of_which(each))
        elif own is not None and alike(each, own):
            along = replace(each, holder=own.holder, serves=own.serves)
            standing.followed[own.key] = (*standing.followed.get(own.key, ()), along)
        else:
            standing.shadowed.append(each)
            standing.doubts.append(_told(each, own))


def _of_which(each: Reading) -> Doubt:
    label = label_of(each)
    return Doubt(
        each.place,
        f"{each.setting.section} {each.setting.key}{each.text}",
        f"the {label} is set to {each.text} here when a print ends, and which of the feeders goes on with it is not said; it stays as it is",
        f"write here by hand the {label} that this feeder is to go on with",
        about=each.quantity,
    )


def _told(each: Reading, own: Reading | None) -> Doubt:
    label = label_of(each)
    has = (
        f"the machine has {own.text} at {own.place.file}:{own.place.line}"
        if own
        else "no line of the machine's sets one"
    )
    return Doubt(
        each.place,
        f"{each.setting.section} {each.setting.key}{each.text}",
        f"the {label} is set to {each.text} here when a print ends, and {has}; it stays as it is, and holds from then on",
        f"write here by hand the {label} that the machine is to go on with",
        about=each.quantity,
    )
