"""Marks in a file's name that speak of a copy: `steppers_old.conf`, `attic (copy).conf`, `main.conf.2025-02-11`.

A mark with a direction says that something else is the live one (old, before, a date); one without a direction
(`v2`, `(1)`, `new`, `test`) only says that there are several. A mark alone never makes a copy: `old_limits.conf`
and `last_layer.conf` are live names; what makes one is said in `judge.py`. The bare name is what is left without
the marks, so that a copy finds the file it was made from.

The words are in `marks.yaml`. This module looks at names only, never into files.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from functools import lru_cache
from pathlib import Path

from msgspec import Struct

from cfgmigrate.ground.compiled import compiled
from cfgmigrate.ground.data_file import load
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.side_words import LEFT_AND_RIGHT

_YEAR = r"(?:19|20)\d\d"
_DAY = r"(?:0?[1-9]|[12]\d|3[01])"
_MONTH = r"(?:0[1-9]|1[0-2])"
_GAP = r"[-_. ]"
_NAMED_MONTH = (
    r"(?:jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|aug(?:ust)?|sept?(?:ember)?|oct(?:ober)?|nov(?:ember)?"
    r"|dec(?:ember)?)"
)
_DATE = pattern(
    rf"(?<!\d)(?:{_DAY}{_GAP}?{_NAMED_MONTH}(?![^\W_])(?:{_GAP}{_YEAR})?|{_YEAR}{_GAP}{_MONTH}{_GAP}{_DAY}|{_YEAR}{_MONTH}(?:0[1-9]|[12]\d|3[01])"
    rf"|{_DAY}{_GAP}{_MONTH}{_GAP}(?:{_YEAR}|\d\d)|{_YEAR}{_GAP}{_MONTH}|{_MONTH}{_GAP}{_YEAR}|{_YEAR}|\d\d{_MONTH}(?:0[1-9]|[12]\d|3[01]))"
    rf"(?:[-_. T]?(?:[01]\d|2[0-3])[-_.:h]?[0-5]\d(?:[-_.:]?[0-5]\d)?)?(?!\d)",
    re.I,
)
#: a date that can't be a number: with its month in letters, or three numbers with gaps
_DATED = pattern(
    rf"(?:{_DAY}\.?[-_. ]{{0,2}}{_NAMED_MONTH}\.?|{_NAMED_MONTH}\.?[-_. ]{{0,2}}{_DAY},?)(?:[-_. ]{_YEAR})?|{_YEAR}([-/.]){_MONTH}\1{_DAY}|{_DAY}([-/.]){_MONTH}\2{_YEAR}",
    re.I,
)
#: when it was, counted back from today: `2 springs ago`, `a_year_ago`, `long ago`
_AGO = pattern(
    r"(?<![^\W_])(?:\d{1,3}|an?|one|two|three|four|five|six|some|several|many|long)[-_. ]{1,2}(?:[^\W\d_]{2,12}[-_. ]{1,2})?ago(?![^\W_])",
    re.I,
)
_WORD = pattern(r"[A-Z]+(?![a-z])|[A-Z]?[^\W\d_A-Z]+|[^\W\d_]+|\d+")
_NUMBERED = pattern(
    r"\(\d+\)|(?<=[^\W_])[-_. ]\d{1,2}(?=$|\.)|(?<![^\W_])[vV]\d+(?:\.\d+)*(?![^\W_])|(?<=\.)\d{1,2}$"
)
_LONGEST_DATE = 40
#: letters of a name whose words are kept
_SHORT_NAME = 200
#: words that count things of a kind
_COUNTS = frozenset(("one", "two", "three", "four", "first", "second", "third", "fourth"))
_SIDES = LEFT_AND_RIGHT | {"x", "y", "z", "e", "front", "rear"}


class Marks(Struct, frozen=True):
    """The marks of a name: those with a direction, those without, and the words that are left."""

    directed: tuple[str, ...] = ()
    loose: tuple[str, ...] = ()
    bare: tuple[str, ...] = ()


class _Words(Struct, frozen=True):
    directed: frozenset[str]
    loose: frozenset[str]
    foreign: frozenset[str]
    periods: frozenset[str]
    pairs: frozenset[str]
    open: frozenset[str]
    logs: frozenset[str]


@compiled
def _words() -> _Words:
    shapes = dict.fromkeys(("directed", "loose", "foreign", "periods", "pairs", "open", "logs"), list)
    data = load(Path(__file__).with_name("marks.yaml"), shapes)
    return _Words(*(frozenset(map(str, data[name])) for name in shapes))


def words_of(text: str) -> tuple[str, ...]:
    """The words of a name in lower case: `stepMotorX_old2` is step, motor, x, old, 2."""
    return _words_of(text) if len(text) <= _SHORT_NAME else _words_of.__wrapped__(text)


@lru_cache(maxsize=8192)
def _words_of(text: str) -> tuple[str, ...]:
    return tuple(word.lower() for word in _WORD.findall(text))


@lru_cache(maxsize=4096)
def marks_of(name: str) -> Marks:
    """The marks of a file's or a folder's own name."""
    words = _words()
    directed: list[str] = []
    loose: list[str] = []
    rest = name
    if rest.endswith("~") or (rest.startswith("#") and rest.endswith("#")):
        directed.append("~" if rest.endswith("~") else "#")
        rest = rest.strip("~#")
    if "ago" in rest.lower():
        directed.extend(_AGO.findall(rest))
        rest = _AGO.sub(" ", rest)
    if any(map(str.isdigit, rest)):
        directed.extend(_DATE.findall(rest))
        rest = _DATE.sub(" ", rest)
        loose.extend(found.strip("-_. ") for found in _NUMBERED.findall(rest))
        rest = _NUMBERED.sub(" ", rest)
    bare: list[str] = []
    left = list(words_of(rest))
    while left:
        word = left.pop(0)
        if word in words.directed:
            directed.append(word)
            if word in words.open:  # `before service`: what follows says before what
                left = left[-1:] if "." in rest and left and rest.lower().endswith("." + left[-1]) else []
        elif word == "last" and left and left[0] in words.periods:
            directed.append(f"last {left.pop(0)}")
        elif left and f"{word} {left[0]}" in words.pairs:
            directed.append(f"{word} {left.pop(0)}")
        elif word in words.loose:
            loose.append(word)
        elif not (word == "of" and directed):
            bare.append(word)
    return Marks(tuple(directed), tuple(loose), tuple(bare))


def longer_than(name: str, names: Collection[str]) -> str:
    """The longest of these names, in small letters, that a file's name begins with, dot and ending and all:
    `attic.conf.wet spring` of `attic.conf`. "" for none."""
    own = name.casefold()
    ends = (at for at in range(len(own) - 1, 0, -1) if not own[at].isalnum())
    return next((own[:at] for at in ends if "." in own[1:at] and own[:at] in names), "")


def folder_marks(path: str) -> Marks:
    """The first directed mark of the folders that a path leads through; no marks where they have none."""
    for step in path.split("/")[:-1]:
        found = marks_of(step)
        if found.directed:
            return found
    return Marks()


def somebody_elses(path: str) -> str:
    """The first word of a path that says that it is of somebody else's machine; "" for none."""
    return next((word for word in words_of(path) if word in _words().foreign), "")


def is_log(name: str) -> bool:
    """Whether a file goes by the name of a log."""
    return bool(_words().logs.intersection(words_of(name)))


def words_apart(one: str, other: str) -> frozenset[str]:
    """The words in which two names of as many words differ; none where they are alike, or of unequal length."""
    first, second = words_of(one), words_of(other)
    if len(first) != len(second):
        return frozenset()
    return frozenset(word for a, b in zip(first, second, strict=True) if a != b for word in (a, b))


def are_sides(one: str, other: str) -> bool:
    """Whether two names differ only in the axis or side that the file is about: x.conf and y.conf."""
    apart = words_apart(one, other)
    return bool(apart) and apart <= _SIDES


def are_numbered(one: str, other: str) -> bool:
    """Whether two names differ only in a count or a letter: drive1 and drive2, feed a and feed b, first reel and second reel."""
    apart = words_apart(one, other)
    return bool(apart) and all(len(word) == 1 or word.isdigit() or word in _COUNTS for word in apart)


def is_a_date(text: str) -> bool:
    """Whether a value is a date and can't be a number: `3 October`, `2026-10-03`."""
    return len(text) < _LONGEST_DATE and _DATED.fullmatch(text.strip().strip("\"'")) is not None


def folder_of(path: str) -> str:
    """The folder of a path, "" at the root."""
    return path.rpartition("/")[0]
