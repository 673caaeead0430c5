"""What single letters stand for by a file's opening remark: `x y z = axes   f = filament drive   n = nozzle`.

A letter of an axis stands for itself. A letter whose explanation names no part that the trade has is left as it is;
one that stands for another device makes its names another device's.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

_EXPLAINED = re.compile(
    r"(?<![\w.])([A-Za-z]) {0,3}(=|:|is|means|stands for|the) {0,3}(?:the )?([A-Za-z]{2,20}(?: [A-Za-z]{2,20}){0,2})(?= {0,3}(?:[;,.)]|$)|  )",
    re.M,
)
_MOVES = re.compile(r"\b(?:axis|motor|drive)\b", re.I)
#: what a capital letter may be by itself; a small one is an article
_IS_THE_FEEDER = re.compile(
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


def _told(opening: str) -> list[tuple[str, str, str]]:
    return [(found[1], found[2], found[3]) for found in _EXPLAINED.finditer(opening)]


def _parts(told: list[tuple[str, str, str]]) -> dict[str, tuple[str, str]]:
    found: dict[str, tuple[str, str]] = {}
    for letter, _, said in told:
        present = vocabulary().names_in(
            frozenset(word for piece in split(said) for word in ways_of(piece)[0])
        )
        part = next((each for each in _PARTS if each in present), "")
        if part and letter.lower() not in "xyz":
            found[letter.lower()] = part, said
    return found


def spelled_out(pieces: tuple[str, ...], letters: Mapping[str, tuple[str, str]]) -> tuple[str, ...]:
    """The pieces of a name with its first letter of the legend as the words that it stands for."""
    for at, piece in enumerate(pieces[:2]):
        if piece in letters:
            return (*pieces[:at], *split(letters[piece][1]), *pieces[at + 1 :])
    return pieces
