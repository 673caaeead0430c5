"""Words that the files themselves tie to axes: `order in lists: ACROSS, ALONG, UP, FILAMENT`, `X across, Y along, Z up`.

Lists are read in the order x, y, z, feeder, so a remark that names this order in words of its own says which word is which
axis. The opening remark of one file explains its words in all of them; where two say otherwise of a word, it is explained
by neither. A word of the trade such as `up` is the axis where it stands by itself, and keeps its meaning beside others
(`speed up`); one that names a part of the machine (`plate`) always keeps it.

This module looks at remarks only.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping

from cfgmigrate.dialects.document import Document
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.remarks import remarks_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

Pieces = tuple[str, ...]
_WORD = r"[A-Za-z]{2,20}"
_ORDER = pattern(
    rf"\border (?:in|of) (?:all |the )?(?:lists?|tables?|rows?|axes)\b *[:=]? *(?:is )?({_WORD}(?: ?[,/] ?(?:and )?{_WORD}){{2,4}})(?![\w-])",
    re.I,
)
_LETTERED = pattern(
    rf"(?<![\w-])x (?:is |= ?)?({_WORD})[,;] ?y (?:is |= ?)?({_WORD})[,;] ?(?:and )?z (?:is |= ?)?({_WORD})(?![\w-])",
    re.I,
)
_NAMED = pattern(
    rf"(?<![\w-])({_WORD}) ?(?:is|=) ?x[,;] ?({_WORD}) ?(?:is|=) ?y[,;] ?(?:and )?({_WORD}) ?(?:is|=) ?z(?![\w-])",
    re.I,
)
#: one of these stands in each of the three, and in few other remarks
_IN_ORDER, _IN_LETTERED, _IN_NAMED = ("order ",), (",y", ", y", ";y", "; y"), ("x,", "x;")
_LETTERS = ("x", "y", "z", "feeder")


def axis_words(documents: Iterable[Document]) -> Mapping[Pieces, Pieces]:
    """The words that files explain as axes, as pieces, each with its letter; those of the trade also with the words beside
    which they mean what they always do."""
    told: dict[str, set[str]] = {}
    for document in documents:
        if document.dialect == "nested":
            continue
        for word, letter in _told(remarks_of(document).opening):
            told.setdefault(word, set()).add(letter)
    found: dict[Pieces, Pieces] = {}
    for word, letters in told.items():
        if len(letters) == 1:
            found[(word,)] = (min(letters),)
            found.update({spelling: spelling for spelling in _beside(word)})
    return found


def _told(opening: str) -> Iterator[tuple[str, str]]:
    small = opening.lower()
    for said, parts in ((_ORDER, _IN_ORDER), (_LETTERED, _IN_LETTERED), (_NAMED, _IN_NAMED)):
        for match in said.finditer(opening) if any(part in small for part in parts) else ():
            words = [word for group in match.groups() for word in split(group) if word != "and"]
            if len(set(words)) == len(words) <= len(_LETTERS) and not any(len(word) < 2 for word in words):
                yield from (
                    (word, letter)
                    for word, letter in zip(words, _LETTERS, strict=False)
                    if word not in _parts() and letter != "feeder"
                )


def _parts() -> frozenset[str]:
    """The words that name a part of the machine by themselves, or a bound."""
    named = vocabulary().things | {"maximum", "minimum", "speed", "acceleration", "step", "current"}
    return frozenset(s[0] for name in named for s in vocabulary().spelled(name) if len(s) == 1)


def _beside(word: str) -> Iterator[Pieces]:
    """The spellings of several words that a word is one of."""
    for spellings in vocabulary().spellings.values():
        yield from (each for each in spellings if len(each) > 1 and word in each)
