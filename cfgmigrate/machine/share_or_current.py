"""A current at rest that a person says to be a share of the run current, on a line that states it in amperes.

    hold current = 45 mA     # the site file: {quantity: motor.hold_current, unit: "% of the run current"}

A share follows the run current and needs no number of its own, so such a line would stay as it is without a word. One of the two
is wrong, and which is asked.
"""

from __future__ import annotations

import dataclasses
import re

from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import unit_written
from cfgmigrate.machine.matching import Fit
from cfgmigrate.machine.names import Named
from cfgmigrate.machine.number_units import HOLD
from cfgmigrate.machine.spots import Spot

#: `45 mA peak` is a text to whoever reads values
_QUALIFIED = pattern(r"[ \t]*(?:rms|peak|eff)\.?$", re.IGNORECASE)


def share_against(spot: Spot, best: tuple[Fit, ...], named: Named) -> tuple[Doubt, ...]:
    """The question about such a line; none for any other."""
    stated = _current_stated(spot, best) if named.follows else ""
    if not stated:
        return ()
    why = f"the line states {stated}, and {named.place.file}:{named.place.line} says that it is a share of the run current"
    asked = spot.doubt(why, f"say unit: {stated} there, or put the line's unit right")
    return (dataclasses.replace(asked, about=HOLD),)


def _current_stated(spot: Spot, best: tuple[Fit, ...]) -> str:
    """The unit of a current that a line states in its value, its remark or its key; "" for none."""
    value = _QUALIFIED.sub("", spot.setting.value.strip())
    read = read_value(value)
    behind = unit_written(read.unit) if isinstance(read, Number) and read.unit else spot.unit
    said = [behind, *(unit_written(fit.unit) for fit in best if fit.unit)]
    return next((unit.name for unit in said if unit and unit.of == "current"), "")
