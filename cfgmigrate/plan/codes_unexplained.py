"""Codes of word-address lines that nobody explained, and whose number may be a value that no line was read for.

Each material sets a retraction of its own, say, and no line of the machine's was understood to set one: nobody can then say
that the machine has none, as long as one of its lines has a code of which neither a table nor a remark tells anything. A
code that a remark explains as something else is no such line. A code of the table whose number can't be read sets the value
once more, whatever that number is. This module reads remarks and numbers that were read already, and asks nothing itself.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator

from cfgmigrate.dialects.document import State
from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.files.roles import FileRole
from cfgmigrate.ground.once import once
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.codes_in_values import OF_THE_STANDARD, codes_in_values, codes_not_read
from cfgmigrate.machine.listed_letters import speaks_of
from cfgmigrate.machine.model import Machine, Unread
from cfgmigrate.machine.number_units import in_some_unit
from cfgmigrate.machine.own_codes import LARGEST_CODE
from cfgmigrate.machine.quantities import facts
from cfgmigrate.plan.kept_by_board import is_of_another_thing

_CODE = pattern(r"[A-Z]\d{1,5}(?:\.\d+)?", 0)
_AXES = frozenset("XYZ")
_LINE_OF_A_CODE = pattern(r"[ \t]*(?![GMNTXYZEF])[A-Z]\d{1,5}(?:\.\d+)?((?:[ \t]+[A-Z][-+]?[\d.]+)+)")
_LETTER_AND_NUMBER = pattern(r"([A-Z])(\d{1,6}(?:\.\d{1,6})?)(?![\d.])")
#: two numbers of one thing lie no further apart than by these factors (common practice, no source)
NEAR_BY_FEEL, NEAR_MEASURED = 1.6, 1.1


def codes_unexplained(machine: Machine, quantities: Iterable[str]) -> dict[str, str]:
    """By quantity the first word of a line that may set it for all that is known: `K40 L4.5 (feed.cmd:21)`."""
    lines = [each for each in machine.unread if _is_a_word_of_a_code(each)]
    found = {}
    for name in quantities:
        first = next((each for each in lines if _may_be(each, name)), None)
        if first is not None:
            setting = first.setting
            word = f"{setting.section} {setting.key}{setting.value}"
            found[name] = f"{word} ({first.place.file}:{first.place.line})"
    return found


def codes_near(machine: Machine, quantities: Collection[str]) -> Iterator[tuple[str, str]]:
    """The quantities that were read and may be set once more by a code that nobody explained, or whose number can't be read,
    each with the place of that; what is nearest comes first."""
    olds = {
        (each.quantity, old)
        for each in machine.every_reading
        if each.quantity in quantities and each.value
        for old in (each.value, each.form.to_written(each.value))
    }
    near = [
        (abs(math.log(number / old)), name, place)
        for place, number, unread in (_numbers_of_codes(machine) if olds else ())
        for name, old in olds
        if _near(name, number, old) and not (unread and is_of_another_thing(unread, name, machine))
    ]
    yield from ((name, place) for _, name, place in sorted(near))
    yield from _not_read(machine, {name for name, _ in olds})


def _not_read(machine: Machine, quantities: Collection[str]) -> Iterator[tuple[str, str]]:
    """The quantities that a code of the table sets on a line that can't be read, whatever its number, each with the place."""
    settled = {
        (each.place.file, each.setting.start) for each in machine.every_reading if each.value is not None
    }
    settled |= {(each.place.file, each.setting.start) for each in machine.said_nothing}
    for each in codes_not_read(machine.documents) if quantities else ():
        for name in sorted(each.quantities.intersection(quantities)) if each.at not in settled else ():
            yield name, f"{each.place.file}:{each.place.line}"


def _near(quantity: str, one: float, other: float) -> bool:
    return 1 / _factor(quantity) <= one / other <= _factor(quantity)


def _factor(quantity: str) -> float:
    """How far two numbers of one thing lie apart: a motor's current and a pull are set by feel, what a turn feeds is measured."""
    return NEAR_BY_FEEL if quantity.endswith(("current", "retraction.length")) else NEAR_MEASURED


@once
def _numbers_of_codes(machine: Machine) -> tuple[tuple[str, float, Unread | None], ...]:
    """The numbers above nought behind a maker's own codes that nobody explained, each with its line, and with what it is where it is
    no other setting's value."""
    return tuple(_found_behind_codes(machine))


def _found_behind_codes(machine: Machine) -> Iterator[tuple[str, float, Unread | None]]:
    read = {(each.place.file, each.place.line) for each in machine.every_reading if each.value is not None}
    read |= {(each.place.file, each.place.line) for each in machine.said_nothing}
    for each in machine.unread:
        number = read_value(each.setting.value)
        own = _is_a_word_of_a_code(each) and each.setting.section[0] not in OF_THE_STANDARD
        if own and not each.said and isinstance(number, Number) and number.value > 0:
            yield f"{each.place.file}:{each.place.line}", number.value, each
    texts = [
        (each.document.path, each.line, each.text) for each in codes_in_values(machine.documents) if each.own
    ]
    texts += [each for role in machine.own_scripts for each in _beginning_with_codes(role)]
    for path, line, text in dict.fromkeys(texts):
        if (path, line) not in read and (found := _LINE_OF_A_CODE.match(text)):
            for word in _LETTER_AND_NUMBER.finditer(found[1]):
                if word[1] not in _AXES and float(word[2]) > 0:
                    yield f"{path}:{line}", float(word[2]), None


def _beginning_with_codes(role: FileRole) -> Iterator[tuple[str, int, str]]:
    """The lines of a script in codes of its owner's own that begin with what is nothing but a code in it."""
    uses = role.own.uses if role.own else ()
    others = {use.word for use in uses if not use.head or use.number > LARGEST_CODE}
    return ((role.path, use.line, use.text) for use in uses if use.head and use.word not in others)


def _is_a_word_of_a_code(each: Unread) -> bool:
    setting = each.setting
    return (
        setting.state is State.ACTIVE
        and len(setting.key) == 1
        and setting.key.upper() not in _AXES
        and bool(_CODE.fullmatch(setting.section))
    )


def _may_be(each: Unread, quantity: str) -> bool:
    number = read_value(each.setting.value)
    if not isinstance(number, Number) or number.value <= 0 or not in_some_unit(facts(quantity), number.value):
        return False
    return not each.said or speaks_of(each.said, quantity.partition(".")[0])
