"""Remarks that say a number over again in another unit: `speed = 2400   # = 40 mm/s`.

Such a remark is no statement that the number is in its unit. It tells in which unit it is: the one in which both are
the same. A remark whose number is neither the same nor the same in any unit of the trade tells nothing.

A unit, or `rms` or `peak`, that stands with a number of its own is of that number: `0.48 ; some 500 ms`, `1.16 ; that is 0.82
rms`. The value is then in the unit in which it is nearest to that number; whether it is rms or peak is in doubt.

So it is with the step angle beside a motor's full steps, `200  // 1.8 deg`: both make one turn, so the number is the count.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import Unit, unit_written, units
from cfgmigrate.machine.rms_or_peak import OF_ANOTHER, QUALIFIERS
from cfgmigrate.machine.stated import Stated, stated

_SAID_AGAIN = pattern(
    r"[ \t]*(?:=|i\.e\.|that is|which is)[ \t]*([0-9]{1,9}(?:\.[0-9]{1,9})?)[ \t]*([^\s,;()]{1,12})"
)
_STEP_ANGLE = pattern(r"[ \t]*=?[ \t]*([0-9]{1,2}(?:\.[0-9]{1,4})?)[ \t]*(?:°|degrees?\b|deg\b)[ \t]*,?")
_TURN = 360.0
#: how far two ways to say one number may be apart: people round
_ROUNDED = 0.01
#: the one of `1/mm` is of the unit
_NUMBER = pattern(r"(?<![\w.,])(?!1[ \t]?/[ \t]?[A-Za-zµ])[0-9]{1,9}(?:\.[0-9]{1,9})?(?![0-9.]*[0-9])")
_WORD_BEHIND = pattern(r"[ \t]*([^\s\d,;:()=]+)")
#: so many letters before a number its unit is looked for; a remark may be a whole table
_BEFORE = 40
_WORD_BEFORE = pattern(r"([^\s\d,;:()=]+)[ \t]{0,8}[:=]?[ \t]{0,8}$")
#: units that numbers of a measure are in, beside the one that a remark states
_USUAL = {
    "length": ("mm",),
    "current": ("A", "mA"),
    "time": ("s", "ms"),
    "speed": ("mm/s", "mm/min"),
    "acceleration": ("mm/s^2",),
}
#: a value that is so many times its remark's number, or more, is not in that number's unit
_FAR = 10.0


class _Measured(Struct, frozen=True):
    """A number of a remark with its unit, and `rms` or `peak` where it stands with it."""

    number: float
    start: int
    end: int
    unit: Unit | None = None
    qualifier: str = ""


def told_of_value(remark: str, value: str) -> Stated:
    """What a remark states of a line's value, and not of another number in it."""
    told = stated(remark)
    number = read_value(value)
    if not (told.unit or told.qualifier in QUALIFIERS) or not isinstance(number, Number) or not number.value:
        return told
    others = [each for each in _measured(remark) if each.number]
    if not others:
        return told
    rest = remark
    for each in reversed(others):
        rest = f"{rest[: each.start]}…{rest[each.end :]}"
    by_itself = stated(rest)
    if told.unit and by_itself.unit is not told.unit and not number.unit:
        beside = next((each for each in others if each.unit is told.unit), None)
        told = replace(told, unit=_nearest(told.unit, beside, number.value)) if beside else told
    if told.qualifier in QUALIFIERS and by_itself.qualifier != told.qualifier:
        beside = next((each for each in others if each.qualifier == told.qualifier), None)
        if beside and _is_another(beside, number.value):
            told = replace(told, qualifier=told.qualifier + OF_ANOTHER)
    return told


def _measured(remark: str) -> Iterator[_Measured]:
    """The numbers of a remark that stand with a unit or with `rms` or `peak`, behind them or before."""
    for found in _NUMBER.finditer(remark):
        each = _Measured(float(found[0]), found.start(), found.end())
        while (behind := _WORD_BEHIND.match(remark, each.end)) and (more := _with_word(each, behind[1])):
            each = replace(more, end=behind.end())
        if not each.unit:
            while (before := _word_before(remark, each.start)) and (more := _with_word(each, before[1])):
                each = replace(more, start=before.start())
        if each.unit or each.qualifier:
            yield each


def _word_before(remark: str, at: int) -> re.Match[str] | None:
    return _WORD_BEFORE.search(remark, max(0, at - _BEFORE), at)


def _with_word(measured: _Measured, word: str) -> _Measured | None:
    """The same with a word that stands beside it; None where it is neither a unit nor `rms` or `peak`, or not the first."""
    word = word.rstrip(".")
    if word.lower() in QUALIFIERS:
        return None if measured.qualifier else replace(measured, qualifier=word.lower())
    unit = None if measured.unit else unit_written(word)
    return replace(measured, unit=unit) if unit else None


def _nearest(told: Unit, beside: _Measured, value: float) -> Unit:
    """The unit in which a value is nearest to a number that stands beside it in the unit told; that one, unless it is far."""
    meant = beside.number * told.factor / value

    def apart(unit: Unit) -> float:
        return abs(math.log(unit.factor / meant))

    same = [u for u in units().values() if u.of == told.of and u.in_files and apart(u) <= _ROUNDED]
    if len(same) == 1:
        return same[0]
    usual = [units()[name] for name in _USUAL.get(told.of, ())]
    return told if apart(told) < math.log(_FAR) else min((told, *usual), key=apart)


def of_another_number(remark: str, value: str) -> bool:
    """Whether every unit in a remark stands with a number of its own that is not the line's value in any unit: it says
    nothing of what the value measures."""
    number = read_value(value)
    if not isinstance(number, Number) or not number.value:
        return False
    others = [each for each in _measured(remark) if each.unit and each.number]
    rest = remark
    for each in reversed(others):
        rest = f"{rest[: each.start]}…{rest[each.end :]}"
    again = any(
        each.unit is not None
        and unit.of == each.unit.of
        and unit.in_files
        and abs(number.value * unit.factor / (each.number * each.unit.factor) - 1) <= _ROUNDED
        for each in others
        for unit in units().values()
    )
    return bool(others) and stated(rest).unit is None and not again


def _is_another(beside: _Measured, value: float) -> bool:
    """Whether a number beside a value is another one than it, in the same unit or by a thousand."""
    return all(abs(value / beside.number / thousands - 1) > _ROUNDED for thousands in (1, 1000, 0.001))


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
