"""Values that would be written but for another one behind them, of which nobody knows whether it is the old drive's: a
place to wait that follows an end of travel, say.

The one behind is asked about by itself; without this its followers would stay old in silence. Nothing is written here: a
person is shown each line with what it becomes. Ends of travel that wait are the matter of `scripts/limits.py`.
"""

from __future__ import annotations

from collections.abc import Iterator

from cfgmigrate.ground.number_text import measure
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.plan.lines_beside import Beside
from cfgmigrate.rules.age import SAME, Age
from cfgmigrate.rules.lanes import Worked
from cfgmigrate.rules.passes import deciding


def waiting_values(machine: Machine, worked: Worked) -> Iterator[Beside]:
    """The lines of such values, but for those that are asked about themselves."""
    for lane, outcome in worked.lanes.items():
        view = machine.view(lane.feeder, lane.profile)
        for name, would in outcome.held.items():
            reading, told = view.get(name), outcome.ages.get(name)
            if reading is None or reading.value is None or deciding(reading, lane.feeder) != lane:
                continue
            if (told is None or told.age is not Age.UNKNOWN) and abs(would - reading.value) > SAME * abs(
                would
            ):
                known = quantity(name)
                becomes = measure(would, 0.0, known.unit)
                why = f"{known.label}: {becomes} once what it follows from is known to be the old drive's"
                yield reading.place.file, reading.place.line, f"{reading.setting.name} = {reading.text}", why
