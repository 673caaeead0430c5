"""Readings by quantity and feeder in one word, for tests that tell of several feeders."""

from __future__ import annotations

from cfgmigrate.machine.model import Machine, Reading
from cfgmigrate.machine.quantities import numbered


def spelled(reading: Reading) -> str:
    """`feeder2.steps_per_mm` for what is the second feeder's."""
    own = reading.holder.kind == "feeder"
    return numbered(reading.quantity, int(reading.holder.name) if own else 1)


def values(machine: Machine) -> dict[str, float | None]:
    return {spelled(reading): reading.value for reading in machine.readings}
