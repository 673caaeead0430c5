"""Which quantities a number that was not understood may be: by its unit, by what is usual, and by the axes that it is of.

Of several numbers that are told apart by an axis's letter alone, each must be possible; the feeder's stands with those
of the axes as `e`. Words that name a part of the quantity speak for it, but none is needed.

Nothing is read by this; the ids are offered to a person.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache

from msgspec import Struct

from cfgmigrate.ground.units import Unit
from cfgmigrate.machine.offered import offered
from cfgmigrate.machine.quantities import all_quantities, facts, known
from cfgmigrate.machine.vocabulary import vocabulary

#: a name's word that the quantity's own names have, against a number that is a usual one
_WORD, _USUAL, _UNIT = 0.6, 1.0, 0.3
LETTERED = ("x", "y", "z")
#: words of a name that say what its number measures
_MEASURES = frozenset(("speed", "acceleration", "current", "length", "time", "frequency"))


class Numbered(Struct, frozen=True):
    """A number with the letter of its axis ("e" for the feeder, "" for none), its unit or what it measures, where
    either is stated, and the words of its name."""

    letter: str
    value: float
    unit: Unit | None
    measure: str
    words: frozenset[str]
    #: whether it is written as a truth
    truth: bool = False


@lru_cache(maxsize=1)
def of_feeder_as() -> dict[str, str]:
    """The feeder's quantity for what each axis has, by the id with `@`: they stand together in lists."""
    found = {}
    for each in vocabulary().lists:
        if "e" in each.of and "x" in each.of:
            found[each.of["x"].replace(".x.", ".@.")] = each.of["e"]
    return found


def for_letter(quantity: str, letter: str) -> str:
    """An id with `@` for one letter; "" where there is none."""
    found = of_feeder_as().get(quantity, "") if letter == "e" else quantity.replace("@", letter)
    return found if known(found) else ""


def may_be(group: Sequence[Numbered], taken: Iterable[str] = ()) -> tuple[str, ...]:
    """The ids that all numbers of a group may be, the likeliest first; with `@` for several axes. `taken` are not."""
    several = len({each.letter for each in group}) > 1
    letters = {each.letter for each in group}
    ids = _of_axes() if several else _ids(next(iter(letters)))
    scored: dict[str, float] = {}
    for name in ids:
        own = [(for_letter(name, each.letter) if several else name, each) for each in group]
        own = [(quantity, each) for quantity, each in own if quantity or each.letter != "e"]
        if all(quantity and quantity not in taken for quantity, _ in own):
            score = _together(own)
            if score is not None:
                scored[name] = score
    return tuple(sorted(scored, key=lambda name: -scored[name]))


def _together(own: Sequence[tuple[str, Numbered]]) -> float | None:
    """What speaks for quantities of which the numbers are all in one unit; None where they can't be."""
    if facts(own[0][0]).quantity.kind == "truth":
        possible = all(each.value in (0, 1) and each.unit is None for _, each in own)
        return sum(0.5 + _words(name, each) for name, each in own) if possible else None
    if any(each.truth for _, each in own):
        return None
    best: float | None = None
    for unit in (unit.unit for unit in facts(own[0][0]).units):
        scores = [_score(name, each, unit) for name, each in own]
        known_scores = [score for score in scores if score is not None]
        if len(known_scores) == len(scores):
            best = max(best if best is not None else -1.0, sum(known_scores))
    return best


@lru_cache(maxsize=1)
def _of_axes() -> tuple[str, ...]:
    found = (
        f"{each.id[:-1]}@" if each.id.endswith((".x", "_x")) else each.id.replace(".x.", ".@.")
        for each in all_quantities()
        if _offered(each.id) and (".x." in each.id or each.id.endswith((".x", "_x")))
    )
    return tuple(dict.fromkeys(found))


@lru_cache(maxsize=8)
def _ids(letter: str) -> tuple[str, ...]:
    """The quantities of one axis, or of none."""

    def letter_of(name: str) -> str:
        parts = name.replace("_", ".").split(".")
        return next((part for part in parts if part in LETTERED), "")

    wanted = "" if letter == "e" else letter
    return tuple(each.id for each in all_quantities() if _offered(each.id) and letter_of(each.id) == wanted)


def _offered(name: str) -> bool:
    found = facts(name).quantity
    return not found.protected and found.kind in ("number", "ratio", "truth")


def can_be(name: str, each: Numbered) -> bool:
    """Whether a number may be one of a quantity: by its unit, by the measure that its name says, and as a usual one."""
    if not known(name):
        return True
    units_of = facts(name).units
    return not units_of or any(_value(name, each, unit.unit) is not None for unit in units_of)


def _value(name: str, each: Numbered, in_unit: str) -> float | None:
    """A number as one of a quantity, taken in this unit; None where it can't be one."""
    found = facts(name)
    unit = found.unit(in_unit)
    if unit is None or (each.unit is not None and each.unit.name != in_unit):
        return None
    said = {each.measure} - {""} or _MEASURES & each.words
    if said and said.isdisjoint(_measures(name)):
        return None
    if each.unit is None and unit is not found.units[0] and not unit.thought_of(each.value):
        return None
    if unit.reciprocal and each.value == 0:
        return None
    value = unit.to_value(each.value)
    if not found.quantity.plausible(value) or (
        found.twos and value not in (1, 2, 4, 8, 16, 32, 64, 128, 256)
    ):
        return None
    return None if offered().is_usual(name, value) is False else value


def _score(name: str, each: Numbered, in_unit: str) -> float | None:
    """What speaks for a number in this unit as one of a quantity, None where it can't be it, or nothing does but words."""
    value = _value(name, each, in_unit)
    if value is None:
        return None
    usual = offered().is_usual(name, value)
    if usual is None and each.unit is None and _words(name, each) < 2 * _WORD:
        return None  # any number may be one
    score = _USUAL + offered().telling(name) if usual else 0.0
    return score + _words(name, each) + (_UNIT if each.unit is not None or each.measure else 0.0)


@lru_cache(maxsize=256)
def _measures(name: str) -> frozenset[str]:
    """The words for what a quantity's units measure."""
    from cfgmigrate.ground.units import units

    of = {unit.of for each in facts(name).units if (unit := units().get(each.unit))}
    return frozenset({*of, *(("step",) if "number per length" in of else ())})


def shares_word(name: str, each: Numbered) -> bool:
    """Whether a number's name has a word of the quantity's: not only of the thing that it is of, where it says more than a
    thing."""
    said = each.words & vocabulary().known - vocabulary().fillers
    return bool(_names(name, things=said <= vocabulary().things) & each.words)


def _words(name: str, each: Numbered) -> float:
    return _WORD * len(_names(name) & each.words)


@lru_cache(maxsize=256)
def _names(name: str, things: bool = True) -> frozenset[str]:
    """The names of words by which a quantity is known, with the things that it is of or without."""
    found: set[str] = set()
    for entry in vocabulary().entries:
        if entry.quantity == name:
            found |= {word for phrase in entry.phrases for word in phrase.words}
            found |= entry.of if things else frozenset()
    return frozenset(found) - vocabulary().fillers - {"x", "y", "z", "e"}
