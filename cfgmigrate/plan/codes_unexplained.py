"""Codes of word-address lines that nobody explained, and whose number may be a value that no line was read for.

Each material sets a retraction of its own, say, and no line of the machine's was understood to set one: nobody can then say
that the machine has none, as long as one of its lines has a code of which neither a table nor a remark tells anything. A
code that a remark explains as something else is no such line. This module reads remarks and numbers that were read
already, and asks nothing itself.
"""

from __future__ import annotations

from collections.abc import Iterable

from cfgmigrate.dialects.document import State
from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.listed_letters import speaks_of
from cfgmigrate.machine.model import Machine, Unread
from cfgmigrate.machine.number_units import in_some_unit
from cfgmigrate.machine.quantities import facts

_CODE = pattern(r"[A-Z]\d{1,5}(?:\.\d+)?", 0)
_AXES = frozenset("XYZ")


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
