"""How far a probe sits to a side, by the name of a line: `FEELER_LEFT_BY 28`. It is no length of filament, though a feeler may be one's.

To the left and to the front an offset is below zero, and such a number is above it: written by the offset's meaning it would go the
wrong way with the nozzle. There is no meaning with its sign, so it is left to hands; to the right and behind it is the offset itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from cfgmigrate.machine.behind_sensor import LEFT_BEHIND
from cfgmigrate.machine.model import Unread
from cfgmigrate.machine.words import split

#: how far a probe sits to a side: the offset that it is, and whether that one's sign is the other (x to the right, y to the back)
_SIDES = {
    "left": ("probe.offset_x", True), "right": ("probe.offset_x", False),
    "behind": ("probe.offset_y", False), "front": ("probe.offset_y", True),
}  # fmt: skip
#: a feeler that is the filament's is no probe of the bed
_OF_FILAMENT = frozenset(("filament", "runout", "run", "strand", "roll", "reel", "spool", "wire"))
_BY_SO_MUCH = frozenset(("by", "of"))


def side_of_a_probe(unread: Unread, says: str, candidates: Sequence[str]) -> tuple[str, bool] | None:
    """What `FEELER_LEFT_BY` is in place of what is left behind the filament's sensor, or of an offset with its sign."""
    offered = {says, *candidates}
    if offered.isdisjoint((LEFT_BEHIND, "probe.offset_x", "probe.offset_y")):
        return None
    words = split(unread.setting.key)
    if not _OF_FILAMENT.isdisjoint(words):
        return None
    return next(
        (_SIDES[one] for one, other in pairwise(words) if one in _SIDES and other in _BY_SO_MUCH), None
    )
