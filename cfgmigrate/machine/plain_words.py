"""Names taken word by word, without any quantity: whether they speak of the machine's parts, and which protected
setting they are.

What is protected must be known in any wording, so a protected setting's id is made of its words, each as the name that
it is a spelling of.
"""

from __future__ import annotations

from functools import lru_cache

from cfgmigrate.machine.quantities import PROTECTED
from cfgmigrate.machine.vocabulary import Spelling, vocabulary
from cfgmigrate.machine.words import Name

#: a part that ends a way, and what is done with tools
_SWITCHING = frozenset(("switch", "switches", "switching", "switched"))

#: with one of these it is the part
_OF_A_PART = frozenset(
    (
        "x",
        "y",
        "z",
        "axis",
        "end",
        "ends",
        "limit",
        "home",
        "homing",
        "stop",
        "sensor",
        "probe",
        "pin",
        "filament",
        "travel",
    )
)


def names_owner(words: tuple[str, ...]) -> bool:
    """Whether words speak of an axis, the feeder, the filament or what is done with it."""
    present = vocabulary().names_in(frozenset(words))
    return not present.isdisjoint(("feeder", "feed", "retraction", "lag", "filament", "x", "y", "z"))


@lru_cache(maxsize=65536)
def protected_name(name: Name) -> str:
    """The id of a protected setting that is known by its words alone, "" where no protected word is there."""
    present = set(name.words)
    named = vocabulary().names_in(frozenset(present))
    if not any(words <= named for words in vocabulary().protected) or _of_switching_over(present, named):
        return ""
    words = {plain(word) for word in _things_as_one(present) if word not in vocabulary().fillers}
    number = [str(name.number)] if name.number else []
    return PROTECTED + "_".join((*sorted(words), *number))


def _of_switching_over(present: set[str], named: frozenset[str]) -> bool:
    """Whether a pull speaks of the moment at which the machine goes over to another tool, `retraction on switch`: no other
    word makes an end's switch or a sensor's of it."""
    if (
        named.isdisjoint(("retraction", "pull"))
        or not present.isdisjoint(_OF_A_PART)
        or present.isdisjoint(_SWITCHING)
    ):
        return False
    without = vocabulary().names_in(frozenset(present - _SWITCHING))
    return not any(words <= without for words in vocabulary().protected)


def _things_as_one(words: set[str]) -> set[str]:
    """Words with those of a thing that is spelled as several replaced by the thing."""
    found = set(words)
    for thing, spelling in _of_several_words():
        if found.issuperset(spelling):
            found = found - set(spelling) | {thing}
    return found


@lru_cache(maxsize=1)
def _of_several_words() -> tuple[tuple[str, Spelling], ...]:
    """Things with those of their spellings that are of several words."""
    things = sorted(vocabulary().things)
    return tuple((thing, each) for thing in things for each in vocabulary().spelled(thing) if len(each) > 1)


@lru_cache(maxsize=1)
def _plain_words() -> dict[str, str]:
    found: dict[str, str] = {}
    for name, spellings in vocabulary().spellings.items():
        for spelling in spellings:
            if len(spelling) == 1:
                found.setdefault(spelling[0], name)
    return found


def plain(word: str) -> str:
    """The name of a word that is a spelling of it by itself; else the word."""
    return _plain_words().get(word, word)
