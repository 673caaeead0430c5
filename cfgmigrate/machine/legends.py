"""What single letters and tags stand for by a file's opening remark.

A letter: `x y z = axes   f = filament drive   n = nozzle`. A tag, by which a file marks the part that each of its keys is about:
`A20 axes   A30 feeder`.

A letter of an axis stands for itself. A letter whose explanation names no part that the trade has is left as it is;
one that stands for another device makes its names another device's.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import unit_written
from cfgmigrate.machine.rms_or_peak import QUALIFIERS
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

_EXPLAINED = pattern(
    r"(?<![\w.])([A-Za-z]) {0,3}(=|:|is|means|stands for|the) {0,3}(?:the )?([A-Za-z]{2,20}(?: [A-Za-z]{2,20}){0,2})(?= {0,3}(?:[;,.)]|$)|  )",
    re.M,
)
#: an abbreviation and what it is short for: a few words, a unit, or the two values of a truth
_SHORT = pattern(
    r"(?<![\w.])([A-Za-z][A-Za-z0-9_]{1,9}) ?= ?([A-Za-z0-9][A-Za-z0-9/^²µ% ]{0,39}?)(?= *(?:[,;.(:]|$| - | -- ))",
    re.M,
)
_COUNTED = frozenset({"e", "extruder", "feeder"})
#: a word of the file's own and the measure that it is: `slew is acceleration`
_IS_CALLED = pattern(r"(?<![\w.])([A-Za-z]{3,12}) is ([A-Za-z]{4,20})(?= {0,3}(?:[,;.]|$))", re.M)
#: a tag and the part that it marks, set apart from the next by a sign or by blanks
_TAG = pattern(
    r"(?<![\w.])([A-Za-z]{1,3}[0-9]{1,3}) ?[:=]? ([A-Za-z]{2,20}(?: [A-Za-z]{2,20}){0,2})(?= {0,3}(?:[;,.)]|$)| {2})"
)
_MEASURES = frozenset(("speed", "acceleration", "current", "length", "temperature"))
#: so many tags of a file's keys make a legend
_TAGS = 3
_TRUTH = pattern(r"0 ?/ ?1|1 ?/ ?0|yes ?/ ?no|yes or no|true ?/ ?false|0 or 1", re.I)
_MOVES = pattern(r"\b(?:axis|motor|drive)\b", re.I)
#: what a capital letter may be by itself; a small one is an article
_IS_THE_FEEDER = pattern(
    r"(?:the )?(?:filament )?(?:feeder|extruder|drive|feed)(?: motor| axis| drive)?", re.I
)
#: the parts that a letter may stand for
_PARTS = (
    "feeder",
    "nozzle",
    "bed",
    "hotend",
    "retraction",
    "lag",
    "filament",
    "probe",
    "mesh",
    "park",
    "device",
)


def letters_told(opening: str) -> dict[str, tuple[str, str]]:
    """Small letters with the part that each stands for and the words that say so; {} where it is said of fewer than two."""
    told = _told(opening)
    return _parts(told) if len(told) > 1 else {}


def one_told(opening: str) -> dict[str, tuple[str, str]]:
    """The one letter that a file says of what axis or motor it is: `A = extruder axis`, `A is the feeder`; {} where
    there is none."""
    told = [
        each
        for each in _told(opening)
        if (each[1] == "=" and _MOVES.search(each[2]))
        or (each[0].isupper() and _IS_THE_FEEDER.fullmatch(each[2]))
    ]
    return _parts(told) if len(told) == 1 else {}


#: the other way round: `feeder = A`, `filament drive 2 is V`
_NAMED_FIRST = pattern(
    r"(?<![\w.])(?:the )?((?:filament |wire )?(?:feeder|extruder|drive|feed|filament)(?: motor| axis| drive)?(?: ?(?:no\.? ?)?[0-9])?)"
    r" {0,2}(?:=|:|is|has|on) {0,2}(?:the )?(?:letter )?([A-Z])(?= {0,3}(?:[,;.)(]|$)| {2}| and )"
)


#: `axes X Y Z, feeders A and B`
_NAMED_TOGETHER = pattern(
    r"\b(?:feeders|extruders|filament drives|drives of the filament|feeds)(?: are| is|:| =)? {0,2}([A-Z])(?:,? and | & |, ?| )([A-Z])\b(?! ?=)"
)
#: the same with the letters first: `E and A are the two feeders`
_TOGETHER_BEFORE = pattern(
    r"(?<![\w.])([A-Z])(?:,? and | & |, ?)([A-Z])(?: are| =|:)?(?: the)?(?: two)? (?:feeders|extruders|filament drives|feeds)\b"
)


def letters_named(opening: str) -> dict[str, str]:
    """Capital letters that a file names behind the feeders they are of: `feeder = A`; none of an axis."""
    both = _NAMED_TOGETHER.search(opening) or _TOGETHER_BEFORE.search(opening)
    if both and not {"X", "Y", "Z"} & {both[1], both[2]}:
        return {both[at]: f"feeder {at}" for at in (1, 2)}
    return {letter: said for said, letter in _NAMED_FIRST.findall(opening) if letter not in "XYZ"}


def _told(opening: str) -> list[tuple[str, str, str]]:
    return [(found[1], found[2], found[3]) for found in _EXPLAINED.finditer(opening)]


def _parts(told: list[tuple[str, str, str]]) -> dict[str, tuple[str, str]]:
    found: dict[str, tuple[str, str]] = {}
    for letter, _, said in told:
        part = part_of(said)
        if part and letter.lower() not in "xyz":
            found[letter.lower()] = part, said
    return found


def part_of(said: str) -> str:
    """The part of a machine that words name; "" where they name none."""
    present = vocabulary().names_in(frozenset(word for piece in split(said) for word in ways_of(piece)[0]))
    return next((each for each in _PARTS if each in present), "")


def words_told(opening: str) -> dict[tuple[str, ...], tuple[str, ...]]:
    """Abbreviations that a file explains, as pieces, with the pieces of what each is short for: `spm = steps per mm`. ()
    for one that marks a truth, `yn = 0/1`. One that is a word of the trade is that word, and so is one that counts it: what
    is said of `e1` tells which feeder that is, and it is one all the same."""
    found: dict[tuple[str, ...], tuple[str, ...]] = {}
    for own, said in _IS_CALLED.findall(opening):
        if (
            own.lower() not in vocabulary().known
            and vocabulary().names_in(frozenset(split(said))) & _MEASURES
        ):
            found[tuple(split(own))] = tuple(split(said))
    for short, said in _SHORT.findall(opening):
        meant = tuple(split(said))
        truth = bool(_TRUTH.fullmatch(said.strip()))
        words = [word for piece in meant for word in ways_of(piece)[0]]
        understood = all(word in vocabulary().known or word.isdigit() for word in words)
        if (
            short.lower() not in vocabulary().known
            and not _counts(split(short))
            and (truth or (understood and not words[0].isdigit()))
        ):
            found[tuple(split(short))] = () if truth else (*_measure_cut_short(short, said, meant), *meant)
    return found


def _measure_cut_short(short: str, said: str, meant: Sequence[str]) -> tuple[str, ...]:
    """The words of which something is short that a file explains by its unit alone: `cur = A rms` is of currents in amperes, and
    `hold_cur` is a current; () for any other."""
    unit = unit_written(" ".join(word for word in said.split() if word.lower() not in QUALIFIERS))
    words = [word for piece in split(short) for word in ways_of(piece)[0]]
    known = all(word in vocabulary().known for word in words)
    return tuple(words) if unit and known and set(words).isdisjoint(meant) else ()


def _counts(pieces: Sequence[str]) -> bool:
    """Whether a short name is a feeder's letter or word with a number."""
    return len(pieces) == 2 and pieces[0] in _COUNTED and pieces[1].isdigit()


def tags_told(opening: str, keys: Iterable[str]) -> dict[tuple[str, ...], tuple[str, ...]]:
    """The tags that keys of the file begin with, as pieces, with the pieces of what each marks. A tag whose words are not
    all of the trade's is none; {} where there are fewer than three."""
    found: dict[tuple[str, ...], tuple[str, ...]] = {}
    for tag, said in _TAG.findall(opening):
        meant = tuple(split(said))
        if all(word in vocabulary().known for piece in meant for word in ways_of(piece)[0]):
            found[tuple(split(tag))] = meant
    if len(found) < _TAGS:
        return {}
    beginnings = {tuple(split(key)[:2]) for key in keys}
    used = {tag: meant for tag, meant in found.items() if tag in beginnings}
    return used if len(used) >= _TAGS else {}


def in_full(pieces: tuple[str, ...], told: Mapping[tuple[str, ...], tuple[str, ...]]) -> tuple[str, ...]:
    """The pieces of a name with the abbreviations that its file explains in full."""
    longest = max(map(len, told), default=0)
    found: list[str] = []
    at = 0
    while at < len(pieces):
        for wide in range(min(longest, len(pieces) - at), 0, -1):
            if (window := pieces[at : at + wide]) in told:
                found.extend(told[window])
                at += wide
                break
        else:
            found.append(pieces[at])
            at += 1
    return tuple(found)


def text_in_full(text: str, told: Mapping[tuple[str, ...], tuple[str, ...]]) -> str:
    """A remark with the same in full; all else of it stays as it stands."""

    def full(found: re.Match[str]) -> str:
        return " ".join(told.get(tuple(split(found[0])), (found[0],)))

    return _any_of(tuple(told)).sub(full, text) if told else text


@lru_cache(maxsize=64)
def _any_of(words: tuple[tuple[str, ...], ...]) -> re.Pattern[str]:
    each = (r"[\W_]?".join(map(re.escape, word)) for word in sorted(words, key=len, reverse=True))
    return re.compile(rf"(?<![^\W_])(?:{'|'.join(each)})(?![^\W_])", re.I)


def spelled_out(pieces: tuple[str, ...], letters: Mapping[str, tuple[str, str]]) -> tuple[str, ...]:
    """The pieces of a name with its first letter of the legend as the words that it stands for."""
    for at, piece in enumerate(pieces[:2]):
        if piece in letters:
            return (*pieces[:at], *split(letters[piece][1]), *pieces[at + 1 :])
    return pieces
