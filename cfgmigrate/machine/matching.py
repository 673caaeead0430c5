"""Which quantity a name's words stand for.

A name fits a quantity when all words of one of its phrases are there, in key or section and in any order;
when the thing it belongs to is named; when every further word of the key is a thing it allows, its unit or
a filler; and when nothing else is named, in the key or in the section, that it does not allow. So a word
that is not understood is never passed over in a key, and `[fan] max speed` is no axis's speed. Of several
quantities that fit, the one that gives a meaning to more words is meant; a tie is left as it is, for
`recognise.py` to turn into a doubt.

This module deliberately looks at names only; values are the matter of `values.py`.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache, lru_cache

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.ground.units import units
from cfgmigrate.machine.quantities import facts, of_feeder
from cfgmigrate.machine.vocabulary import Entry, Phrase, vocabulary
from cfgmigrate.machine.word_places import (
    Use,
    cover_things,
    named_else,
    rest_said,
    sayable,
    spelled_fillers,
    strange_section,
    uses,
)
from cfgmigrate.machine.words import Name

#: a key of these words says what its section says
_VALUES = frozenset({"value", "val", "setting", "set", "amount", "number", "parameter", "param", "it", "is", "the", "by", "of", "at", "in",
                     "now", "used", "actual", "ratio", "motor", "axis", "machine", "printer", "all", "default", "config", "calibration", "main"})  # fmt: skip
#: a name of more words is prose and fits nothing
MOST_NAME_WORDS = 50


class Fit(Struct, frozen=True):
    """A quantity that a name fits. `unit` is what the key says of it ("" for nothing), `qualifier` likewise.

    `alone` is true where no thing was named; `strange` where the section has words without a meaning;
    `bare` where a single word names it, which then says little. `score` counts the words that got a
    meaning, in the key and in the section.
    """

    quantity: str
    unit: str = ""
    qualifier: str = ""
    alone: bool = False
    strange: bool = False
    bare: bool = False
    turned: bool = False
    measure: str = ""
    score: tuple[int, int, int] = (0, 0, 0)
    #: words of the remark or the unit that the name needs
    beside: int = 0
    #: words that the phrase itself says, and not a thing that may stand beside
    phrased: int = 0
    #: which gear's teeth stand first in a ratio, as the site file says it
    order: str = ""


@lru_cache(maxsize=65536)
def fits(name: Name) -> tuple[Fit, ...]:
    """The best fits of a name: one where it is clear, several where they tie, () where nothing fits."""
    found = all_fits(name)
    best = max(map(_rank, found), default=None)
    return tuple(fit for fit in found if _rank(fit) == best)


def all_fits(name: Name) -> tuple[Fit, ...]:
    """Every quantity that a name fits, however little it says."""
    return _all_fits(_numbers_alike(name))


def _numbers_alike(name: Name) -> Name:
    """A name with one number in place of all that no spelling has: `fan 3` fits what `fan 88` does, and a machine has many."""
    strange = {
        word for word in (*name.words, *name.said) if word.isdigit() and word not in _spelled_numbers()
    }
    if not strange:
        return name
    section, key, said = (
        tuple(_ANY_NUMBER if word in strange else word for word in words)
        for words in (name.section, name.key, name.said)
    )
    return replace(name, section=section, key=key, said=said)


#: a number that stands in no spelling
_ANY_NUMBER = "0"


@lru_cache(maxsize=1)
def _spelled_numbers() -> frozenset[str]:
    words = (vocabulary().known, vocabulary().fillers, _by_word(), _allowing())
    return frozenset(word for each in words for word in each if word.isdigit())


@lru_cache(maxsize=65536)
def _all_fits(name: Name) -> tuple[Fit, ...]:
    if len(name.words) > MOST_NAME_WORDS:
        return ()
    found: dict[str, Fit] = {}
    present = vocabulary().names_in(frozenset((*name.words, *name.said)))
    for index in _candidates(name):
        entry = vocabulary().entries[index]
        if name.dimension and name.dimension not in dimensions_of(entry.quantity):
            continue
        for phrase in entry.phrases:
            fit = _fit(name, entry, phrase) if present.issuperset(phrase.words) else None
            if fit and (fit.quantity not in found or _rank(fit) > _rank(found[fit.quantity])):
                found[fit.quantity] = fit
    return tuple(found.values())


def next_fits(names: Iterable[Name], but: Fit) -> tuple[Fit, ...]:
    """What names may mean where it can't be the best: the fits that say most of the others."""
    others: dict[str, Fit] = {}
    for fit in (fit for name in names for fit in all_fits(name)):
        if fit.quantity == but.quantity or fit.strange or fit.alone:
            continue
        if fit.quantity not in others or _rank(fit) > _rank(others[fit.quantity]):
            others[fit.quantity] = fit
    best = max(map(_rank, others.values()), default=None)
    return tuple(fit for fit in others.values() if _rank(fit) == best)


def best_fits(names: Iterable[Name]) -> tuple[Name, tuple[Fit, ...]]:
    """Of the ways to take a name the one that says most, the first of equals, with its fits; and with those of the
    others that say as much and mean something else: an abbreviation may be two words."""
    best: tuple[Name, tuple[Fit, ...]] | None = None
    for name in names:
        found = fits(name)
        if best is None or (found and (not best[1] or _rank(found[0]) > _rank(best[1][0]))):
            best = name, found
        elif found and _rank(found[0]) == _rank(best[1][0]):
            meant = {fit.quantity for fit in best[1]}
            best = best[0], (*best[1], *(fit for fit in found if fit.quantity not in meant))
    assert best is not None
    return best


def _rank(fit: Fit) -> tuple[bool, bool, int, int, int, int]:
    return (not fit.strange, not fit.alone, *fit.score, -fit.beside)


@lru_cache(maxsize=256)
def dimensions_of(quantity: str) -> frozenset[str]:
    """What a quantity may be measured in."""
    found = {unit.of for each in facts(quantity).units if (unit := units().get(each.unit))}
    if "temperature" in found:
        found |= {"angle"}  # `175 degrees`
    if quantity.endswith("steps_per_mm"):
        found |= {"number per length", "length"}
    return frozenset(found)


@cache  # made as soon as read from a file
def _by_word() -> dict[str, frozenset[int]]:
    """Which entries have a phrase in which a word may stand."""
    found: dict[str, set[int]] = {}
    for index, entry in enumerate(vocabulary().entries):
        for phrase in entry.phrases:
            for name in phrase.words:
                for spelling in vocabulary().spelled(name):
                    for word in spelling:
                        found.setdefault(word, set()).add(index)
    return {word: frozenset(indexes) for word, indexes in found.items()}


def _candidates(name: Name) -> list[int]:
    """The entries with a phrase of which a word is there, and to which no word of the key is strange."""
    table, allowing = _by_word(), _allowing()
    found: set[int] = set().union(*(table.get(word, ()) for word in (*name.words, *name.said)))
    key = [word for word in name.key if word not in vocabulary().fillers]
    return sorted(found.intersection(*(allowing.get(word, ()) for word in key)))


@cache  # made as soon as read from a file
def _allowing() -> dict[str, frozenset[int]]:
    """Which entries a word may stand in the keys of, for all words but those that may stand in any."""
    found: dict[str, set[int]] = {}
    for index, entry in enumerate(vocabulary().entries):
        names = (
            {name for phrase in entry.phrases for name in phrase.words} | entry.of | entry.may | entry.fillers
        )
        spelled = {word for name in names for spelling in vocabulary().spelled(name) for word in spelling}
        said = {word for phrase in entry.phrases for word in sayable(entry.quantity, phrase.unit)}
        for word in (spelled | said) - vocabulary().fillers:
            found.setdefault(word, set()).add(index)
    return {word: frozenset(indexes) for word, indexes in found.items()}


def _fit(name: Name, entry: Entry, phrase: Phrase) -> Fit | None:
    number = name.number or 0
    if number and not of_feeder(entry.quantity):
        return None
    best: Fit | None = None
    for use in uses(name, phrase.words):
        fit = _fit_of(use, entry, phrase)
        if fit and fit.alone and (name.short or name.key[:1] == ("a",)):
            continue  # an axis may be called `a`; or nothing says whose it is, and only a word cut short what it is
        if fit and (best is None or _rank(fit) > _rank(best)):
            best = fit
    return best


#: what a section may say that its numbers are, and no length is, whatever its key says
_NO_LENGTHS = ("step", "current")
#: the same, where the key does not say itself that it is a length
_OTHER_KINDS = ("acceleration", "speed", "temperature")


@lru_cache(maxsize=16)
def _spelled_in_one(*names: str) -> frozenset[str]:
    return frozenset(w for name in names for s in vocabulary().spelled(name) if len(s) == 1 for w in s)


def _of_another_measure(use: Use, quantity: str) -> bool:
    """Whether a section says that its numbers are none of a quantity's kind: `[accel] fill` is no length to fill."""
    if facts(quantity).quantity.unit != "mm" or quantity.endswith("_per_turn"):
        return False
    section = {use.words[p] for p in use.rest(range(use.key, use.own))}
    if not section.isdisjoint(_spelled_in_one(*_NO_LENGTHS)):
        return True
    own = _spelled_in_one("length", "mm", "diameter")
    if not own.isdisjoint((*use.words[: use.key], *section)):
        return False
    return not vocabulary().names_in(frozenset(section)).isdisjoint(_OTHER_KINDS)


#: which way an axis goes, and what a space that can be reached has along it
_OF_A_SPACE = frozenset(("going", "breadth", "depth", "height", "build"))


def _occasion(quantity: str) -> frozenset[str]:
    """What a section may say of when it is done, or which way: `when the nozzle hops over a gap` is about retraction, and
    `forwards (y)` or `usable depth y` about an axis."""
    if quantity.startswith("axis."):
        return _OF_A_SPACE
    return frozenset(("lift",)) if quantity.startswith("retraction.") else frozenset()


_LOADING = frozenset(("load", "unload"))


def _both_ways(use: Use, quantity: str) -> frozenset[str]:
    """Loading and unloading, where a section is about both: then a key below it says which of them it is about, and
    none is of a retraction."""
    if quantity.partition(".")[0] != "retraction" and not quantity.endswith("load_length"):
        return frozenset()
    section = frozenset(use.words[use.key : use.own])
    return _LOADING if vocabulary().names_in(section) >= _LOADING else frozenset()


def _too_weak(entry: Entry, phrase: Phrase) -> bool:
    """Whether a phrase is not enough where no thing is named."""
    if entry.strong:
        return not entry.strong.issubset(phrase.words)
    return vocabulary().weak.issuperset(phrase.words)


def _qualifier_in(use: Use, quantity: str) -> str:
    """The `rms` or `peak` that stands among the words of a phrase, as it does in `current_rms_ma`; "" for none."""
    said = {use.words[position] for position in use.used if position < use.own}
    return next((word for word in facts(quantity).qualifiers if word in said), "")


#: parts that carry an axis; by the unit of their number, steps per length, it says which of theirs it is
_CARRIERS = frozenset(("belt", "screw", "leadscrew", "spindle", "rack", "pulley", "drive"))


def _carrier(use: Use) -> frozenset[str]:
    """Words that a key may be of where the unit says that its number is steps per mm: `[x] belt: 80 steps/mm`."""
    counts = {"step", "per"} <= set(use.words[use.own :])
    return _CARRIERS if counts and all(position >= use.own for position in use.used) else frozenset()


def _fit_of(use: Use, entry: Entry, phrase: Phrase) -> Fit | None:
    if phrase.below and all(position < use.key for position in use.used):
        entry = replace(entry, may=entry.may | phrase.below)
    said = rest_said(use, entry.of, entry.may, entry.fillers, phrase, entry.quantity)
    if said is None or named_else(use, entry.of | entry.may, phrase.words):
        return None
    if phrase.written and any(position >= use.own for position in use.used):
        return None
    unit, qualifier, meant = said
    everywhere = use.rest(range(len(use.words)))
    owners = cover_things(use.words, everywhere, entry.of)
    alone = bool(entry.of) and not owners
    if alone and (not entry.alone or _too_weak(entry, phrase)):
        return None
    told = use.used | owners
    told |= cover_things(use.words, [p for p in everywhere if p not in owners and p < use.own], entry.may)
    in_key = {position for position in told if position < use.key}
    in_section = {position for position in told if use.key <= position < use.own}
    if (not in_key and not in_section) or (entry.in_key and any(use.key <= p < use.own for p in use.used)):
        return None
    if not in_key and not meant and not (_VALUES | _carrier(use)).issuperset(use.words[: use.key]):
        return None
    if entry.key_says and spelled_fillers(entry.key_says).isdisjoint(
        use.words[p] for p in use.used if not use.key <= p < use.own
    ):
        return None
    both = _both_ways(use, entry.quantity)
    if both and entry.quantity.startswith("retraction."):
        return None
    if _of_another_measure(use, entry.quantity) or (both and any(use.key <= p < use.own for p in use.used)):
        return None
    return Fit(
        entry.quantity,
        unit or phrase.unit,
        qualifier or _qualifier_in(use, entry.quantity),
        alone,
        strange_section(
            use, entry.of | entry.may, entry.fillers | both | _occasion(entry.quantity), phrase.words
        ),
        len(phrase.words) == 1,
        "reverse" in phrase.words,
        entry.measure,
        (
            len(in_key) + meant + len(in_section) + len(use.used - in_key - in_section),
            len(in_key),
            len(in_section),
        ),
        len([position for position in use.used if position >= use.own]),
        len(use.used),
    )
