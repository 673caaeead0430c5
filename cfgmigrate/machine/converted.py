"""Remarks that say a number over again in another unit: `speed = 2400   # = 40 mm/s`.

Such a remark is no statement that the number is in its unit. It tells in which unit it is: the one in which both are
the same. A remark whose number is neither the same nor the same in any unit of the trade tells nothing.

So it is with the step angle beside a motor's full steps, `200  // 1.8 deg`: both make one turn, so the number is the count.
"""

from __future__ import annotations

from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import Unit, unit_written, units

_SAID_AGAIN = pattern(
    r"[ \t]*(?:=|i\.e\.|that is|which is)[ \t]*([0-9]{1,9}(?:\.[0-9]{1,9})?)[ \t]*([^\s,;()]{1,12})"
)
_STEP_ANGLE = pattern(r"[ \t]*=?[ \t]*([0-9]{1,2}(?:\.[0-9]{1,4})?)[ \t]*(?:°|degrees?\b|deg\b)[ \t]*,?")
_TURN = 360.0
#: how far two ways to say one number may be apart: people round
_ROUNDED = 0.01


def said_again(remark: str, value: str) -> Unit | None:
    """The unit of a value by a remark that says it again in another; None where it does not."""
    found = _SAID_AGAIN.match(remark)
    number = read_value(value)
    other = unit_written(found[2]) if found else None
    if not found or other is None or not isinstance(number, Number) or number.unit or not number.value:
        return None
    meant = float(found[1]) * float(other.size) / number.value
    same = [
        unit
        for unit in units().values()
        if unit.of == other.of and unit.in_files and abs(float(unit.size) - meant) <= _ROUNDED * meant
    ]
    return same[0] if len(same) == 1 else None


def without_step_angle(remark: str, value: str) -> str:
    """A remark without the step angle at its beginning, where that times the value is one turn."""
    found = _STEP_ANGLE.match(remark)
    number = read_value(value) if found else None
    if not found or not isinstance(number, Number) or number.unit:
        return remark
    same = abs(float(found[1]) * number.value - _TURN) <= _ROUNDED * _TURN
    return remark[found.end() :] if same else remark
