"""Retractions beside the one that is read, each a question.

They are told apart by a word of the user's, `length pla = 5.6` beside `length = 5`, or stand in words of their own: `house
retract = 4.9` beside those that the profiles say. One whose words say nothing at all, `snatch = 4.6`, may be one too where it
stands among the drive's own values and its number is that of a retraction. Values by material, `retraction length: {pla: 5.6,
petg: 6.4}`, are the same.

Which filament or occasion such a word means the files don't say, so none of them is read. But left old in silence, it would be
fed on a way ten times shorter.

This module deliberately asks of retractions alone: no other value of the filament's way is given by filament so often and
harms so much (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Collection as Words
from collections.abc import Iterator, Mapping

from cfgmigrate.dialects.document import State
from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.collection import Collection
from cfgmigrate.machine.context import Context
from cfgmigrate.machine.homing_moves import is_of_homing
from cfgmigrate.machine.key_units import key_dimension
from cfgmigrate.machine.model import Unread
from cfgmigrate.machine.near_lengths import LEAST_TOLD_PULL, NEAR
from cfgmigrate.machine.occasions import speaks_of_occasion
from cfgmigrate.machine.offered import offered
from cfgmigrate.machine.quantities import of_feeder, quantity
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.stated import stated
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import read_name, split

_LENGTH = "retraction.length"
#: of a retraction that is read, a further one is so many times as long at most, and at least so many times shorter
_TIMES = 3.0
#: the senses that a word of such a name may have beside: whose it is, what its number is, which way it goes, and on what occasion
_SENSES = frozenset(
    ("retraction", "pull", "length", "mm", "feeder", "feed", "drive", "filament", "profile", "position", "reverse", "back", "backing",
     "rear", "single", "far", "run", "per", "trip", "travel", "melt", "nozzle", "tube", "flow")
)  # fmt: skip
#: and those of several words that make it another thing: `pull up`
_ANOTHER = frozenset(("pin", "load", "unload", "speed", "lift", "wipe", "coasting"))
#: words of a number that is no length, beside those for which nothing is ever offered
_NO_LENGTH = frozenset(("s", "ms", "sec", "secs", "second", "seconds", "mode", "kind", "type", "version"))


def retractions_beside(found: Collection, contexts: Mapping[str, Context]) -> Iterator[Doubt]:
    """A doubt for each setting that was not understood, whose name speaks of a retraction and of no other measure, and whose
    number is near one that is read."""
    read = [each.reading.value for each in found.readings if each.reading.quantity == _LENGTH]
    values = [value for value in read if value]
    if not values:
        return
    asked = {(doubt.place.file, doubt.place.line) for doubt in found.doubts}
    of_drive = {
        (each.reading.place.file, each.reading.setting.section)
        for each in found.readings
        if of_feeder(each.reading.quantity)
    }
    for each in found.unread:
        number = read_value(each.setting.value)
        if (each.place.file, each.place.line) in asked or not isinstance(number, Number):
            continue
        if number.unit not in ("", "mm") or each.setting.state is not State.ACTIVE:
            continue
        beside = (each.place.file, each.setting.section) in of_drive
        if not _is_near(number.value, values, _says_it(each, beside)):
            continue
        context = contexts.get(each.place.file)
        unit = stated(context.remarks.behind(each.setting)).unit if context is not None else None
        if unit is None or unit.of == "length":
            why = f"this may be {quantity(_LENGTH).label} too, but not every word of its name is understood; it stays as it is"
            remedy = f"change it by hand, or say so in cfgmigrate.yaml, under meanings: {name_line(each.setting, _LENGTH)}"
            yield Doubt(each.place, each.text, why, remedy, about=_LENGTH)


def _is_near(number: float, values: Words[float], said: str) -> bool:
    """Whether a number is near a retraction: the nearer the less its name says."""
    if said == "retraction":
        return any(value / _TIMES <= number <= value * _TIMES for value in values)
    long = [value for value in values if value >= LEAST_TOLD_PULL]
    if said == "nothing":
        return number in long
    return said == "pull" and any(abs(number - value) <= NEAR * value for value in long)


def _says_it(unread: Unread, beside: bool) -> str:
    """What a name says of a retraction, in a word for it or one that may be another thing's pull, where nothing in it says
    another measure; "nothing" where the drive's own values stand beside it and it says nothing at all; "" for another thing. A section of the drive's
    own values may have any words."""
    key, section = (
        read_name(*name).words for name in (("", unread.setting.key), (unread.setting.section, ""))
    )
    said, over = (vocabulary().names_in(frozenset(words)) for words in (key, section))
    other = said & _ANOTHER or key_dimension(tuple(split(unread.setting.key))) not in ((), ("length",))
    if other or speaks_of_occasion(unread) or is_of_homing(unread.setting) or not all(map(_possible, key)):
        return ""
    if not beside and not all(map(_possible, section)):
        return ""
    if "retraction" in said or ("retraction" in over and "length" in said | over):
        return "retraction"
    return "pull" if "pull" in said else "nothing" if beside and unread.setting.section else ""


def _possible(word: str) -> bool:
    """Whether a word means nothing by itself, or has a sense that a retraction's length may have."""
    if word in offered().elsewhere or word in _NO_LENGTH:
        return False
    senses = vocabulary().names_in(frozenset((word,))) & vocabulary().spellings.keys()
    return not senses or not _SENSES.isdisjoint(senses)
