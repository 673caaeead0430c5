"""Lines that say an end of the travel in x or y once more, by its side: `reach left: -2` beside the lowest x of -2.

What sends the head about, and keeps limits of its own, goes on sending it there when the machine's own end has moved. So it is a line
that was not read, whose name says a side and speaks of how far something reaches, of no other part, and whose number is that end's.

Nothing is read by this: a line is asked about. A side alone is none, since margins, places and pictures have sides too.
"""

from __future__ import annotations

from collections.abc import Iterable

from cfgmigrate.dialects.document import State
from cfgmigrate.machine.model import Machine, Reading, Unread
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

#: which end a side is, right and behind being where x and y grow (ISO/ASTM 52921)
_SIDES = {
    "left": "axis.x.min",
    "right": "axis.x.max",
    "front": "axis.y.min",
    "rear": "axis.y.max",
    "back": "axis.y.max",
}
_REACHES = frozenset(("limit", "bound", "outmost", "reach"))
_OF_THE_HEAD = frozenset(("bed", "carriage", "profile"))
#: mm by which the same end may be written otherwise
_AS_MUCH = 0.05


def end_by_side(unread: Unread) -> str:
    """The end of travel of which a line that may be in force speaks by its side; "" for none, for several, and for that of another
    part."""
    setting = unread.setting
    name = f"{setting.section} {setting.key}".lower()
    if not any(side in name for side in _SIDES):
        return ""  # most names of a file end here
    pieces = (*split(setting.section), *split(setting.key))
    words = frozenset((*pieces, *(way for piece in pieces for way in ways_of(piece)[0])))
    senses = vocabulary().names_in(words)
    ends = {end for side, end in _SIDES.items() if side in words}
    others = senses & vocabulary().things - _OF_THE_HEAD
    speaks = setting.state is not State.INACTIVE and not _REACHES.isdisjoint(senses) and not others
    return ends.pop() if speaks and len(ends) == 1 else ""


def end_with(numbers: Iterable[float], end: str, machine: Machine) -> Reading | None:
    """The line that is read as this end and has one of these numbers, in mm."""
    wanted = tuple(numbers)
    return next(
        (
            each
            for each in machine.every_reading
            if each.quantity == end and each.value is not None
            if any(abs(each.value - number) < _AS_MUCH for number in wanted)
        ),
        None,
    )
