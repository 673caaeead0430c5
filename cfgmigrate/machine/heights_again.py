"""Lines that say once more how high a print may be, beside the one that is read as the highest z: `PRINT_HEIGHT 250`.

Such a line may be what the printer goes by, or what a slicing profile lets through. Left as it is it would let a print drive
the carriage into what stands above it, whatever the highest z says. So it is one that was not read, whose name speaks of
a height or a top and of no other part, and whose number is that of the highest z.

Nothing is read by this: a line is asked about. A height that differs is a place's, of which `plan/places_out_of_reach.py` tells.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from cfgmigrate.dialects.document import State
from cfgmigrate.machine.model import Machine, Reading, Unread
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

_SPEAKS = frozenset(("height", "tall", "tallest", "high", "highest", "top", "ceiling", "roof"))
#: what may stand beside it in the name: the height of anything else is no end of travel
_OF_THE_PRINT = frozenset(("bed", "carriage", "profile", "z"))
#: mm by which the same height may be written otherwise
_THE_SAME = 0.05


def speaks_of_print_height(unread: Unread) -> bool:
    """Whether a line that may be in force speaks by its name of a height or a top, and of no part that has one of its own."""
    setting = unread.setting
    pieces = (*split(setting.section), *split(setting.key))
    words = frozenset((*pieces, *(way for piece in pieces for way in ways_of(piece)[0])))
    others = vocabulary().names_in(words) & vocabulary().things - _OF_THE_PRINT
    return setting.state is not State.INACTIVE and not _SPEAKS.isdisjoint(words) and not others


def highest_z_with(heights: Iterable[float], machine: Machine) -> Reading | None:
    """The line that is read as the highest z and has one of these numbers, in mm."""
    known: Sequence[Reading] = [each for each in machine.every_reading if each.quantity == "axis.z.max"]
    return next(
        (
            each
            for each in known
            for height in heights
            if each.value is not None and abs(each.value - height) < _THE_SAME
        ),
        None,
    )
