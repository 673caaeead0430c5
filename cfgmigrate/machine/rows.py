"""What a number in a row for all axes is taught as: `axis.@.run_current`, which teaches the row as a whole.

A line of a names file is for a whole setting. One that names the feeder's quantity alone fits no row of four numbers. A row
whose name says only a part of a measure, `[speeds] row`, is near the whole of it.
"""

from __future__ import annotations

from cfgmigrate.dialects.document import Setting
from cfgmigrate.dialects.value import Items, Number, read_value
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import Name

#: words without which a measure is still near
_BOUNDS = frozenset(("maximum", "minimum", "run"))


def taught_as(setting: Setting, quantity: str) -> str:
    """The id by which a setting is taught that has this quantity as one of its numbers, or as the only one."""
    many = _many(setting.value)
    for entry in vocabulary().lists if many else ():
        order = entry.orders.get(many, "")
        letters = {letter for letter, each in entry.of.items() if each == quantity}
        if order == "xyze"[:many] and letters.intersection(order):
            return entry.of["x"].replace(".x.", ".@.")
    return quantity


def nearest_rows(name: Name, value: str) -> tuple[str, ...]:
    """The ids that the numbers of a row may be whose name has a part of the words of a measure."""
    many = _many(value)
    present = vocabulary().names_in(frozenset(name.words))
    for entry in vocabulary().lists if many else ():
        parts = (set(phrase.words) - _BOUNDS for phrase in entry.phrases)
        order = entry.orders.get(many, "")
        if order and any(part and present.issuperset(part) for part in parts):
            return tuple(entry.of[letter] for letter in dict.fromkeys(order))
    return ()


def _many(value: str) -> int:
    """How many numbers a row has, 0 for what is none."""
    read = read_value(value)
    numbers = isinstance(read, Items) and all(isinstance(each, Number) for each in read.items)
    return len(read.items) if numbers and isinstance(read, Items) else 0
