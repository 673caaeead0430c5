"""The places of scripts at an end of an axis that was cut short, where no limit of that axis was read.

What lies beyond a new limit is looked for by its number. Without one, the furthest places are those that may be out of
reach: each that lies nearer to the furthest of all than the carriage has lost there. A person is shown them.

Nothing is worked out by this, and nothing written.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from cfgmigrate.ground.number_text import measure
from cfgmigrate.machine.model import Machine
from cfgmigrate.scripts.number_change import scripts_of
from cfgmigrate.sheet.model import SheetEntry

#: so many lines are named at each end
MOST_AT_AN_END = 9


def furthest_places(machine: Machine, axis: str, said: Mapping[str, SheetEntry]) -> Iterator[str]:
    """A step for each end of the axis at which the carriage gets less far than before, by what the sheet says."""
    ends = (("low", "min", -1.0), ("high", "max", 1.0))
    lost = {
        (limit, sign): entry.value
        for end, limit, sign in ends
        if (entry := said.get(f"clearance.less_at_{end}_{axis}")) is not None and entry.value
    }
    if not lost:
        return
    places = tuple(_places(machine, axis))
    known = {each.quantity for each in machine.readings}
    for (limit, sign), by in lost.items():
        if f"axis.{axis}.{limit}" in known or not places:
            continue
        most = max(sign * value for value, _ in places)
        out = dict.fromkeys(
            f"{where} ({axis.upper()}{value:g})" for value, where in places if sign * value > most - by
        )
        yield (
            f"Of the scripts these go furthest towards {'higher' if sign > 0 else 'lower'} {axis}, nearer to the end than the "
            f"{measure(by, 0.0, 'mm')} that are lost there: {', '.join(list(out)[:MOST_AT_AN_END])}. See that each is still "
            "reached."
        )


def _places(machine: Machine, axis: str) -> Iterator[tuple[float, str]]:
    """Each place on the axis to which a script goes, with its file and line."""
    for script in scripts_of(machine):
        for move in script.moves:
            for target in move.targets:
                if target.axis == axis and target.absolute and target.value is not None:
                    place = target.value + (target.shift or 0.0)
                    yield place, f"{script.reading.place.file}:{script.line(move.start)}"
