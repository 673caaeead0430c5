"""A value that may be one number with a comma in it, or two numbers: `5,5`.

Whoever names such a line as one quantity says that it is one number: then it is read, and its new value is set by hand, in
the manner of writing that the machine takes.

Half of the world writes five and a half so, and a list of two fives looks the same. Where one number
belongs, nothing is taken from such a value; a person says which it is by writing it otherwise. `5, 5`,
`[5,5]` and `5,5,5` are lists and nothing else.
"""

from __future__ import annotations

import re

from cfgmigrate.dialects.value import Items, Number, Value

WHY = "this may be one number with a comma in it, or two numbers; nothing was taken from it"
_WITH_COMMA = re.compile(r"[+-]?[0-9]+,[0-9]+")


WITH_A_COMMA = "its number has a comma for a point: set it by hand, written as the machine takes it"


def as_one(value: Value, text: str) -> Number | None:
    """The one number that such a value is, where it is said to be one; None for any other, and for one that may as well have
    its thousands set apart: `1,500`."""
    if not isinstance(value, Items) or not how_to_write(value, text) or len(value.items) != 2:
        return None
    first, second = value.items
    if not isinstance(first, Number) or not isinstance(second, Number) or len(second.text) == 3:
        return None
    written = text[first.start : second.end]
    return Number(float(written.replace(",", ".")), written, first.start, second.end, second.unit)


def how_to_write(value: Items, text: str) -> str:
    """What to write instead of such a value, which stands in `text`; "" where it is no such value."""
    if len(value.items) != 2:
        return ""
    first, second = value.items
    if not isinstance(first, Number) or not isinstance(second, Number) or value.start != first.start:
        return ""
    written = text[first.start : second.end]
    if not _WITH_COMMA.fullmatch(written):
        return ""
    one = written.replace(",", ".")
    if len(second.text) == 3:
        one += f" or {written.replace(',', '')}"
    return f"if it is one number, write {one}; or say in a names file what it is; if it is two, put a blank behind the comma"
