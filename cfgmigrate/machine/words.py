"""A key and its section as the trade's words.

`split` cuts a text into words at case changes, digits and signs; `read_name` does so for a section and a key, cuts
glued words, drops plurals and takes out the number or side of a feeder (`extruder1`, `E0`, `retraction 2`, `left
feeder`), so that what is left is bare words whose order is free.

This module deliberately does not decide what the words mean together: that is `matching.py`.
"""

from __future__ import annotations

import re
from functools import lru_cache

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import unit_written
from cfgmigrate.machine.holder_words import holder_words
from cfgmigrate.machine.spellings import is_cut_short, symbol, ways_of
from cfgmigrate.machine.vocabulary import vocabulary

#: a name may be taken in so many ways
MOST_WAYS = 8
#: a dotted key with blanks: no blank stands at a dot, as in `no. of steps`
_LEVELS = pattern(r"[A-Za-z][^. \t]*(?:[. ][A-Za-z][^. \t]*)*")
#: in a name of so few words a letter may be a symbol
FEW_WORDS = 3

#: `mA` is one word wherever it stands, and so is `uSteps`, where no axis u has so many steps per mm; capitals before a small letter begin a word
#: letters of a text whose pieces are kept
_SHORT = 200
_PIECE = pattern(
    r"(?<![A-Za-z])uSteps?(?![a-z]|[ _./-]{0,3}(?:[Pp]er|[Mm]{2}))|mA(?![a-z])|mOhms?(?![a-z])|[A-Z]?[a-z]+(?=mA(?![a-z]))|[A-Z]+(?![a-z])|[A-Z]?[a-z]+|\d+|[^\W\d_a-zA-Z]+|%"
)

#: a hundredth or a tenth of a millimetre, as names say it at their end: `1/100 mm`, `(0.01 mm)`, `hundredths of a mm`, `mm/100`.
#: `length to 0.1 mm` says how well it is known, and `0.1 mm nozzle` of what it is
_MM = r"(?:of[ _])?(?:an?[ _]|one[ _])?(?:mm|millimet(?:re|er)s?)"
_AT_THE_END = r"(?=[ \])}_.:-]*$)"
_FRACTIONS = tuple(
    (
        pattern(
            rf"(?<![\d.,/])(?<!\bto )(?<!\bby )(?<!\bat )(?<!\bthe )(?<!± )(?<!±)(?:{shares})[ _.-]{{0,2}}{_MM}{_AT_THE_END}"
            rf"|(?<=[(\[,])[ ]?(?:{decimal})[ ]?{_MM}{_AT_THE_END}"
            rf"|(?<![a-z])mm[ ]?/[ ]?{whole}{_AT_THE_END}",
            re.IGNORECASE,
            needs=(word, whole, *needed),
        ),
        f" {word} mm ",
    )
    for word, whole, decimal, shares, needed in (
        ("hundredth", "100", "0[.,]01", "1[ ]?/[ ]?100(?:ths?)?|100ths?|hundredths?", ("0.01", "0,01")),
        ("tenth", "10", "0[.,]1", "1[ ]?/[ ]?10(?:ths?)?|10ths?|tenths?", ("0.1", "0,1")),
    )
)


class Counted(Struct, frozen=True):
    """Which feeder a name speaks of: the number behind the feed path's word `word` ("" for a number by itself), as
    written, or what a side such as left stands for. It stands in the key, or else in the section. `carried` is true of
    `filament motor 2`, where it may as well be the motor's place on the board."""

    number: int
    word: str
    side: bool = False
    in_key: bool = False
    carried: bool = False


class Name(Struct, frozen=True):
    """A section and a key as words. `counted` is the feeder that it speaks of, None where it says none.

    `said` are words that the value's unit or the line's remark say beside; `dimension` is what the value is
    measured in, "" where nothing says it. `cut` is true where a lone word that is cut short is all that it has, `short`
    where one of its words is cut short.
    """

    section: tuple[str, ...]
    key: tuple[str, ...]
    counted: Counted | None = None
    said: tuple[str, ...] = ()
    dimension: str = ""
    cut: bool = False
    short: bool = False

    @property
    def number(self) -> int | None:
        return self.counted.number if self.counted else None

    @property
    def words(self) -> tuple[str, ...]:
        return self.section + self.key


def split(text: str) -> list[str]:
    """The pieces of a text, in lower case: runs of letters at case changes, runs of digits."""
    return list(_pieces(text) if len(text) <= _SHORT else _pieces.__wrapped__(text))


@lru_cache(maxsize=16384)
def _pieces(text: str) -> tuple[str, ...]:
    return tuple(found.group().lower() for found in _PIECE.finditer(_with_fractions(text.replace("²", "2"))))


def _with_fractions(text: str) -> str:
    """A text in which a fraction of a unit is a word: its digits are no number of a feeder."""
    small = text.lower()
    if not ("mm" in small or "millimet" in small) or not (
        "0" in small or "tenth" in small or "hundredth" in small
    ):
        return text
    for written, words in _FRACTIONS:
        text = written.sub(words, text)
    return text


def are_initials(piece: str, name: str) -> bool:
    """Whether letters before a key are the two that its section's name begins with; more are a word of their own: `gear`
    below `[gears]`."""
    return len(piece) == 2 < len(name) and name.startswith(piece)


@lru_cache(maxsize=65536)
def read_name(section: str, key: str) -> Name:
    """The words of a section and a key."""
    return names_of(tuple(split(section)), tuple(split(key)))[0]


@lru_cache(maxsize=65536)
def readings_of_name(section: str, key: str) -> tuple[Name, ...]:
    """The ways to take a section and a key, the strictest first.

    The parts of a dotted key before its last dot may be a section: `wren.feeder.run_current` is
    `run_current` in `wren.feeder`.
    """
    return tuple(name for path in paths_of(section, key) for name in names_of(*path))


@lru_cache(maxsize=65536)
def paths_of(section: str, key: str) -> tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]:
    """Section and key in pieces; a dotted key, and one with a slash that is in no unit, also with its last part as the key."""
    whole = tuple(split(section)), tuple(split(key))
    path, slash, called = key.rpartition("/")
    if slash and not section and split(path) and split(called) and unit_written(called.strip()) is None:
        return whole, (tuple(split(path)), tuple(split(called)))
    before, dot, last = key.rpartition(".")
    if not dot or not split(last) or (" " in key and not _LEVELS.fullmatch(key)) or "\t" in key:
        return (whole,)
    return whole, (tuple(split(f"{section} {before}")), tuple(split(last)))


@lru_cache(maxsize=65536)
def names_of(
    section: tuple[str, ...], key: tuple[str, ...], said: tuple[str, ...] = (), dimension: str = ""
) -> tuple[Name, ...]:
    """The names that the pieces of a section and a key may be: several where an abbreviation may be several
    words, the likeliest first."""
    found = []
    for section_words, in_section in _words(section):
        for key_words, in_key in _words(key, of_key=True):
            counted = replace(in_key, in_key=True) if in_key else in_section
            cut_short = any(map(is_cut_short, (*section, *key)))
            of_which = _half_named(section_words, key_words)
            found.append(Name(of_which, key_words, counted, said, dimension, short=cut_short))
    return tuple(found[:MOST_WAYS])


#: two things of which each has a diameter, and neither is a part of the other
_SIDE_BY_SIDE = frozenset({"filament", "nozzle"})


def _half_named(section: tuple[str, ...], key: tuple[str, ...]) -> tuple[str, ...]:
    """Of a section about filament and nozzle and nothing else, the one that the key names itself; any other section as it is."""
    if len(section) != len(("filament", "and", "nozzle")) or section[1] != "and":
        return section
    things = frozenset(section) - {"and"}
    named = things.intersection(key)
    return tuple(named) if things == _SIDE_BY_SIDE and len(named) == 1 else section


#: behind these `rev` is a revolution, and nothing is reversed
_A_TURN = frozenset({"per", "a", "each", "every", "one"})


@lru_cache(maxsize=65536)
def _words(
    pieces: tuple[str, ...], of_key: bool = False
) -> tuple[tuple[tuple[str, ...], Counted | None], ...]:
    """Known words, and the number that stands beside a word of the feed path; for each way to take them."""
    ways: list[list[str]] = [[]]
    for before_it, piece in zip(("", *pieces), pieces, strict=False):
        if piece == "rev" and before_it in _A_TURN:
            piece = "revolution"
        piece = "sec" if piece == "seconds" else piece  # a time for sure: one second may be a count
        options = ((piece,),) if piece.isdigit() else ways_of(piece)
        may_be_symbol = len(piece) == 1 and len(pieces) <= FEW_WORDS
        if may_be_symbol and (meant := symbol(piece)) and meant != piece:
            options = ((piece,),) if _tells_apart(piece, before_it, pieces, of_key) else ((piece,), (meant,))
        if len(ways) * len(options) > MOST_WAYS:
            options = options[:1]
        if len(options) == 1:
            for way in ways:
                way.extend(options[0])
        else:
            ways = [[*before, *words] for before in ways for words in options]
    return tuple(dict.fromkeys(_counted(way) for way in ways))


def _tells_apart(letter: str, before_it: str, pieces: tuple[str, ...], of_key: bool) -> bool:
    """Whether a letter behind a feeder's word is that one's name, and no symbol: in a section's, and in a key that says in a word
    what the letter would, as `pusher_a_fastest` does."""
    if letter not in holder_words().sides or before_it not in _COUNTED_BY_WORDS:
        return False
    return not of_key or not _superlatives().isdisjoint(pieces)


@lru_cache(maxsize=1)
def _superlatives() -> frozenset[str]:
    names = ("fastest", "hardest")
    return frozenset(s[0] for name in names for s in vocabulary().spelled(name) if len(s) == 1)


def _counted(pieces: list[str]) -> tuple[tuple[str, ...], Counted | None]:
    """Words without the number or side that stands beside one of the feed path's, and that number."""
    words = holder_words()
    counting = words.counted | vocabulary().turned
    found: list[str] = []
    counted: Counted | None = None
    for piece in pieces:
        behind = found[-1] if found else ""
        if piece.isdigit() and behind == "t":
            behind = found[-1] = "tool"
        elif piece.isdigit() and behind not in counting and behind.removesuffix("s") in counting:
            behind = found[-1] = behind.removesuffix("s")  # the objects of a list: `filament_feeds.1`
        if piece.isdigit() and behind == "head" and len(piece) <= 2 and not counted:
            found.pop()
            counted = Counted(int(piece), behind)  # whose a thing is, where a machine has several heads
        elif piece.isdigit() and behind in counting and len(piece) <= 2:
            counted = Counted(int(piece), behind)
            found[-1] = (
                "feeder" if behind == "feed" else behind
            )  # what is counted is a drive, and no `feed rate`
        elif piece in words.numerals and (
            behind in _COUNTED_BY_WORDS | {"feed"}
            or (behind == "drive" and found[-2:-1] and found[-2] in words.fed)  # an axis has a drive as well
        ):
            counted = Counted(words.numerals[piece], behind, side=True)
            found[-1] = "feeder" if behind == "feed" else behind
        elif piece in words.sides and behind in counting:
            counted = Counted(words.sides[piece], behind, side=True)
        elif not counted and (carried := _behind_what_carries(found, piece)):
            counted = carried
            found[-2] = "feeder" if found[-2] == "feed" else found[-2]
        else:
            if behind in words.sides and piece in counting:
                found.pop()
                counted = Counted(words.sides[behind], piece, side=True)
            elif behind in words.counts and piece in counting and _BEFORE_A_TIME.isdisjoint(found[-2:-1]):
                number = words.counts[found.pop()]
                if piece in _COUNTED_BY_WORDS:
                    counted = Counted(number, piece, side=True)
                else:  # the second feed of several may be a drive or a part of a move, and is no time
                    found.append(_NTH if number > 1 else behind)
            found.append(piece)
    return tuple(found), counted


#: a second behind these is a time
_BEFORE_A_TIME = frozenset({*_A_TURN, "mm", "step"})
#: what is counted by a word before it is a feeder
_COUNTED_BY_WORDS = frozenset({"feeder", "extruder", "pusher", "tool"})
#: stands for a count of what may be anything
_NTH = "nth"


#: a letter behind a motor may be its amperes
_SHORTEST_SIDE = 4


def _behind_what_carries(before: list[str], piece: str) -> Counted | None:
    """The number or side that a piece is behind what carries out a feeder's word: `filament motor 2`, `feed unit left`."""
    words = holder_words()
    word, carrier = (before[-2], before[-1].removesuffix("s")) if len(before) > 1 else ("", "")
    if word not in words.counted or word in words.tool or word == "drive" or carrier not in words.carried:
        return None  # a `drive motor` may be an axis's
    if piece.isdigit() and len(piece) <= 2:
        return Counted(int(piece), word, carried=True)
    side = words.sides.get(piece) if len(piece) >= _SHORTEST_SIDE else None
    return Counted(side, word, side=True) if side else None
