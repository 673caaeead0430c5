"""What a name says beside what it names: a remark in brackets, the move at which something is done, and that the value
is of before.

The words are in `aside_words.yaml`. This module looks at words only.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from functools import lru_cache

from cfgmigrate.dialects.value import Items, Number, Truth, read_value
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.aside_words import aside_words
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.stated import stated
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

Pieces = tuple[str, ...]
#: a remark of more words is no description of a value
DESCRIBES = 5
#: a longer heading is prose
_LONGEST_HEAD = 120
_BRACKETS = pattern(r"[ \t]*\(([^()]{1,120})\)")
_ARTICLES = frozenset({"a", "an", "the", "each", "every", "any"})


@lru_cache(maxsize=8192)
def without_asides(text: str) -> str:
    """A name without what stands in brackets and is no more than a remark: not every word of it is one of the trade's."""
    return _BRACKETS.sub(_aside, text) if "(" in text else text


def _aside(found: re.Match[str]) -> str:
    words = [word for piece in split(found[1]) for word in ways_of(piece)[0]]
    known = all(word in vocabulary().known or word.isdigit() for word in words)
    other = not aside_words().otherwise.isdisjoint(split(found[1])) or any(word.isdigit() for word in words)
    return found[0] if (known and len(words) < DESCRIBES) or other or stated(found[1]).unit else ""


_SITE = pattern(r"([A-Za-z][A-Za-z -]{1,40}?)[ \t]*([:,])[ \t]+(?=[A-Za-z])(.+)")
#: what belongs to a thing that is named before it
_ITS = pattern(r"[ \t]+(?:and|with)[ \t]+(?:its|their)[ \t]+[A-Za-z -]{2,30}$")
#: parts that a heading may be about
_SITED = frozenset({"feeder", "nozzle", "hotend", "probe", "x", "y", "z", "retraction"})


@lru_cache(maxsize=4096)
def without_site(section: str) -> str:
    """A section without the place at which a part of the machine sits, and without what belongs to that part: `rear bracket:
    filament motor and its tube`. One that names a part only before the sign stays as it is."""
    found = _SITE.fullmatch(section) if len(section) < _LONGEST_HEAD else None
    known = aside_words()
    if found is None or not known.sites.issuperset(split(found[1])):
        return section
    if found[2] == "," and known.heads.isdisjoint(split(found[1])):
        return section
    rest = _ITS.sub("", found[3])
    if (further := _SITE.fullmatch(rest)) and known.sites.issuperset(split(further[1])):
        rest = further[3]
    words = frozenset(word for piece in split(rest) for word in ways_of(piece)[0])
    return rest if vocabulary().names_in(words) & _SITED else section


@lru_cache(maxsize=8192)
def without_occasion(key: Pieces) -> Pieces:
    """A key without the move at which it is done: `pulled back before a hop`."""
    for at, piece in enumerate(key[:-1]):
        if piece in ("before", "on") and at:
            end = at + 2 if key[at + 1] in _ARTICLES else at + 1
            if end < len(key) and key[end] in aside_words().moves:
                return key[:at] + key[end + 1 :]
    return key


def turned_round(key: Pieces, value: str) -> Pieces:
    """A key whose value is a truth with the word for a turned direction in place of `back to front`, and of `back` at its
    end where the value is a truth in words: nothing else that is `back` is one."""
    if key[-1:] and key[-1][1:] == "back" and key[-1][0] in "xyze":
        key = (*key[:-1], key[-1][0], "back")
    if "back" not in key:
        return key
    found = read_value(value)
    items = found.items if isinstance(found, Items) else (found,)
    if not all(isinstance(i, Truth) or (isinstance(i, Number) and i.value in (0, 1)) for i in items):
        return key
    at = key.index("back")
    if key[at : at + 3] == ("back", "to", "front"):
        return (*key[:at], "reversed", *key[at + 3 :])
    in_words = all(isinstance(item, Truth) for item in items)
    return (*key[:-1], "reversed") if in_words and key[-1] == "back" and len(key) > 1 else key


def is_past(section: Pieces) -> bool:
    """Whether a section keeps what was in force before."""
    return not aside_words().past.isdisjoint(section)


def was_before(path: tuple[Pieces, Pieces], keys: Mapping[Pieces, Collection[str]]) -> bool:
    """Whether a key is another of its section with a word that says that it is of before: `turn_mm_before`. `keys` are
    those of each section, with blanks between their pieces."""
    section, key = path
    beside = keys.get(section, ())
    return len(key) > 1 and any(
        (edge == "before" or edge in aside_words().past) and " ".join(rest) in beside
        for edge, rest in ((key[-1], key[:-1]), (key[0], key[1:]))
    )
