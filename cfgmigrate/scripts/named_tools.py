"""Tools that scripts take by a feeder's name: `tip far`, `use left`, `SELECT_HEAD right`.

Such a line is no word-address line, and what else it does is not known. That it takes a tool is told where it has one
feeder's name and, beside that, nothing but words for what is taken (a tip, a head, a tool, a feeder) and for taking. A
line that only heats or cools, waits for that or switches a fan leaves the tool as it was, and one that only lets time go by, `DWELL 4`,
leaves everything; after any other line in words nobody knows which is on. A heading, a remark of one word in a line of its own, begins another stretch.

This module follows no modes and knows no limits.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.vocabulary import vocabulary

_WORDS = pattern(r"[A-Za-z]+|\d+(?:\.\d+)?")
_HEADING = pattern(r"[;#(\[/ \t]*[^\W\d]\w*[\])\s:]*")
_TAKING = frozenset(
    [
        "use",
        "take",
        "select",
        "pick",
        "choose",
        "activate",
        "switch",
        "change",
        "to",
        "now",
        "with",
        "on",
        "the",
    ]
)
_IDLE = frozenset(
    [
        "wait",
        "off",
        "on",
        "to",
        "for",
        "at",
        "until",
        "degrees",
        "deg",
        "c",
        "fan",
        "fans",
        "blower",
        "blowers",
        "cool",
    ]
)
_WAITING = frozenset(("dwell", "wait", "delay", "sleep"))
_TIMES = frozenset(("for", "s", "sec", "secs", "second", "seconds", "ms", "a", "moment"))
_TAKEN = ("nozzle", "feeder", "carriage", "hotend")
#: characters of a line that are looked at
_LONGEST = 200


def named_tool(text: str, names: Mapping[str, int]) -> int | None:
    """The number of the feeder that a line in words takes by its name; None where it takes none for sure. `names` are the
    feeders' names in small letters."""
    words = _words(text)
    found = [word for word in words if word in names]
    others = [word for word in words if word not in names]
    return names[found[0]] if len(found) == 1 and _takers().issuperset(others) else None


def leaves_the_tool(text: str, names: Mapping[str, int]) -> bool:
    """Whether a line in words does no more than heat, cool or wait, for whichever feeder."""
    others = [word for word in _words(text) if word not in names and not word[0].isdigit()]
    return bool(_heaters().intersection(others)) and (_heaters() | _IDLE | _takers()).issuperset(others)


def only_waits(text: str) -> bool:
    """Whether a line in words does no more than let time go by: it says how long. A bare word may call a routine of that name."""
    words = _words(text)
    others = [word for word in words if not word[0].isdigit()]
    return (
        len(others) < len(words)
        and not _WAITING.isdisjoint(others)
        and (_WAITING | _TIMES).issuperset(others)
    )


def is_heading(remark: str) -> bool:
    """Whether a remark in a line of its own is one word, as over a routine."""
    return len(remark) <= _LONGEST and _HEADING.fullmatch(remark) is not None


def _words(text: str) -> list[str]:
    return [word.casefold() for word in _WORDS.findall(text[:_LONGEST])] if len(text) <= _LONGEST else ["-"]


@lru_cache(maxsize=1)
def _takers() -> frozenset[str]:
    return _TAKING | {
        spelling[0] for thing in _TAKEN for spelling in vocabulary().spelled(thing) if len(spelling) == 1
    }


@lru_cache(maxsize=1)
def _heaters() -> frozenset[str]:
    return frozenset(each[0] for each in vocabulary().spelled("heater") if len(each) == 1)
