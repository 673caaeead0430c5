"""The line that may say how high the probe acts, where nothing that was understood does.

Such a line may be protected by its own words: it is then read and never written, and a person has to say what it is
before anything follows from it. The by-hand item that sends people looking for it names the line, and what to write
where it is the one.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.spots import name_line
from cfgmigrate.plan.model import ByHand

HEIGHT_RULE = "probe.height_unread"
#: how a step begins that names such a line
MAY_BE = "It may be "
_PROBE = "protected.probe"


def with_lines(items: Iterable[ByHand], machine: Machine) -> list[ByHand]:
    """The by-hand items, where the one that looks for the probe's height names the lines that may have it."""
    steps = tuple(_step(machine))
    return [
        replace(item, steps=(*steps, *item.steps)) if item.rule == HEIGHT_RULE else item for item in items
    ]


def _step(machine: Machine) -> Iterable[str]:
    for reading in machine.readings:
        if reading.quantity.startswith(_PROBE):
            place = f"{reading.place.file}:{reading.place.line}"
            line = name_line(reading.setting, "probe.offset_z")
            yield (
                f"{MAY_BE}{place}: {reading.setting.name} = {reading.text}. If it says how high the tip stands when the "
                f"probe acts, write in cfgmigrate.yaml, under meanings: {line}. It is protected, so it is read then, and set by hand."
            )
