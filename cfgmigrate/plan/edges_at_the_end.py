"""Edges of the field that is probed for which the tip has to go to the very end of an axis.

The rules draw an edge in that the probe no longer reaches. One that it reaches with nothing to spare stays, and a tip whose
shift was measured half a millimetre wrong then meets the end. So a person is shown where that is; nothing is written.
"""

from __future__ import annotations

from collections.abc import Iterator

from cfgmigrate.machine.model import Machine
from cfgmigrate.rules.engine import Outcome

#: mm between the tip and the end of its axis that are next to nothing (common practice, no source)
TO_SPARE = 0.5
_ENDS = (("from", "min", "low"), ("to", "max", "high"))


def edges_at_the_end(machine: Machine, outcome: Outcome) -> Iterator[tuple[str, int, str, str]]:
    """The edges that stay, each with its line, its text, and why it is pointed at."""
    for axis in "xy":
        offset = becomes(machine, outcome, f"probe.offset_{axis}")
        for edge, end, by_hand in _ENDS:
            reading = machine.get(f"mesh.{edge}_{axis}")
            set_by_hand = outcome.result(f"axis.{axis}.{by_hand}_by_hand")
            limit = (
                set_by_hand.value
                if set_by_hand is not None
                else becomes(machine, outcome, f"axis.{axis}.{end}")
            )
            if reading is None or reading.value is None or offset is None or limit is None:
                continue
            if reading.quantity in outcome.by_target or f"probe.offset_{axis}" not in outcome.by_target:
                continue
            tip = reading.value - offset
            if abs(tip - limit) <= TO_SPARE:
                yield (
                    reading.place.file,
                    reading.place.line,
                    f"{reading.setting.name} = {reading.text}",
                    f"for it the tip goes to {tip:g} mm, with nothing to spare at that end of {axis}",
                )


def becomes(machine: Machine, outcome: Outcome, name: str) -> float | None:
    """The value that a quantity will have; None where neither a file nor a rule has one."""
    result, reading = outcome.by_target.get(name), machine.get(name)
    if result is not None and result.value is not None:
        return result.value
    return reading.value if reading is not None else None
