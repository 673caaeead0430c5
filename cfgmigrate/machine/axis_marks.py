"""Axes that a file marks with a letter before their own: `DX_STEPS`, `DY_STEPS`, `DZ_STEPS`, `DE_STEPS` are of the drivers of
x, y, z and the feeder.

The letter is no word of any of them where the names behind it are the same for three axes, several times over. A letter that
is the symbol of a measure (`VX_MAX` is a speed) is never one: what it says would be lost. At the end of a name (`PROBE_DX`)
it is none either.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

#: letters that say a measure before an axis's (ISO 80000-3 and -6), or are an axis's themselves
_MEASURES = frozenset("valtihrxyze")
_AXES = "xyz"
#: so many names behind it have to be the same for all three axes, and so many for the feeder
_SHARED, _SHARED_WITH_FEEDER = 3, 2
_Pieces = tuple[str, ...]


def axis_marks(paths: Iterable[_Pieces]) -> dict[str, str]:
    """First pieces of paths that stand for an axis, each with its letter; {} where a file has none."""
    behind: dict[str, set[_Pieces]] = defaultdict(set)
    for path in paths:
        if len(path) > 1 and len(path[0]) == 2:
            behind[path[0]].add(path[1:])
    found: dict[str, str] = {}
    for mark in sorted({piece[0] for piece in behind} - _MEASURES):
        axes = [behind.get(mark + letter, set()) for letter in _AXES]
        shared = set.intersection(*axes)
        if mark.isalpha() and len(shared) >= _SHARED:
            found |= {mark + letter: letter for letter in _AXES}
            if len(behind.get(mark + "e", set()) & axes[0]) >= _SHARED_WITH_FEEDER:
                found[mark + "e"] = "e"
    return found
