"""Letters that stand for a measure, as the symbols of physics do, by a list in a file's opening remark, and whose the letters
behind them are:

    # k steps per mm   v speed mm/s   I current A   L length mm   tau time s
    # x y z the axes, f the filament drive, n nozzle

so that `v_f_max` is the drive's greatest speed. A list has three entries and more: by itself `a nozzle` is no symbol, and a
letter that is said to be two things is none of them. Feeders that are told from each other by a number are named by one letter too: `two
filament drives, f1 and f2`.

Only words are parted here; what they mean together is the matter of `matching.py`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from functools import lru_cache

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import Unit, unit_written
from cfgmigrate.machine.holder_words import holder_words
from cfgmigrate.machine.rms_or_peak import QUALIFIERS
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

Pieces = tuple[str, ...]
#: so many entries make a list
_FEWEST_SYMBOLS = 3
_GREEK = "alpha|beta|gamma|delta|theta|kappa|lambda|mu|nu|rho|sigma|tau|phi|omega"
#: an index of one digit makes a symbol of its own: `I0 current at standstill`
_LETTER = rf"(?:[A-Za-z](?:_?[0-9])?|{_GREEK})"
_ENTRY = pattern(
    rf"(?:and[ \t]+)?({_LETTER}(?:(?:[ \t]*[/&+][ \t]*|[ \t]+(?:and|or)[ \t]+|[ \t]+){_LETTER})*)"
    r"(?:[ \t]*[=:–-][ \t]*|[ \t]+)(?:(?:is|are|means|stands for|for)[ \t]+)?(?:(?:an?|the)[ \t]+)?"
    r"([A-Za-z°µΩ%][^,;=]{0,40})"
)
_PARTED = pattern(r"[,;]|[ \t]{2,}|\.(?=[ \t]|$)|:[ \t]")
_ASIDE = pattern(r"\([^()]*\)?")
#: what a unit alone says that a letter stands for
_BY_UNIT = {
    "speed": ("speed",), "acceleration": ("acceleration",), "current": ("current",), "time": ("time",),
    "temperature": ("temperature",), "resistance": ("resistor",), "voltage": ("voltage",), "length": ("length",),
    "frequency": ("frequency",), "number per length": ("step", "per", "mm"),
}  # fmt: skip
_MEASURES = frozenset({"speed", "acceleration", "current", "time", "temperature", "resistor", "voltage", "length", "frequency", "step",
                       "diameter", "position", "height", "counted", "microstep", "ratio", "direction"})  # fmt: skip
_OF_AXES = ("x", "y", "z", "e")
_JOINING = ("and", "or", "&", "+")
_EFFECTIVE = (*QUALIFIERS, "effective")
#: what a symbol of a length is called (ISO 80000-3); by itself each is a word for an axis's limits as well
_LENGTHS = frozenset({("travel",), ("way",), ("path",), ("path", "length"), ("stroke",), ("displacement",)})
#: the symbol of a length that is a diameter (ISO 80000-3)
_DIAMETER = "d"
_WIDEST = 4


def symbols_told(opening: str) -> Mapping[str, Pieces]:
    """Letters in lower case with the words of the measure that each stands for; {} where the opening remark has no such list."""
    found: dict[str, set[Pieces]] = {}
    for letters, said in _entries(opening):
        for letter in letters:
            # `x mm, y mm, z mm` says the unit of each axis, and nothing of what the letter stands for
            if letter[0].lower() not in _OF_AXES and (words := _measure(letter, said)):
                found.setdefault(letter.lower().replace("_", ""), set()).add(words)
    if len(found) < _FEWEST_SYMBOLS:
        return {}
    return {letter: next(iter(each)) for letter, each in found.items() if len(each) == 1}


def owners_told(opening: str) -> Mapping[str, str]:
    """Letters in lower case with what a list of symbols says that each is of: a part of the machine in words; {} without one."""
    found: dict[str, set[str]] = {}
    for letters, said in _entries(opening):
        for letter in letters:
            if letter.isalpha() and not _measure(letter, said):
                found.setdefault(letter.lower(), set()).add(said)
    if same := _same_letter().search(opening):
        found[same[1].lower()] = {"feeder"}
    return {letter: next(iter(each)) for letter, each in found.items() if len(each) == 1}


@lru_cache(maxsize=1)
def _same_letter() -> re.Pattern[str]:
    """Feeders of one letter with numbers: `two filament drives, f1 and f2`."""
    fed = holder_words().any_fed
    return re.compile(
        rf"\b(?:feeders|extruders|pushers|{fed} (?:drives|feeds|feeders|motors|pushers))\b[,:]?[ \t]+"
        r"(?:are[ \t]+|called[ \t]+|named[ \t]+)?([A-Za-z])[ _]?1\b[^.;]{0,80}?(?:\band\b|[,&+])[ \t]*\1[ _]?2\b"
    )


def _entries(opening: str) -> Iterator[tuple[list[str], str]]:
    lines = [_ASIDE.sub("", line) for line in opening.split(" . ")]
    for part in (part for line in lines for part in _PARTED.split(line)):
        if entry := _ENTRY.fullmatch(part.strip()):
            letters = [each for each in entry[1].replace("/", " ").split() if each not in _JOINING]
            said = entry[2].strip()
            if len(letters) > 1 and said.lower() in _EFFECTIVE:
                said = f"{letters.pop()} {said}"  # `I A effective`
            if len(letters) > 1 and letters[-1] == "a":
                letters.pop()  # `N a count`
            yield letters, said


def _measure(letter: str, said: str) -> Pieces:
    """The words of the measure that is said; () where it is none, or has words that nobody knows."""
    words = [word for word in said.split() if word.lower() not in _EFFECTIVE]
    unit: Unit | None = None
    for wide in range(min(_WIDEST, len(words)), 0, -1):
        if (unit := unit_written(" ".join(words[-wide:]))) is not None:
            words = words[:-wide]
            break
    plain = tuple(word for piece in split(" ".join(words)) for word in ways_of(piece)[0])
    made = vocabulary()
    if plain in _LENGTHS:
        return ("length",)
    if plain:
        known = all(word in made.known for word in plain)
        return plain if known and made.names_in(frozenset(plain)) & _MEASURES else ()
    if unit is None:
        return ()
    return ("diameter",) if letter == _DIAMETER and unit.of == "length" else _BY_UNIT.get(unit.of, ())
