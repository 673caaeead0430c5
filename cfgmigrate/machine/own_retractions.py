"""Lines of a filament's or print's profile that may be its own retraction, in words too short or too strange to read it by.

Whoever prints with that profile prints with its own value, whatever the machine's is. So of a profile in which such a line
stands nobody may say that it has none: the line is a question, and the light stays unknown until it is answered.

What stands around a line says more than the line: `far = 5.0` is a retraction's length below `[yank]`, and `slurp = 48` is one below
`[slurp]` beside a speed and a hop, whatever it counts in. Where a profile has such a line, none is asked about that has only a
number and no known word.

This module deliberately asks of retractions alone, and only in profiles in which none is read: what is left old there is
pulled up to the gears. It takes no value.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from cfgmigrate.dialects.document import State
from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.commas import as_one
from cfgmigrate.machine.key_units import key_dimension
from cfgmigrate.machine.model import Reading, Unread
from cfgmigrate.machine.profiles import FoundProfile, Profiles
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

_LENGTH = "retraction.length"
#: names of the trade for it that are a name only together with a measure, besides the whole ones
_SHORT = frozenset(("pull", "pulled", "draw", "drawn", "suck", "sucked", "retr", "ret", "back", "withdraw"))
#: words for drawing that are a retraction's only by what they stand in, and say nothing where nobody knows them either
_DRAWING = frozenset(("snatch", "yank", "tow", "haul", "drag", "whip", "take", "reverse"))
#: words that say another thing of it than how far
NOT_HOW_FAR = frozenset(
    (
        "wipe",
        "lift",
        "hop",
        "prime",
        "extra",
        "again",
        "min",
        "max",
        "shortest",
        "longest",
        "up",
        "down",
        "second",
        "seconds",
        "times",
        "steps",
    )
)
#: what else is set where a retraction is, one kind of words each; so many kinds make a section one of it
_BESIDE_IT = (
    frozenset(("speed",)),
    frozenset(("lift", "hopping")),
    frozenset(("wiping",)),
    frozenset(("extra", "again", "prime", "more")),
)
_FEWEST_BESIDE = 2
#: what it may be there in any unit of length
_IN_SECTION = (0.05, 30000.0)
#: mm; what a retraction through a tube may be where no word speaks for it, and with one (common practice, no source)
_USUAL, _AT_ALL = (3.0, 15.0), (0.1, 30.0)

#: letters; what is shorter may be a count of anything
SHORTEST_WORD = 3


def own_retractions(
    unread: Iterable[Unread], readings: Iterable[Reading], doubts: Iterable[Doubt], profiles: Profiles
) -> Iterator[Doubt]:
    """A question for each such line, in profiles where nothing is read or asked as the retraction."""
    whose = profiles.of
    own = {
        id(whose[key])
        for each in readings
        if each.quantity == _LENGTH and (key := (each.place.file, each.setting.at)) in whose
    }
    asked = {(each.place.file, each.place.line) for each in doubts if each.about == _LENGTH}
    unread, beside = tuple(unread), _beside((*unread, *readings)) if whose else {}
    by_section = {
        id(whose[key])
        for each in unread
        if (key := (each.place.file, each.setting.at)) in whose and _by_its_section(each, beside)
    }
    for each in unread:
        profile: FoundProfile | None = whose.get((each.place.file, each.setting.at))
        if profile is None or id(profile) in own or (each.place.file, each.place.line) in asked:
            continue
        strange = profile.holder.kind == "filament" and id(profile) not in by_section
        if each.setting.state is State.ACTIVE and (
            _by_its_section(each, beside) or _may_be_it(each, strange)
        ):
            why = f"this may be {quantity(_LENGTH).label} of {profile.holder}'s own, and then it wins over the machine's; it stays as it is"
            remedy = f"change it by hand, or say so in cfgmigrate.yaml, under meanings: {name_line(each.setting, _LENGTH)}; if it is none: ignore"
            yield Doubt(each.place, each.text, why, remedy, about=_LENGTH)


def _beside(lines: Iterable[Unread | Reading]) -> Mapping[tuple[str, str], set[int]]:
    """For each section of each file which kinds of what stands beside a retraction are set there."""
    found: dict[tuple[str, str], set[int]] = {}
    for each in lines:
        words = frozenset(split(each.setting.key))
        said = vocabulary().names_in(words) | words
        kinds = {at for at, kind in enumerate(_BESIDE_IT) if not kind.isdisjoint(said)}
        found.setdefault((each.place.file, each.setting.section), set()).update(kinds)
    return found


def _by_its_section(unread: Unread, beside: Mapping[tuple[str, str], set[int]]) -> bool:
    """Whether a line is a section's one length, and the section a retraction's by its name or by what else it sets."""
    section, key = split(unread.setting.section), split(unread.setting.key)
    number = _number(unread)
    if not section or not key or number is None or (unread.setting.state is not State.ACTIVE):
        return False
    if not NOT_HOW_FAR.isdisjoint(key) or not _IN_SECTION[0] <= number.value <= _IN_SECTION[1]:
        return False
    drawn = all(each in _DRAWING | _SHORT for each in section)
    of_length = all(each == "how" or "length" in vocabulary().names_in(frozenset((each,))) for each in key)
    if drawn and of_length:
        return True
    strange = all(each in _DRAWING | _SHORT or each not in vocabulary().known for each in section)
    kinds = beside.get((unread.place.file, unread.setting.section), ())
    return strange and (of_length or {*key} <= {*section}) and len(kinds) >= _FEWEST_BESIDE


def _number(unread: Unread) -> Number | None:
    """The one number of a line, if it has no unit but mm."""
    value = read_value(unread.setting.value)
    number = value if isinstance(value, Number) else as_one(value, unread.setting.value)
    return number if number is not None and number.unit in ("", "mm") else None


def _may_be_it(unread: Unread, of_filament: bool) -> bool:
    """Whether a line's words speak of a retraction; of a filament's, also whether no word of it is known and its number is such."""
    number = _number(unread)
    if number is None:
        return False
    words = split(unread.setting.key)
    if (key_dimension(tuple(words)) or ("length",)) != ("length",) or not NOT_HOW_FAR.isdisjoint(words):
        return False
    if not _SHORT.isdisjoint(words) or "retraction" in vocabulary().names_in(frozenset(words)):
        return _AT_ALL[0] <= number.value <= _AT_ALL[1]
    pieces = (*words, *split(unread.setting.section))
    strange = all(
        len(each) >= SHORTEST_WORD and (each in _DRAWING or each not in vocabulary().known) for each in pieces
    )
    return of_filament and strange and _USUAL[0] <= number.value <= _USUAL[1]
