"""A file whose numbers have a comma for a point: `5,2`.

Half of the world writes so. Such a file is read as if its decimal commas were points: a value's text in points has as many
characters as the one in the file, so that every place in it stays where it is, and whoever reads it sees numbers alone. The
file's own bytes stay as they are, and what is written goes back with a comma (`in_commas`).

In such a file numbers of a list stand apart by semicolons or blanks. A number with a point or with two commas is none
there: `1.500` may be one and a half, or fifteen hundred, and `1,5,2,5` two numbers or four. Nobody reads it.

Which files are such is not told here (`machine/commas.py`).
"""

from __future__ import annotations

import re

from msgspec.structs import replace

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.ground.pattern import pattern

#: characters; a longer value is a script or a table
LONGEST_OF_NUMBERS = 200
#: a value of numbers, with what may stand before the first
_OF_NUMBERS = pattern(r"[\"'\[({ \t]*[+-]?[0-9][^\r\n]*")
_RUN = pattern(r"[0-9][0-9.,]*[0-9]|[0-9]")
_NUMBER = pattern(r"[0-9]+(?:,[0-9]+)?")
_ONE = pattern(r"([+-]?[0-9]+),([0-9]+)")
#: what stands in the place of a point or comma that makes a number unreadable; no kind of value has it
_UNREADABLE = "\N{MIDDLE DOT}"
#: a list that commas divide, in which a number with a comma can't be told apart
_DIVIDED = pattern(r"[0-9][^;]*,[ \t]+[+-]?[0-9]")


def in_points(value: str) -> str:
    """A value of a file with decimal commas, in points: as many characters, and numbers for those that it has."""
    if len(value) > LONGEST_OF_NUMBERS or not _OF_NUMBERS.fullmatch(value):
        return value
    return _RUN.sub(_run, value).replace(";", ",")


def _run(found: re.Match[str]) -> str:
    if _NUMBER.fullmatch(found[0]):
        return found[0].replace(",", ".")
    return found[0].replace(".", _UNREADABLE).replace(",", _UNREADABLE)


def number_in_points(text: str) -> str:
    """One number with a decimal comma, with a point; any other text as it is."""
    return text.replace(",", ".") if _ONE.fullmatch(text) else text


def in_commas(text: str) -> str:
    """A number or ratio that was written with points, with commas. `12,625` could be taken for thousands: one more zero tells
    that it is none."""
    found = text.replace(".", ",")
    return f"{found}0" if looks_like_thousands(found) else found


def looks_like_thousands(text: str) -> bool:
    """Whether a number's comma may as well set its thousands apart: `5,200`."""
    one = _ONE.fullmatch(text)
    whole = one[1].lstrip("+-") if one else ""
    return one is not None and len(one[2]) == 3 and len(whole) <= 3 and whole[0] != "0"


def unreadable(value: str) -> bool:
    """Whether a value in points has a number that nobody can read."""
    return _UNREADABLE in value and bool(_OF_NUMBERS.fullmatch(value))


def divided_by_commas(value: str) -> bool:
    """Whether commas divide the numbers of a value as the file has it."""
    return bool(_DIVIDED.search(value))


def with_decimal_commas(document: Document) -> Document:
    """The document of a file with decimal commas: its values are in points."""
    if document.commas:
        return document
    return replace(document, settings=tuple(map(_in_points, document.settings)), commas=True)


def _in_points(setting: Setting) -> Setting:
    value = in_points(setting.value)
    return setting if value == setting.value else replace(setting, value=value)
