"""Changes that rest on an old value of which a text beside the files gives another number, and is asked whether the board keeps it.

Where the board does, its number is the old one, and not the file's: a lag that is scaled from the file's would be wrong, and would
be written as if nothing were open. So such a change waits for the answer, as one does between two files that differ. What
is set without the old value is written all the same, and its light is told by `kept_by_board.py`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from cfgmigrate.machine.model import Machine, Reading
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.plan.kept_by_board import listed_otherwise
from cfgmigrate.plan.model import Change

_OLD = "was."


def rests_on_listed(changes: Iterable[Change], machine: Machine) -> Iterator[tuple[Change, str]]:
    """Those changes, each with what is to be said of it."""
    if not machine.unclaimed:
        return
    by_holder: dict[str, dict[str, Reading]] = {}
    for reading in machine.readings:
        by_holder.setdefault(str(reading.holder), {}).setdefault(reading.quantity, reading)
    for change in changes:
        inputs = change.derivation.inputs if change.derivation else ()
        old = [each.name.removeprefix(_OLD) for each in inputs if each.name.startswith(_OLD)]
        readings = [
            by_holder[holder][name]
            for name in old
            for holder in (change.holder, "machine")
            if name in by_holder.get(holder, {})
        ]
        listed = listed_otherwise(machine, readings)
        if found := next((each for each in readings if each.quantity in listed), None):
            at = f"{found.place.file}:{found.place.line}"
            yield (
                change,
                f"{quantity(found.quantity).label} may be another one than at {at}: {listed[found.quantity]}",
            )
