"""What a setting that was not understood may be about: the quantities its words come closest to.

This is for people only, to point at lines that look relevant; nothing is read by it. A misspelt word
counts as the word it is nearest to.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache, lru_cache

from msgspec import Struct

from cfgmigrate.machine.quantities import facts
from cfgmigrate.machine.vocabulary import Entry, Phrase, Spelling, vocabulary
from cfgmigrate.machine.words import Name

#: From this share of words in common on, a quantity is worth naming.
CLOSE = 0.7
MOST_SUGGESTED = 3
_CURRENTS = frozenset({"motor.run_current", "motor.hold_current"})
_GRIPS = frozenset({"wheel", "hob", "roller", "roll", "pulley"})
_GEARED = frozenset({"teeth", "tooth", "gear", "gears", "ratio", "to", "per"})
#: A misspelt word shorter than this could be anything.
SHORTEST = 5


@lru_cache(maxsize=65536)
def nearest(name: Name) -> tuple[str, ...]:
    """Ids of the quantities that a name's words come closest to, the closest first; () for none."""
    words = frozenset(name.words)
    if not words & vocabulary().known:
        return ()
    key = frozenset(_corrected(word) for word in name.key)
    words = frozenset(name.section) | key
    present = _spelled_in(words)
    named = _named(present, words)
    scored: dict[str, float] = {}
    # `volts for one amp` and `current by the screw` are no current, whose words they have
    none = _CURRENTS if {"voltage"} & present.keys() or "screw" in words else frozenset()
    for near in _nearable():
        if near.entry.quantity in none:
            continue
        if not key.isdisjoint(near.words) and not _blocked(near, named):
            score = max(_score(near.entry, phrase, key, present) for phrase in near.entry.phrases)
            if score >= CLOSE:
                scored[near.entry.quantity] = score
    best = max(scored.values(), default=0.0)
    close = [quantity for quantity, score in scored.items() if score >= best - 0.1]
    return tuple(sorted(close, key=lambda quantity: -scored[quantity])[:MOST_SUGGESTED])


@lru_cache(maxsize=65536)
def said_in_full(name: Name) -> tuple[tuple[str, int], ...]:
    """Ids of the quantities of which a name holds all words and its owner's, and how many words of its key are over; the
    fewest first. A name of nothing else has none over, and was understood."""
    words, key = frozenset(name.words), frozenset(name.key)
    present = _spelled_in(words)
    named = _named(present, words)
    over: dict[str, int] = {}
    for near in _nearable():
        if key.isdisjoint(near.words) or _blocked(near, named):
            continue
        for phrase in near.entry.phrases:
            if present.keys() >= {*phrase.words} and _score(near.entry, phrase, key, present):
                said = _said(near.entry, phrase, present)
                left = len(key - said - vocabulary().fillers - near.entry.fillers)
                over[near.entry.quantity] = min(left, over.get(near.entry.quantity, left))
    return tuple(sorted(over.items(), key=lambda each: each[1]))


def names_a_wheel(key: Iterable[str]) -> bool:
    """Whether a key names what grips the filament and nothing of gears: its number is how wide that is, and no ratio."""
    words = frozenset(key)
    return not _GRIPS.isdisjoint(words) and _GEARED.isdisjoint(words)


class _Nearable(Struct, frozen=True):
    """An entry by its number, with the words of its phrases, and with all words that may stand in its names."""

    at: int
    words: frozenset[str]
    allowed: frozenset[str]
    ours: frozenset[str]

    @property
    def entry(self) -> Entry:
        return vocabulary().entries[self.at]


@cache  # made as soon as read from a file, and a large one
def _nearable() -> tuple[_Nearable, ...]:
    found = []
    for at, entry in enumerate(vocabulary().entries):
        if facts(entry.quantity).quantity.protected:
            continue
        names = {name for phrase in entry.phrases for name in phrase.words}
        allowed = frozenset(names | entry.of | entry.may)
        found.append(_Nearable(at, _spelled(names), allowed, _spelled(allowed)))
    return tuple(found)


def _spelled(names: Iterable[str]) -> frozenset[str]:
    return frozenset(word for name in names for spelling in vocabulary().spelled(name) for word in spelling)


def _spelled_in(words: frozenset[str]) -> dict[str, frozenset[str]]:
    """The names of all words and things that are there, each with those of the words that spell it."""
    return {
        name: frozenset(
            word for spelling in vocabulary().spelled(name) if words.issuperset(spelling) for word in spelling
        )
        for name in vocabulary().names_in(words)
    }


def _score(entry: Entry, phrase: Phrase, key: frozenset[str], present: dict[str, frozenset[str]]) -> float:
    """Words in common, as a share of those that the phrase needs and those of the key that it leaves over."""
    got = [name for name in phrase.words if name in present]
    owned = not entry.of.isdisjoint(present)
    if not got or (entry.of and not owned and not entry.alone):
        return 0.0
    said = _said(entry, phrase, present)
    if said.isdisjoint(key):
        return 0.0
    needed = len(phrase.words) + (1 if entry.of else 0)
    over = len(key - said - vocabulary().fillers - entry.fillers)
    return (len(got) + (1 if owned else 0)) / (needed + over)


def _said(entry: Entry, phrase: Phrase, present: dict[str, frozenset[str]]) -> frozenset[str]:
    """The words that a phrase and its owner explain."""
    return frozenset().union(*(present[name] for name in (*phrase.words, *entry.of) if name in present))


def _named(present: Iterable[str], words: frozenset[str]) -> dict[str, list[Spelling]]:
    """The things that are named, each with its spellings that are there."""
    return {
        thing: [spelling for spelling in vocabulary().spelled(thing) if words.issuperset(spelling)]
        for thing in vocabulary().things.intersection(present)
    }


def _blocked(near: _Nearable, named: dict[str, list[Spelling]]) -> bool:
    """Whether a thing is named that does not belong, with a word that none of its own uses."""
    return any(
        not all(map(near.ours.issuperset, spelled))
        for thing, spelled in named.items()
        if thing not in near.allowed
    )


@lru_cache(maxsize=65536)
def _corrected(word: str) -> str:
    """A word that nobody knows as the known word that is one slip away: a letter too many, one missing, one
    wrong or two changed over."""
    if word in vocabulary().known or len(word) < SHORTEST:
        return word
    table = _one_missing()
    found = [table[part] for part in (word, *_without_one(word)) if part in table]
    return min(found, default=word)


@cache  # made as soon as read from a file, and a large one
def _one_missing() -> dict[str, str]:
    """Known words by themselves and by what is left of them without one of their letters."""
    table: dict[str, str] = {}
    for word in sorted(vocabulary().known):
        if len(word) >= SHORTEST:
            for part in (word, *_without_one(word)):
                table.setdefault(part, word)
    return table


def _without_one(word: str) -> Iterable[str]:
    return (word[:at] + word[at + 1 :] for at in range(len(word)))
