"""Retractions beside the one that is read, told apart by a word of the user's: `length pla = 5.6` beside `length = 5`.

Which filament or occasion such a word means the files don't say, so none of them is read. But each is a question: left old in
silence, it would be fed on a way ten times shorter. Values by material, `retraction length: {pla: 5.6, petg: 6.4}`, are the same.

This module deliberately asks of retractions alone: no other value of the filament's way is given by filament so often and
harms so much (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator

from cfgmigrate.dialects.document import State
from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.collection import Collection
from cfgmigrate.machine.model import Unread
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import read_name

_LENGTH = "retraction.length"
#: of a retraction that is read, a further one is so many times as long at most, and at least so many times shorter
_TIMES = 3.0
#: the words that a name may have beside: whose it is, and what its number is
_ITS_OWN = (
    "retraction",
    "pull",
    "length",
    "mm",
    "feeder",
    "feed",
    "drive",
    "filament",
    "profile",
    "position",
)


def retractions_beside(found: Collection) -> Iterator[Doubt]:
    """A doubt for each setting that was not understood, whose name says a retraction's length and words that nobody knows,
    and whose number is near one that is read."""
    read = [each.reading.value for each in found.readings if each.reading.quantity == _LENGTH]
    values = [value for value in read if value]
    if not values:
        return
    asked = {(doubt.place.file, doubt.place.line) for doubt in found.doubts}
    for each in found.unread:
        number = read_value(each.setting.value)
        if (each.place.file, each.place.line) in asked or not isinstance(number, Number):
            continue
        near = any(value / _TIMES <= number.value <= value * _TIMES for value in values)
        if near and number.unit in ("", "mm") and each.setting.state is State.ACTIVE and _says_it(each):
            why = f"this may be {quantity(_LENGTH).label} too, but not every word of its name is understood; it stays as it is"
            remedy = f"change it by hand, or say so in cfgmigrate.yaml, under meanings: {name_line(each.setting, _LENGTH)}"
            yield Doubt(each.place, each.text, why, remedy, about=_LENGTH)


def _says_it(unread: Unread) -> bool:
    """Whether a name says a retraction's length, and beside that nothing but words that nobody knows."""
    made, words = vocabulary(), read_name(unread.setting.section, unread.setting.key).words
    strange = [word for word in words if word not in made.known and not word.isdigit()]
    own = {word for name in _ITS_OWN for spelling in made.spelled(name) for word in spelling}
    said = made.names_in(frozenset(words))
    explained = own | made.fillers | {*strange}
    return (
        bool(strange)
        and {"retraction", "length"} <= said
        and all(w in explained or w.isdigit() for w in words)
    )
