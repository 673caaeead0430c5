"""Feeders told apart by a lone letter at either end of a name: `feed_accel_l` and `feed_accel_r`.

`l` may be a length as well. It is the left one only where several settings of a document have a twin that differs in
nothing but `r`. The letter then stands as a word behind the feed path's word, as in `feed left accel`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from cfgmigrate.machine.holder_words import holder_words
from cfgmigrate.machine.spellings import ways_of

Pieces = tuple[str, ...]
_SIDES = {"l": "left", "r": "right", "lh": "left", "rh": "right"}
#: so many settings have a twin where letters are sides
TWINS = 2


def twins(paths: Iterable[Pieces]) -> bool:
    """Whether several names of a document, in pieces, have a twin on the other side."""
    found: dict[tuple[Pieces, int], dict[str, Pieces]] = defaultdict(dict)
    for pieces in paths:
        for at in {0, len(pieces) - 1}:
            if pieces and pieces[at] in _SIDES:
                found[(*pieces[:at], "", *pieces[at + 1 :]), at][pieces[at]] = pieces
    pairs = [each for each in found.values() if len(each) == 2]
    return len(pairs) >= TWINS


def sided(pieces: Pieces) -> Pieces:
    """A name with its side as a word behind the first word of the feed path; as it is where it has none."""
    counted = holder_words().counted
    end = next((at for at in (len(pieces) - 1, 0) if pieces[at] in _SIDES), None)
    if end is None:
        return pieces
    rest = pieces[:end] + pieces[end + 1 :]
    for at, piece in enumerate(rest):
        if ways_of(piece)[0][-1] in counted:
            return (*rest[: at + 1], _SIDES[pieces[end]], *rest[at + 1 :])
    return pieces
