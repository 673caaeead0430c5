"""Endings of keys behind the unit that a file says they are: `mm/min where the key ends in _mpm, currents mA peak (_mapk)`. Those
before it are the matter of `unit_legends.py`.

Such an ending is no word of the trade, and may be short for several units. The opening remark of one file explains it in all of
them; where two units are said of one, it is explained by none. Behind a figure or as a plastic it says whose that is.

This module looks at remarks only.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping

from cfgmigrate.dialects.document import Document
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import unit_written
from cfgmigrate.machine.holder_words import holder_words
from cfgmigrate.machine.other_clauses import else_behind, of_else
from cfgmigrate.machine.remarks import remarks_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

Pieces = tuple[str, ...]
_ENDING = r"[\"'`]?_([A-Za-z][A-Za-z0-9]{1,8})\b[\"'`]?"
_KEYS_END = r"(?:keys?|names?|settings?) (?:(?:that|which) )?(?:ends?|ending) (?:in|with|on) (?:an? )?"
_UNIT_BEFORE = pattern(
    rf"(?: ?\(|(?: | ?\()(?:(?:where|when|if|wherever|in|for|behind) )?(?:(?:the|a|its|all|any) )?{_KEYS_END}){_ENDING}",
    re.I,
    needs=("_",),
)
#: a number and its unit, and where what is said beside it ends
_A_FIGURE = pattern(r"(?<![\d/.])\d+(?:[.,]\d+)?[ \t]*[A-Za-zµ%][^\s\d]*(?:[ \t](?:rms|peak))?$")
_ENDS_OF_CLAUSE = pattern(r"[,;]|\. ")
#: what may stand before a unit: anything else makes another one of it, `tenths of a mm`, `steps per mm`, `cubic mm`
_BEFORE_A_UNIT = pattern(
    r".*[,;:.)=]|in|is|are|as|all|and|or|but|whole|given|measured|stated|(?:lengths?|distances?|places?|positions?|speeds?|rates?|feeds?|accelerations?"
    r"|currents?|times?|temperatures?|values?|numbers?)",
    re.I,
)
#: words of a unit at most
_WIDEST = 4
_PEAK = frozenset(("peak", "crest", "amplitude"))
_QUALIFIERS = _PEAK | {"rms"}


def unit_endings(documents: Iterable[Document]) -> Mapping[Pieces, Pieces]:
    """The pieces of each ending that a file explains, with the words of its unit; none that is a word of the trade."""
    found: dict[Pieces, set[Pieces]] = {}
    for document in documents:
        for ending, words in _told(remarks_of(document).opening):
            if ending.lower() not in vocabulary().known:
                found.setdefault(tuple(split(ending)), set()).add(words)
    return {ending: words.pop() for ending, words in found.items() if len(words) == 1}


def _told(opening: str) -> Iterator[tuple[str, Pieces]]:
    for found in _UNIT_BEFORE.finditer(opening):
        before = opening[: found.start()]
        named = not holder_words().materials.keys().isdisjoint(split(found[1]))
        elsewhere = of_else(_ENDS_OF_CLAUSE.split(before)[-1]) or else_behind(opening[found.end() :])
        if named or _A_FIGURE.search(before) or elsewhere:
            continue  # whose figure it is, or what was so elsewhere
        if words := _unit_said(before):
            yield found[1], words


def without_unit_endings(text: str) -> str:
    """A remark without the endings behind whose unit they stand: what is behind them is said of something else."""
    return _UNIT_BEFORE.sub(lambda found: found[0] if _unit_said(text[: found.start()]) is None else "", text)


def _unit_said(text: str) -> Pieces | None:
    """The words of the unit that a text ends with, with `rms` or `peak` where it is of a current that is said to be so; () where that is but
    the end of another one, None where it ends with none."""
    words = text.split()[-_WIDEST - 2 :]
    qualified = {word.lower().strip(",") for word in words} & _QUALIFIERS
    left = [word for word in words if word.lower() not in _QUALIFIERS]
    for wide in range(min(_WIDEST, len(left)), 0, -1):
        unit = unit_written(" ".join(left[-wide:]))
        if unit is not None and unit.words:
            if len(left) > wide and not _BEFORE_A_UNIT.fullmatch(left[-wide - 1]):
                return ()
            said = ("peak",) if qualified & _PEAK else tuple(qualified)
            named = tuple(split(unit.name))
            words_of = named if tuple(sorted(named)) in unit.words else unit.words[0]
            return (*words_of, *(said if unit.of == "current" else ()))
    return None
