"""A value that was kept within another one stays within it as both are written.

A rule takes the lesser of a value and a limit, and each of the two is rounded for itself afterwards: the limit down, and
the other one to the digits that its own uncertainty leaves. So the other one could end a hair above the limit as the
file or the board will have it, and the machine would refuse it. It then gets the limit's own written value.

Which value is whose limit is read from the rule's own formula; nothing is computed here.
"""

from __future__ import annotations

from msgspec.structs import replace

from cfgmigrate.machine.listings import is_listed
from cfgmigrate.machine.model import Reading, View
from cfgmigrate.plan.encoding import EncodedValue, write
from cfgmigrate.rules.engine import Outcome
from cfgmigrate.rules.result import Result

_LESSER, _BECOMES = "min(", "will."


def within_its_limits(
    own: EncodedValue, result: Result, reading: Reading, outcome: Outcome, view: View
) -> EncodedValue:
    """A result as it is written, or as its lowest limit is written where that is less."""
    limits = [] if result.value is None else _limits(result, result.value, outcome, view)
    lowest = min(limits, default=own.value)
    if own.value <= lowest:
        return own
    return write(replace(result, value=lowest, uncertainty=0.0, round_down=True), reading)


def _limits(result: Result, value: float, outcome: Outcome, view: View) -> list[float]:
    """The written values of what the result's formula takes the lesser of, itself being no less than the result."""
    if not result.derivation.formula.startswith(_LESSER):
        return []
    found = []
    for each in result.derivation.inputs:
        limit = outcome.by_target.get(each.name.removeprefix(_BECOMES))
        if not each.name.startswith(_BECOMES) or limit is None or limit.value is None:
            continue
        place = view.get(limit.target)
        if place is None or not (place.editable or is_listed(place)):
            continue
        if limit.unit == result.unit and limit.value >= value:
            found.append(write(limit, place).value)
    return found
