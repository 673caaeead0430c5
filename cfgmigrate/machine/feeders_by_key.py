"""Feeders that are told apart by the first words of their keys: `near_pusher_steps_per_mm` beside `far_pusher_steps_per_mm`.

Two keys that differ in the word before one word for a feeder, and go on in the same way, say the same of two. It
takes a few such pairs, and a word of place in both, since `wire_feeder_speed` is of one. `drive` is any axis's word as
well: there one of the pairs has to be of the filament's way.

This module deliberately knows no names of reels, which may be anything, and looks at no values.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Set

from cfgmigrate.dialects.document import Document, State
from cfgmigrate.ground.side_words import LEFT_AND_RIGHT
from cfgmigrate.machine.holder_words import holder_words
from cfgmigrate.machine.two_meanings import as_words
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

Spot = tuple[str, int]
#: fewer keys that go on in the same way tell nothing
FEWEST_PAIRS = 3
_FEED = "feed"
_OF_THE_WAY = frozenset({"filament", "retraction", "retract", "tube", "reel", "spool"})
#: words of place that say how much as well: `upper feeder speed`
_BOUNDS = frozenset({"upper", "lower", "top", "bottom", "middle"})
_MORE = frozenset({"inside", "outside"})


def feeders_by_key(documents: Iterable[Document]) -> dict[Spot, tuple[str, tuple[str, str]]]:
    """The settings of feeders that go by the first words of their keys: the name, and section and key without it."""
    found: dict[Spot, tuple[str, tuple[str, str]]] = {}
    for document in documents:
        groups: dict[tuple[str, str], dict[str, dict[str, Spot]]] = defaultdict(lambda: defaultdict(dict))
        for setting in document.settings:
            name, word, rest = _parts(setting.key)
            if name and setting.state is not State.INACTIVE:
                groups[setting.section, word][name][rest] = document.path, setting.at
        for (section, word), named in groups.items():
            for name, own in named.items():
                weak = word == "drive" or name in _BOUNDS
                said = _of_a_motor if word == _FEED else _of_the_way
                others = [set(other) for called, other in named.items() if called != name]
                if any(_are_two(weak or word == _FEED, said, set(own), other) for other in others):
                    parts = f"{section}.feeder".lstrip(".")
                    found.update((spot, (name, (parts, rest))) for rest, spot in own.items())
    return found


def _parts(key: str) -> tuple[str, str, str]:
    """The word of place before a word for a feeder, that word, and the rest; three times "" for any other key."""
    words = split(key)
    if len(words) < 3 or words[0] not in {
        *holder_words().places,
        *holder_words().counts,
        *_MORE,
        *LEFT_AND_RIGHT,
    }:
        return "", "", ""
    feeder = words[1].removesuffix("s")
    by_count = words[0] in holder_words().counts
    if feeder not in {*holder_words().for_feeder, "drive", "pusher"} and not (by_count and feeder == _FEED):
        return "", "", ""
    return words[0], feeder, " ".join(words[2:])


def _are_two(weak: bool, said: Callable[[str], bool], one: Set[str], other: Set[str]) -> bool:
    shared = one & other
    if len(shared) < FEWEST_PAIRS:
        return False
    return not weak or any(map(said, shared))


def _of_a_motor(rest: str) -> bool:
    """Whether a key says what only a motor has: two feeds that are counted may be parts of one move."""
    return not {"step", "microstep", "current"}.isdisjoint(
        vocabulary().names_in(frozenset(as_words(tuple(rest.split()))))
    )


def _of_the_way(rest: str) -> bool:
    words = frozenset(rest.split())
    pulls = "back" in words and not words.isdisjoint({"pull", "pulls", "pulled", "draw", "draws"})
    return pulls or not _OF_THE_WAY.isdisjoint(vocabulary().names_in(words) | words)
