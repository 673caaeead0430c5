"""Which list with a number for each axis, or which range with a least and a most, a name's words stand for.

The rules are those of `matching.py`, but a list belongs to no one thing, so none needs to be named, and all that fit are
given, the most telling first: how many numbers stand there decides.
"""

from __future__ import annotations

from functools import lru_cache

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.machine.matching import MOST_NAME_WORDS
from cfgmigrate.machine.vocabulary import ListEntry, RangeEntry, vocabulary
from cfgmigrate.machine.word_places import cover_things, named_else, rest_said, strange_section, uses
from cfgmigrate.machine.words import Name


class ListFit(Struct, frozen=True):
    """A list with one number for each axis that a name fits; `listed` where the key says that it is a list, and not of what."""

    entry: ListEntry
    unit: str = ""
    qualifier: str = ""
    strange: bool = False
    listed: bool = False


class RangeFit(Struct, frozen=True):
    """A setting with the least and the most of a thing that a name fits."""

    entry: RangeEntry
    unit: str = ""
    qualifier: str = ""
    strange: bool = False


@lru_cache(maxsize=4096)
def list_fits(name: Name) -> tuple[ListFit, ...]:
    """The per-axis lists that a name fits, the most telling first; a key may say that it is a list."""
    if (found := _fits(name)) or (plain := _without_listing(name)) == name:
        return found
    return tuple(replace(fit, listed=True) for fit in _fits(plain))


def _without_listing(name: Name) -> Name:
    """A name without the word that says no more than that it is a list: `TOP_SPEED_TABLE`, `list of top speeds`."""
    key, listing = name.key, vocabulary().listing
    if key[1:] and key[-1] in listing:
        return replace(name, key=key[:-1])
    return replace(name, key=key[2:]) if key[2:] and key[0] in listing and key[1] == "of" else name


def _fits(name: Name) -> tuple[ListFit, ...]:
    if len(name.words) > MOST_NAME_WORDS or _list_words().isdisjoint((*name.words, *name.said)):
        return ()
    found = []
    present = vocabulary().names_in(frozenset((*name.words, *name.said)))
    for entry in vocabulary().lists:
        first = next(iter(entry.of.values()))
        for phrase in entry.phrases:
            if not present.issuperset(phrase.words):
                continue
            for use in uses(name, phrase.words):
                said = rest_said(use, frozenset(), entry.may, entry.fillers, phrase, first)
                if said and not named_else(use, entry.may, phrase.words):
                    strange = strange_section(use, entry.may, entry.fillers, phrase.words)
                    found.append((not strange, len(use.used), ListFit(entry, said[0], said[1], strange)))
    return tuple(fit for *_, fit in sorted(found, key=lambda each: (not each[0], -each[1])))


@lru_cache(maxsize=4096)
def range_fits(name: Name) -> tuple[RangeFit, ...]:
    """The ranges that a name fits, the most telling first."""
    found = []
    present = vocabulary().names_in(frozenset((*name.words, *name.said)))
    for entry in vocabulary().ranges:
        for phrase in entry.phrases:
            if not present.issuperset(phrase.words):
                continue
            for use in uses(name, phrase.words):
                said = rest_said(use, entry.of, entry.may, entry.fillers, phrase, entry.high)
                if said is None or named_else(use, entry.of | entry.may, phrase.words):
                    continue
                if cover_things(use.words, use.rest(range(use.own)), entry.of):
                    strange = strange_section(use, entry.of | entry.may, entry.fillers, phrase.words)
                    found.append((not strange, len(use.used), RangeFit(entry, said[0], said[1], strange)))
    return tuple(fit for *_, fit in sorted(found, key=lambda each: (not each[0], -each[1])))


@lru_cache(maxsize=1)
def _list_words() -> frozenset[str]:
    """All words of the phrases of lists."""
    names = {name for entry in vocabulary().lists for phrase in entry.phrases for name in phrase.words}
    return frozenset(word for name in names for spelling in vocabulary().spelled(name) for word in spelling)
