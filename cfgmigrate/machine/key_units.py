"""What a unit in a key says: `speed_mm_s`, `load length in inches`, `esteps (steps/mm)`.

A unit says what is measured, and an `in` before it says no direction. A letter at a key's end may be a mark instead of a unit.
This module deliberately knows nothing of a setting's place, its value or its remark.
"""

from __future__ import annotations

from collections.abc import Set
from functools import lru_cache

from cfgmigrate.ground.units import unit_written, units
from cfgmigrate.machine.rms_or_peak import QUALIFIERS
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

#: words that say what is measured, and not in seconds
_SAY_THEIR_MEASURE = frozenset(
    ("current", "speed", "acceleration", "microstep", "full", "ratio", "diameter", "temperature")
)
_MM_MIN = ("mm", "min")
_PER_MM = (("mm",), ("per", "mm"))
#: letters of a unit's short form
_SHORT_UNIT = 3
#: the dimension of a unit as the word that the trade has for it
DIMENSION_WORDS = {
    "speed": ("speed",), "acceleration": ("acceleration",), "current": ("current",), "resistance": ("resistor",),
    "frequency": ("frequency",), "number per length": ("step", "per", "mm"), "temperature": ("temperature",),
    "time": ("time",), "length": ("length",),
}  # fmt: skip
_KEY_DIMENSIONS = frozenset({"speed", "acceleration", "current", "time", "length", "frequency", "resistance"})
#: so many words a unit in a key has at most
_WIDEST = 5
Pieces = tuple[str, ...]


def key_in_inches(key: str) -> bool:
    """Whether a key ends in `IN` as in a unit: behind another sign, in capitals or small letters as the rest."""
    before, sign, last = key[:-2], key[-3:-2], key[-2:]
    return (
        sign in ("_", "-", ".")
        and last.lower() == "in"
        and len(before) > 3
        and last.isupper() == before.isupper()
    )


def goes_in(key: str) -> bool:
    """Whether the last two words of a key are a verb and where something goes: `THREAD_IN`; what is fed or pulled may be so in
    inches."""
    return tuple(split(key)[-2:]) in _inwards()


@lru_cache(maxsize=1)
def _inwards() -> frozenset[Pieces]:
    return frozenset(spelling for spelling in vocabulary().spelled("load") if spelling[1:] == ("in",)) - {
        (verb, "in") for verb in ("feed", "pull", "draw", "push", "drive")
    }


def key_dimension(key: Pieces) -> tuple[str, ...]:
    """The words for the measure that a unit in a key says: `mm_per_min` is a speed."""
    return DIMENSION_WORDS.get(unit_in_key(key), ())


@lru_cache(maxsize=8192)
def without_in_of_unit(key: Pieces) -> Pieces:
    """A key without the `in` of the unit that it ends with: `speed in mm/min` is no speed in; `push in mm` may be one."""
    if "in" not in key[1:-1]:
        return key
    at = len(key) - 1 - key[::-1].index("in")
    behind = key[at + 1 :]
    if tuple(sorted(("in", *behind))) in _all_units():
        return key  # `in per min`: an inch
    measured = tuple(sorted(behind)) in _all_units() or unit_written(" ".join(behind))
    return key[:at] + behind if measured and key[at - 1 : at + 1] not in vocabulary().spelled("load") else key


def steps_said_once(key: Pieces) -> Pieces:
    """A key that says its steps, and steps per mm as its unit: `esteps (steps/mm)`."""
    behind = next(
        (width for width in (3, 2) if _is_step(key[-width:][:1]) and key[-width + 1 :] in _PER_MM), 0
    )
    before = key[: len(key) - behind]
    return (*before, "per", "mm") if behind and any(_is_step((piece,)) for piece in before) else key


def _is_step(pieces: Pieces) -> bool:
    said = [word for piece in pieces for word in ways_of(piece)[0]]
    return "step" in vocabulary().names_in(frozenset(said))


@lru_cache(maxsize=1)
def _all_units() -> frozenset[Pieces]:
    return frozenset(spelling for unit in units().values() for spelling in unit.words)


def measured_by_key(key: Pieces, beside: Set[str]) -> str:
    """What a key is measured in for sure by a unit of several words in it, `travel_mm_s`, or a short one at its end, `load_s`; "" for
    none. A lone letter may be a mark, `gear ratio a`, a whole word an ordinal, `second feeder`, and `x_mm_min` beside `x_mm_max` is the
    least in mm."""
    of = unit_in_key(key)
    if key[-2:] == _MM_MIN and any(each.split()[-2:] == [_MM_MIN[0], "max"] for each in beside):
        return "length"
    if not of or (of == "speed" and len(key) > 1):
        return of
    last = key[-1]
    if last == "s":  # a mark behind a measure, `microsteps_s`
        return "" if _measures_named(key[:-1]) else of
    return of if (1 < len(last) <= _SHORT_UNIT and unit_in_key((last,)) == of) else ""


def _measures_named(key: Pieces) -> bool:
    """Whether a key says by its words what it measures; steps alone may be so many in a second."""
    named = vocabulary().names_in(frozenset(word for piece in key for word in ways_of(piece)[0]))
    return not named.isdisjoint(_SAY_THEIR_MEASURE) or ("step" in named and "mm" in key)


@lru_cache(maxsize=65536)
def unit_in_key(key: Pieces) -> str:
    """What a unit in a key is of, "" where there is none. The longest unit counts; a single letter is one at the end only."""
    table = _units_in_keys()
    key = key[:-1] if key[-1:] and key[-1] in QUALIFIERS else key
    for wide in range(min(_WIDEST, len(key)), 0, -1):
        for at in range(len(key) - wide + 1):
            window = key[at : at + wide]
            if window[0] == "min" and wide > 1:
                continue  # the least, in mm
            of = table.get(window if wide == 1 else tuple(sorted(window)), "")
            if of and (wide > 1 or len(window[0]) > 1 or at == len(key) - 1):
                return "" if of == "length" and "per" in key else of
    return ""


@lru_cache(maxsize=1)
def _units_in_keys() -> dict[Pieces, str]:
    return {
        spelling: unit.of
        for unit in units().values()
        if unit.of in _KEY_DIMENSIONS
        for spelling in unit.words
    }
