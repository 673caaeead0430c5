"""What stands before all keys of a file and is no word of any of them.

A word that stands before all keys, or before the axes and the feeder together, says nothing of any one of them: a
board's name, a wrapper object. What it wraps must be several things, or it is a device whose settings are its own.

This module looks at words and places only; nothing is recognised here.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from functools import lru_cache

from cfgmigrate.dialects.document import Document, State
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

#: what stands before so large a part of all keys of a file, of so many, is no word of any
BEFORE_ALL, FEWEST = 0.9, 5
#: a wrapper of several axes holds at least this part of the file
WRAPS = 0.4
PARTS_OF_A_MACHINE = frozenset(
    {"feeder", "feed", "x", "y", "z", "retraction", "lag", "filament", "nozzle", "bed", "hotend"}
)
_Pieces = tuple[str, ...]


def standing_before(document: Document, taught: Mapping[_Pieces, _Pieces]) -> frozenset[_Pieces]:
    """The beginnings of paths that are no word of any setting of a document; without what is
    `taught`, which says something."""
    if document.dialect == "command":
        return frozenset()
    paths = list(
        dict.fromkeys(
            (*split(setting.section), *split(setting.key))
            for setting in document.settings
            if setting.state is not State.INACTIVE
        )
    )
    found: set[_Pieces] = set()
    _wrappers(paths, (), len(paths), found)
    return frozenset(each for each in found if not any((piece,) in taught for piece in each))


def _wrappers(paths: list[_Pieces], prefix: _Pieces, total: int, found: set[_Pieces]) -> None:
    depth = len(prefix)
    groups: dict[str, list[_Pieces]] = defaultdict(list)
    for path in paths:
        if len(path) > depth + 1:
            groups[path[depth]].append(path)
    for piece, inside in groups.items():
        if _says_something(piece):
            continue
        before_all = len(inside) >= max(BEFORE_ALL * total, FEWEST) and _several_things(inside, depth + 1)
        if before_all or (len(inside) >= WRAPS * total and _wraps_axes(inside, paths, depth + 1)):
            found.add((*prefix, piece))
            _wrappers(inside, (*prefix, piece), total, found)


@lru_cache(maxsize=4096)
def _says_something(piece: str) -> bool:
    """Whether a piece is a word that would say what a setting is."""
    if piece in "xyzet" or len(piece) == 1 or piece.isdigit():
        return piece in "xyzet"
    made = vocabulary()
    return piece in made.known - made.fillers or measures(piece)


def measures(piece: str) -> bool:
    """Whether a piece is the plural, the shorthand or the short form of a word that says what a number is: `steps` before `x`, `y` and `e`."""
    return not _measures().isdisjoint(vocabulary().names_in(frozenset(ways_of(piece)[0])))


@lru_cache(maxsize=1)
def _measures() -> frozenset[str]:
    return frozenset({"step", "microstep", "speed", "acceleration", "current", "direction", "reverse", "maximum", "minimum", "hold"})  # fmt: skip


def _several_things(inside: list[_Pieces], depth: int) -> bool:
    """Whether the paths of a group speak of several parts of a machine, as those of one device don't."""
    words = frozenset(word for path in inside for piece in path[depth:] for word in ways_of(piece)[0])
    return len(vocabulary().names_in(words) & PARTS_OF_A_MACHINE) >= 2


def _wraps_axes(inside: list[_Pieces], paths: list[_Pieces], depth: int) -> bool:
    """Whether two axes and more stand in a group of paths, and none beside it."""
    letters = {piece for path in inside for piece in path[depth:] if piece in ("x", "y", "z")}
    if len(letters) < 2:
        return False
    within = set(inside)
    return not any(letters.intersection(path) for path in paths if path not in within)
