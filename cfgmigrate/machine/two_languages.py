"""Names that are said twice, by a word of another language and in English in brackets: `Vorschub (filament feed)`.

Where a file has several words so, the English is what each of them is, and it stands for the whole. A lone one may as well be the
name of somebody's machine, and two that are the same in English are the names of two such things: those stay as they are. So do two sections that are
a feeder each, `Vorschub (filament feed)` and `Ersatz (extruder)`: which of them is in use stands in words that nobody knows. A unit in brackets is no English for
the word before it, nor is what says that a value is of another time or thing; and `Spule (filament)` says what is on it, not what it is.

This module parts words only; what they mean together is the matter of `matching.py`.
"""

from __future__ import annotations

from collections import Counter

from cfgmigrate.dialects.document import Document
from cfgmigrate.ground.once import once
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.aside_words import aside_words
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.stated import stated
from cfgmigrate.machine.strange_words import is_strange
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

_TWICE = pattern(r"[ \t]*([^\W\d_]{3,30})[ \t]*\(([A-Za-z]{2,20}(?: [A-Za-z]{2,20}){0,3})\)[ \t]*")
#: so many words of another language show that a file says its names twice
_FEWEST = 2
_ON_IT = frozenset({"filament"})


def in_english(document: Document, text: str) -> str:
    """A section or a key with the English alone for what its file says in two languages."""
    if "(" not in text or not (told := _said_twice(document)):
        return text
    return ".".join(told.get(level, level) for level in text.split("."))


@once
def _said_twice(document: Document) -> dict[str, str]:
    """The levels of sections, and the keys, that say a name twice, each with the English; {} where fewer than two do."""
    levels = {
        level
        for each in document.settings
        for text in (each.section, each.key)
        if "(" in text
        for level in text.split(".")
    }
    found = {level: english for level in levels if (english := _english(level))}
    alike = Counter(english.casefold() for english in found.values())
    found = {level: english for level, english in found.items() if alike[english.casefold()] == 1}
    sections = {level for each in document.settings for level in each.section.split(".")}
    feeders = {level for level, english in found.items() if level in sections and _names_feeder(english)}
    if len(feeders) > 1:
        found = {level: english for level, english in found.items() if level not in feeders}
    return found if len(found) >= _FEWEST else {}


def _names_feeder(english: str) -> bool:
    return "feeder" in vocabulary().names_in(
        frozenset(way for piece in split(english) for way in ways_of(piece)[0])
    )


def _english(level: str) -> str:
    """The English behind a word of another language; "" for any other text."""
    twice = _TWICE.fullmatch(level) if len(level) <= 150 else None
    if twice is None or (twice[1].isascii() and not is_strange(twice[1].lower())):
        return ""
    pieces = split(twice[2])
    words = [word for piece in pieces for word in ways_of(piece)[0]]
    known = all(word in vocabulary().known or word in vocabulary().fillers for word in words)
    of_else = not (aside_words().otherwise | aside_words().past).isdisjoint(pieces)
    about = vocabulary().names_in(frozenset(words))
    if not known or of_else or about <= _ON_IT or stated(twice[2]).unit:
        return ""
    return twice[2]
