"""A code that stands again below, on a line that nothing explains: `S342 E0.48 ; lag coefficient` and then `S342 E0.52`.

What comes last counts, and a code sets the same wherever it stands. So the later word is taken as what the earlier one is, and
never written: a person is asked. Where the two don't go together, since their letters or their units differ or the later one's
remark names another thing, the earlier one isn't written either, for it may be the dead one.

This module deliberately reads nothing else in the later line's remark: had it said something clear, it would be read.
"""

from __future__ import annotations

from msgspec.structs import replace

from cfgmigrate.dialects.document import Setting, State
from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.machine.codes import code_line
from cfgmigrate.machine.collection import Collection
from cfgmigrate.machine.listed_letters import names_a_thing
from cfgmigrate.machine.model import Reading, Unread
from cfgmigrate.machine.quantities import facts, quantity
from cfgmigrate.machine.stated import stated
from cfgmigrate.machine.told_codes import ToldCodes


def take_codes_again(found: Collection, told: ToldCodes, readings: int, unread: int) -> None:
    """Takes words that were not understood as what the same word of an earlier line is. Only what was found from these counts
    on is of this file."""
    last: dict[tuple[str, str], int] = {}
    for at, each in enumerate(found.readings[readings:], readings):
        if each.reading.value is not None and not quantity(each.reading.quantity).protected:
            last[_word(each.reading.setting)] = at
    kept: list[Unread] = []
    refused: set[int] = set()
    for left in found.unread[unread:]:
        at = last.get(_word(left.setting), -1)
        if at >= 0 and not _goes_with(found.readings[at].reading, left, told):
            refused.add(left.setting.line)
    for left in found.unread[unread:]:
        at = last.get(_word(left.setting), -1)
        if at < 0 or not _holds_after(left.setting, found.readings[at].reading.setting, told):
            kept.append(left)
            continue
        earlier = found.readings[at]
        if left.setting.line not in refused:
            last[_word(left.setting)] = len(found.readings)
            found.readings.append(replace(earlier, reading=_taken_again(earlier.reading, left)))
        else:
            kept.append(left)
            found.readings[at] = replace(earlier, reading=_in_question(earlier.reading, left.setting.line))
    found.unread[unread:] = kept


def _word(setting: Setting) -> tuple[str, str]:
    return setting.section.casefold(), setting.key.casefold()


def _holds_after(later: Setting, earlier: Setting, told: ToldCodes) -> bool:
    """Whether a word is in force below another one, and its line chooses the same."""
    chosen = [
        (told.choosers.tool(each.line), told.choosers.parameter(each.line), told.chosen.get(each.line))
        for each in (earlier, later)
    ]
    in_force = later.state is State.ACTIVE and later.section != ""
    return in_force and later.start > earlier.start and chosen[0] == chosen[1]


def _goes_with(reading: Reading, left: Unread, told: ToldCodes) -> bool:
    """Whether a later word may be what the earlier one is."""
    own, number = told.remarks.of_line(left.setting), read_value(left.setting.value)
    unit = stated(own).unit
    letters = [set(told.written[line]) for line in (reading.setting.line, left.setting.line)]
    if not isinstance(number, Number) or number.unit or letters[0] != letters[1]:
        return False
    if (unit and not _in_same_unit(reading, unit.name)) or (reading.form.reciprocal and not number.value):
        return False
    return not names_a_thing(own) or reading.quantity in left.nearest


def _taken_again(reading: Reading, left: Unread) -> Reading:
    setting = left.setting
    number = read_value(setting.value)
    assert isinstance(number, Number)
    return replace(
        reading,
        value=reading.form.to_value(number.value),
        text=setting.value,
        place=left.place,
        start=setting.start,
        end=setting.end,
        setting=setting,
        editable=False,
        why_not=f"only line {reading.setting.line} says what this code sets, and this one counts, as the last"
        + _taught(reading),
    )


def _in_question(reading: Reading, line: int) -> Reading:
    why = f"its code stands again at line {line}, where it is not understood, and the last one may count"
    return replace(reading, editable=False, why_not=why + _taught(reading))


def _in_same_unit(reading: Reading, unit: str) -> bool:
    theirs = facts(reading.quantity).unit(unit)
    own = reading.form.factor, reading.form.reciprocal
    return theirs is not None and (theirs.factor, theirs.reciprocal) == own


def _taught(reading: Reading) -> str:
    line = code_line(reading.setting, reading.quantity)
    return f"; if it is that, add to cfgmigrate.yaml, under codes: {line}" if line else ""
