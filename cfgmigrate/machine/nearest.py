"""What a setting that was not understood may be about: the quantities its words come closest to.

This is for people only, to point at lines that look relevant; nothing is read by it. A misspelt word
counts as the word it is nearest to.
"""

from __future__ import annotations

import difflib
from functools import lru_cache

from cfgmigrate.machine.quantities import facts
from cfgmigrate.machine.words import Entry, Name, Phrase, vocabulary

#: From this share of words in common on, a quantity is worth naming.
CLOSE = 0.7
MOST = 3


@lru_cache(maxsize=65536)
def nearest(name: Name) -> tuple[str, ...]:
    """Ids of the quantities that a name's words come closest to, the closest first; () for none."""
    key = tuple(_corrected(word) for word in name.key)
    words = (*name.section, *key)
    present = _present(frozenset(words))
    if not present:
        return ()
    scored: dict[str, float] = {}
    for entry in vocabulary().entries:
        if _blocked(entry, present, frozenset(words)) or facts(entry.quantity).quantity.protected:
            continue
        score = max(_score(entry, phrase, frozenset(key), frozenset(words)) for phrase in entry.phrases)
        if score >= CLOSE:
            scored[entry.quantity] = score
    best = max(scored.values(), default=0.0)
    close = [quantity for quantity, score in scored.items() if score >= best - 0.1]
    return tuple(sorted(close, key=lambda quantity: -scored[quantity])[:MOST])


def _score(entry: Entry, phrase: Phrase, key: frozenset[str], words: frozenset[str]) -> float:
    """Words in common, as a share of those that the phrase needs and those of the key that it leaves over."""
    said: set[str] = set()
    got = 0
    for name in phrase.words:
        spelling = next((s for s in vocabulary().spelled(name) if words.issuperset(s)), None)
        if spelling:
            got += 1
            said.update(spelling)
    if not said & key:
        return 0.0
    owner = [s for thing in entry.of for s in vocabulary().spelled(thing) if words.issuperset(s)]
    for spelling in owner:
        said.update(spelling)
    if entry.of and not owner and not entry.alone:
        return 0.0
    needed = len(phrase.words) + (1 if entry.of else 0)
    over = len(key - said - vocabulary().fillers - entry.fillers)
    return (got + (1 if owner else 0)) / (needed + over)


@lru_cache(maxsize=4096)
def _present(words: frozenset[str]) -> frozenset[str]:
    found = {
        name
        for name, spellings in vocabulary().spellings.items()
        if any(words.issuperset(s) for s in spellings)
    }
    return frozenset(found)


def _blocked(entry: Entry, present: frozenset[str], words: frozenset[str]) -> bool:
    allowed = set(entry.of) | entry.may | {name for phrase in entry.phrases for name in phrase.words}
    ours = {word for name in allowed for s in vocabulary().spelled(name) for word in s}
    for thing in (vocabulary().things & present) - allowed:
        spelled = [s for s in vocabulary().spelled(thing) if words.issuperset(s)]
        if any(not ours.issuperset(s) for s in spelled):
            return True
    return False


@lru_cache(maxsize=65536)
def _corrected(word: str) -> str:
    """A word that nobody knows as the known word it is a misspelling of, if there is one."""
    if word in vocabulary().known or len(word) < 5:
        return word
    near = difflib.get_close_matches(word, _long_words(), n=1, cutoff=0.82)
    return near[0] if near else word


@lru_cache(maxsize=1)
def _long_words() -> tuple[str, ...]:
    return tuple(sorted(word for word in vocabulary().known if len(word) >= 5))
