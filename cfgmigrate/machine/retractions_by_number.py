"""Lines of a filament that may be its own retraction by their number alone: `[PLA plain] ruckle = 5.8` where the machine's is 6.

Their words are nobody's here, in another language perhaps, and a section that is called by a material is often all that shows
that it is a filament's. Whoever prints with that filament prints with its line, whatever the machine's becomes. So such a line near the
retraction that is read is a question, and the light stays unknown until it is answered; and so are the lines of the same
name at other filaments, which are its own as well, however far off their numbers.

This module deliberately asks only where every word of the name is strange. What a word of the trade says is read or asked
elsewhere. It takes no value.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence, Set

from cfgmigrate.dialects.document import Setting, State
from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.commas import as_one
from cfgmigrate.machine.holder_words import holder_words
from cfgmigrate.machine.key_units import key_dimension
from cfgmigrate.machine.model import Reading, Unread
from cfgmigrate.machine.near_lengths import LEAST_TOLD_PULL, NEAR
from cfgmigrate.machine.offered import offered
from cfgmigrate.machine.own_retractions import NOT_HOW_FAR, SHORTEST_WORD
from cfgmigrate.machine.profiles import Profiles
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

_LENGTH = "retraction.length"
#: mm; what a filament's retraction may be at all, where another filament's of the same name is near the machine's
_AT_ALL = (0.1, 30.0)


def retractions_by_number(
    unread: Iterable[Unread], readings: Iterable[Reading], doubts: Iterable[Doubt], profiles: Profiles
) -> Iterator[Doubt]:
    """A question for each such line, of filaments and profiles where nothing is read as the retraction."""
    read = [each for each in readings if each.quantity == _LENGTH]
    long = [each.value for each in read if each.value and each.value >= LEAST_TOLD_PULL]
    if not long:
        return
    own = {(each.place.file, each.setting.section) for each in read}
    asked = {(each.place.file, each.place.line) for each in doubts}
    told = {(each.place.file, each.place.line) for each in doubts if each.about == _LENGTH}
    lines = [
        (each, number)
        for each in unread
        if each.setting.state is State.ACTIVE
        and (each.place.file, each.setting.section) not in own
        and _is_of_a_filament(each, profiles)
        and _is_strange(each.setting)
        and (number := _number(each)) is not None
    ]
    close = {
        _called(each.setting)
        for each, number in lines
        if (each.place.file, each.place.line) in told or _is_near(number, long)
    }
    for each, number in lines:
        may_be = _called(each.setting) in close and _AT_ALL[0] <= number <= _AT_ALL[1]
        if may_be and (each.place.file, each.place.line) not in asked:
            why = f"this may be {quantity(_LENGTH).label} of this filament's own, and then it wins over the machine's; it stays as it is"
            remedy = f"change it by hand, or say so in cfgmigrate.yaml, under meanings: {name_line(each.setting, _LENGTH)}; if it is none: ignore"
            yield Doubt(each.place, each.text, why, remedy, about=_LENGTH)


def _is_near(number: float, lengths: Sequence[float]) -> bool:
    return any(abs(number - each) <= NEAR * each for each in lengths)


def _is_of_a_filament(unread: Unread, profiles: Profiles) -> bool:
    """Whether a line stands in a profile, or its name has a material."""
    in_profile = (unread.place.file, unread.setting.at) in profiles.of
    return in_profile or not _materials().isdisjoint(split(unread.setting.name))


def _called(setting: Setting) -> tuple[str, ...]:
    """The words of a line's name that are no filament's: its key's, or its section's where the key is a material alone."""
    key = tuple(each for each in split(setting.key) if each not in _materials())
    return key or tuple(each for each in split(setting.section) if each not in _materials())


def _is_strange(setting: Setting) -> bool:
    """Whether nobody knows a word of a line's name, nor a unit in it that is no length's."""
    words = _called(setting)
    if key_dimension(tuple(split(setting.key))) not in ((), ("length",)):
        return False
    return (
        bool(words)
        and NOT_HOW_FAR.isdisjoint(words)
        and all(
            len(each) >= SHORTEST_WORD and each not in vocabulary().known and each not in offered().elsewhere
            for each in words
        )
    )


def _number(unread: Unread) -> float | None:
    value = read_value(unread.setting.value)
    number = value if isinstance(value, Number) else as_one(value, unread.setting.value)
    return number.value if number is not None and number.unit in ("", "mm") else None


def _materials() -> Set[str]:
    return holder_words().materials.keys()
