"""How a step by hand names a line of the files: the one that it is about, and one that may be.

Which lines a step names is the matter of others.
"""

from __future__ import annotations

from cfgmigrate.dialects.document import Setting
from cfgmigrate.ground.findings import Place
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import Reading
from cfgmigrate.machine.words import split

#: how a step begins that names a line which may be the one
MAY_BE = "It may be "
#: so many lines that were not understood are named
MOST_UNREAD_LINES = 9
#: all that stands as the value of a line that may hold a place or a voltage
PLAIN_NUMBER = pattern(r"[-+]?\d{1,9}(?:\.\d{1,6})?")
#: words by which a value tells of a sensor's part and of what it gives, in the trade's words
_OF_A_PART = frozenset(("ntc", "ptc", "thermistor", "curve", "beta", "ohm", "ohms", "part", "type", "model"))
_BEGINS_AS_TEXT = pattern(r"[\"']?[A-Za-z]{2}")


def names_a_part(value: str) -> bool:
    """Whether a value is a text that tells which part a sensor is, `ntc 100k, curve 3`, and so no place, whatever numbers it has."""
    return _BEGINS_AS_TEXT.match(value.strip()) is not None and not _OF_A_PART.isdisjoint(split(value))


def at_line(place: Place) -> str:
    """File and line of a place: a step needs no column."""
    return f"{place.file}:{place.line}"


def named_line(place: Place, setting: Setting, text: str) -> str:
    """A line by its place, with the setting's name and the text of its value in brackets."""
    return f"{at_line(place)} ({setting.name} = {text})"


def line_of_reading(reading: Reading, more: str = "") -> str:
    """The same of a reading; `more` stands behind its text."""
    return named_line(reading.place, reading.setting, reading.text + more)


def may_be(place: Place, text: str) -> str:
    """The beginning of a step: the line that may be the one, with what stands there."""
    return f"{MAY_BE}{at_line(place)}: {text}."
