"""What the keys beside a setting say of it.

The keys of a section stand there together, and some say what another leaves out: a letter that all begin with is a mark
or the section's own initials and no word of any of them; in a table that has a speed and an acceleration for each axis
both are limits; `rest` beside `current` is a current.

This module knows paths in pieces only, neither values nor remarks; what the words mean is the matter of `matching.py`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Set
from functools import lru_cache

from cfgmigrate.ground.units import units
from cfgmigrate.machine.spellings import symbol, ways_of
from cfgmigrate.machine.two_meanings import as_words, of_layers
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import are_initials
from cfgmigrate.machine.wrappers import BEFORE_ALL, FEWEST, PARTS_OF_A_MACHINE

_LIMITED = frozenset({"speed", "acceleration"})
_BOUNDS = frozenset({"min", "max", "minimum", "maximum"})
#: what a section may say that its numbers count
_COUNTS = frozenset({"stepping", "step", "resolution", "scale"})
#: so many keys of a section begin alike, and then with its initials
FEWEST_OF_A_SECTION = 3
#: words of so many letters are not cut short
WHOLE = 4
Pieces = tuple[str, ...]
#: section and key of a setting in pieces
Path = tuple[Pieces, Pieces]


class KeysBeside:
    """The keys of a document by section, and what they have in common."""

    def __init__(self, paths: Iterable[Path]) -> None:
        paths = list(paths)
        keys: dict[Pieces, set[str]] = defaultdict(set)
        for section, key in paths:
            keys[section].add(" ".join(key))
        self.keys: Mapping[Pieces, Set[str]] = keys
        self._initials = _initials_of_sections(paths)
        self.mark = _mark(paths)
        self._tables = _tables_of_limits(paths)
        self._layered = {section: of_layers(beside) for section, beside in keys.items()}

    def keys_of(self, section: Pieces) -> Set[str]:
        """The keys of a section, each in one string."""
        return self.keys.get(section, frozenset())

    def layered(self, section: Pieces) -> bool:
        """Whether the keys of a section are those of a print's layers."""
        return self._layered.get(section, False)

    def without_marks(self, section: Pieces, key: Pieces) -> Pieces:
        """A key without its section's initials and without the letter that nearly all keys of the file begin with."""
        for first in (self._initials.get(section), self.mark):
            if first and section and key[:1] == (first,) and len(key) > 1:
                key = key[1:]
        return key

    def say(self, path: Path, section: Pieces, key: Pieces) -> Pieces:
        """What the keys beside say of a key of one word: `max` for the speed or acceleration of one of several axes
        that stand side by side, or where both stand in one section: such a table is one of limits; `current` for
        `rest` beside `current`."""
        if self._tables and _owner_and_measure(path[1])[0] in self._tables.get(path[0], ()):
            return ("max",)
        beside = self.keys_of(path[0])
        if section and (measure := _in_its_unit(key)):
            return ("max",) if {measure, *map(_in_its_unit, map(_pieces, beside))} >= _LIMITED else ()
        if len(key) != 1 or not section:
            return ()
        if len({"x", "y", "z"} & beside) >= 2:
            if not _COUNTS.isdisjoint(vocabulary().names_in(frozenset(as_words(section)))):
                return ()  # `[stepping] x` is no limit
            return (
                ("max",)
                if not PARTS_OF_A_MACHINE.isdisjoint(vocabulary().names_in(frozenset(ways_of(key[0])[0])))
                else ()
            )
        if ways_of(key[0])[0] in vocabulary().spelled("hold") and "current" in beside:
            return ("current",)
        if not limited(key[0]):
            return ()
        return ("max",) if {limited(each) for each in beside} >= _LIMITED else ()

    def for_several_axes(self, path: Path) -> bool:
        """Whether a key of one word is an axis's letter and a bound, and stands there for another axis as well."""
        (word,) = path[1] if len(path[1]) == 1 else ("",)
        if (
            word[:1] not in ("x", "y", "z")
            or _BOUNDS.isdisjoint(ways_of(word)[0])
            or len(ways_of(word)[0]) != 2
        ):
            return False
        return any(axis + word[1:] in self.keys_of(path[0]) for axis in "xyz" if axis != word[0])


def _initials_of_sections(paths: Iterable[Path]) -> dict[Pieces, str]:
    """By section the letters that nearly all its keys begin with, where its own name begins with them, too: `st_push` below
    `[stamper]` is a push, and no step of one."""
    firsts: dict[Pieces, list[str]] = defaultdict(list)
    for section, key in paths:
        if section:
            firsts[section].append(key[0] if len(key) > 1 else "")
    found = {}
    for section, several in firsts.items():
        first = several[0]
        if (
            are_initials(first, section[-1])
            and len(several) >= FEWEST_OF_A_SECTION
            and several.count(first) >= BEFORE_ALL * len(several)
        ):
            found[section] = first
    return found


def _mark(paths: Iterable[Path]) -> str:
    """The letter that nearly all keys below sections begin with, as a mark of constants; "" for none."""
    keys = [key for section, key in paths if section and key]
    first = keys[0][0] if len(keys) >= FEWEST else ""
    marked = sum(key[0] == first and len(key) > 1 for key in keys)
    return first if len(first) == 1 and first not in "xyze" and marked >= BEFORE_ALL * len(keys) else ""


def _owner_and_measure(key: Pieces) -> tuple[Pieces, str]:
    """A key's words before its last, where that is no more than a speed or an acceleration, and which; `((), "")` for any
    other."""
    words = as_words(key[-2:] if len(key) > 1 else key) if len(key) < WHOLE else ()
    measure = limited(words[-1]) if words else ""
    return ((*key[:-2], *words[:-1]), measure) if measure and len(words) > 1 else ((), "")


def _tables_of_limits(paths: Iterable[Path]) -> dict[Pieces, frozenset[Pieces]]:
    """By section the parts that have a speed and an acceleration each, where two axes and more do: `xspeed`, `xaccel`,
    `yspeed`, `yaccel` are limits."""
    found: dict[Pieces, dict[Pieces, set[str]]] = defaultdict(lambda: defaultdict(set))
    for section, key in paths:
        owner, measure = _owner_and_measure(key)
        if measure:
            found[section][owner].add(measure)
    both = {
        section: frozenset(owner for owner, measures in owners.items() if len(measures) > 1)
        for section, owners in found.items()
    }
    return {section: owners for section, owners in both.items() if len(owners & {("x",), ("y",), ("z",)}) > 1}


def _pieces(key: str) -> Pieces:
    return tuple(key.split())


@lru_cache(maxsize=8192)
def _in_its_unit(key: Pieces) -> str:
    """`speed` or `acceleration` where a key is no more than that and a unit of it, `spd_mm_s`; "" for anything else."""
    measure = limited(key[0]) if len(key) > 1 else ""
    return (
        measure
        if any(tuple(sorted(key[1:])) in unit.words for unit in units().values() if unit.of == measure)
        else ""
    )


@lru_cache(maxsize=8192)
def limited(piece: str) -> str:
    """`speed` or `acceleration` where a key is no more than that, "" for anything else."""
    words = {(piece,), (symbol(piece),), tuple(ways_of(piece)[0])}
    return next((name for name in ("speed", "acceleration") if words & {*vocabulary().spelled(name)}), "")
