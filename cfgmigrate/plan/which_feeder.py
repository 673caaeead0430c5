"""Which feeder a plain sheet is about, where the files tell of several or may: a light of its own while nobody says it.

What is worked out until then is the first feeder's. This module asks; the sheet answers.
"""

from __future__ import annotations

from cfgmigrate.dialects.document import State
from cfgmigrate.ground.side_words import LEFT_AND_RIGHT
from cfgmigrate.machine.model import MACHINE, Machine, feeder
from cfgmigrate.machine.quantities import of_feeder, quantity
from cfgmigrate.machine.words import split
from cfgmigrate.plan.lights import UNKNOWN
from cfgmigrate.plan.model import Light
from cfgmigrate.sheet.model import Sheet

MOST_CHOICES_NAMED = 4
#: keys that count what has a feeder each
_COUNTED = frozenset({"heads", "feeders", "extruders"})
_SEVERAL = frozenset("2345678")


def which_feeder(machine: Machine, sheet: Sheet) -> tuple[Light, ...]:
    """A light of its own where the machine has several feeders and a plain sheet doesn't say which one it means; also
    where the one feeder that the files tell of is on a side, for then there may be another."""
    if not sheet.plain or sheet.feeder is not None:
        return ()
    if len(machine.feeders) < 2:
        return _is_it_that_one(machine) or _counted_in_files(machine)
    called = {number: _called(machine, number) for number in machine.feeders}
    listed = ", ".join(f"{number} ({name})" if name else str(number) for number, name in called.items())
    offered = list(called.items())[:MOST_CHOICES_NAMED]
    ways = ", or ".join(f"feeder: {number}{' for ' * bool(name)}{name}" for number, name in offered)
    why = (
        f"which is swapped? The files hold feeders {listed}, and the sheet doesn't say it; the first is taken"
    )
    return (
        Light(
            "feeder",
            str(MACHINE),
            UNKNOWN,
            why,
            (f"write at the top of the sheet which one is swapped: {ways}",),
        ),
    )


def _called(machine: Machine, number: int) -> str:
    """The name or the side by which the files or the site file call a feeder, "" for none."""
    names = {name for name, found in machine.feeder_names.items() if found == number}
    sides = {
        word
        for each in machine.held_by(feeder(number))
        for word in split(each.setting.section)
        if word in LEFT_AND_RIGHT
    }
    return min(names, default="") or ("".join(sides) if len(sides) == 1 else "")


def _is_it_that_one(machine: Machine) -> tuple[Light, ...]:
    named = {
        word
        for each in machine.readings
        if of_feeder(each.quantity) and not quantity(each.quantity).protected
        for word in split(each.setting.section)
        if word in LEFT_AND_RIGHT
    }
    if len(named) != 1:
        return ()
    (side,) = named
    why = f"the only feeder that I read is called {side}, and the sheet doesn't say whether that is the one that is swapped"
    remedy = f"write feeder: 1 at the top of the sheet, if it is the {side} one; else give the files of the other one too"
    return (Light("feeder", str(MACHINE), UNKNOWN, why, (remedy,)),)


def _counted_in_files(machine: Machine) -> tuple[Light, ...]:
    """Where the files count two feeders or heads, and one is read: its lines may be for both."""
    for document in machine.documents:
        for setting in document.settings:
            counted = _COUNTED.intersection(split(setting.key)[:1] if len(split(setting.key)) == 1 else ())
            if setting.state is State.ACTIVE and counted and setting.value.strip() in _SEVERAL:
                where = f"{document.path}:{setting.line}"
                why = f"which is swapped? {where} counts {setting.value.strip()} {setting.key}, and I read one feeder: its lines may be for all of them"
                remedy = (
                    "if it is for one, or all of them are swapped, write feeder: 1 at the top of the sheet; else give the one that "
                    "is swapped lines of its own, and say in cfgmigrate.yaml what is whose: feeders: {near: {known_as: [near]}, far: {known_as: [far]}}"
                )
                return (Light("feeder", str(MACHINE), UNKNOWN, why, (remedy,)),)
    return ()
