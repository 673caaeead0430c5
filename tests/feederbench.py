"""Readings by quantity and feeder in one word, and two files of a feeder each, for tests that tell of several feeders."""

from __future__ import annotations

from cfgmigrate.dialects import read
from cfgmigrate.files.told_feeders import Feeder
from cfgmigrate.machine.model import Machine, Reading
from cfgmigrate.machine.quantities import numbered
from cfgmigrate.machine.recognise import recognise

OWN = """{{
  "feeder": "{name}", "driver": {{"microsteps": 16, "coilCurrentMilliampRms": 980}},
  "wheel": {{"gearRatio": "1:1", "filamentPerTurn": "{turn} mm"}},
  "cornerSpeed": "4 mm/s", "retraction": {{"length": "5.8 mm", "speed": "2400 mm/min"}}
}}"""


def spelled(reading: Reading) -> str:
    """`feeder2.steps_per_mm` for what is the second feeder's."""
    own = reading.holder.kind == "feeder"
    return numbered(reading.quantity, int(reading.holder.name) if own else 1)


def values(machine: Machine) -> dict[str, float | None]:
    return {spelled(reading): reading.value for reading in machine.readings}


def two(
    first: str, second: str, text: str = OWN, feeders: tuple[Feeder, ...] = (), more: str = ""
) -> Machine:
    files = [(first, text.format(name="wren", turn=35.87)), (second, text.format(name="heron", turn=35.73))]
    files += [("all.json", more)] if more else []
    return recognise([read(path, said.encode(), "nested") for path, said in files], feeders=feeders)
