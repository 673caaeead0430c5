"""The lines that by-hand items are about, where a rule only knows values.

A line may say how high the probe acts and be protected by its own words: it is then read and never written, and a
person has to say what it is before anything follows from it. And an old lag that nothing could be worked out for stays in
its line, of the machine or of a profile. Such an item names the line, and what would settle it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.spots import name_line
from cfgmigrate.plan.model import ByHand
from cfgmigrate.sheet.model import Entries

HEIGHT_RULE, LAG_RULE, LAG = "probe.height_unread", "lag.to_measure", "lag.coefficient"
#: how a step begins that names a line which may be the one
MAY_BE = "It may be "
_PROBE = "protected.probe"
#: what a lag is scaled from, besides itself, with what to call it
_LAG_NEEDS = (
    ("old.tube.length", "the length of the tube that came off"),
    ("new.tube.length", "the length of guide that is left"),
    ("filament.material", "the filament's material"),
)


def with_lines(items: Iterable[ByHand], machine: Machine, said: Mapping[str, Entries]) -> list[ByHand]:
    """The by-hand items, with the lines that they are about as first steps. `said` is what the sheet says of each
    holder, by its name."""
    height = tuple(_heights(machine))

    def steps(item: ByHand) -> tuple[str, ...]:
        if item.rule == HEIGHT_RULE:
            return height
        return tuple(_lags(machine, item.holder, said)) if item.rule == LAG_RULE else ()

    return [replace(item, steps=(*found, *item.steps)) if (found := steps(item)) else item for item in items]


def _heights(machine: Machine) -> Iterator[str]:
    for reading in machine.readings:
        if reading.quantity.startswith(_PROBE):
            place = f"{reading.place.file}:{reading.place.line}"
            line = name_line(reading.setting, "probe.offset_z")
            yield (
                f"{MAY_BE}{place}: {reading.setting.name} = {reading.text}. If it says how high the tip stands when the "
                f"probe acts, write in cfgmigrate.yaml, under meanings: {line}. It is protected, so it is read then, and "
                "set by hand."
            )


def _lags(machine: Machine, holder: str, said: Mapping[str, Entries]) -> Iterator[str]:
    entries = said.get(holder, {})
    missing = [f"{what} ({name})" for name, what in _LAG_NEEDS if name not in entries]
    for reading in machine.readings:
        if reading.quantity == LAG and str(reading.holder) == holder and reading.value:
            place = f"{reading.place.file}:{reading.place.line}"
            settle = (
                f" A first value can be worked out once the sheet says {', '.join(missing)}."
                if missing
                else ""
            )
            yield f"The old lag stays in {place}: {reading.setting.name} = {reading.text}.{settle}"
