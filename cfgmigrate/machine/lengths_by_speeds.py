"""A length that is named by the speed beside it: `pull 5.5` above `pull_spd 45`.

A lone `pull`, `draw` or `back` is a word for many things. But where the same section has that very name with a speed behind
it, and that is read as the speed of a retraction, then the short name is how far: nobody gives a speed to what is no move. It is
so where one of several feeders or profiles leaves out the speed.

This module deliberately looks for the whole name of the speed, less its last words, in the same section, of this feeder or
another, of this profile's file or the one beside it; what is only alike is asked about elsewhere (`own_retractions.py`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from cfgmigrate.dialects.document import Setting, State
from cfgmigrate.files.content import known_words
from cfgmigrate.files.marks import folder_of, words_of
from cfgmigrate.machine.collection import Collection
from cfgmigrate.machine.context import Context
from cfgmigrate.machine.matching import Fit
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.spots import Definitions, Spot
from cfgmigrate.machine.values import readings_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

#: section and key without a name, by file and place
Plain = Mapping[tuple[str, int], tuple[str, str]]
_SPEED, _LENGTH = "retraction.speed", "retraction.length"
#: words behind a speed's name that only say in what it is
_UNITS = frozenset(("mm", "s", "sec", "min", "per", "p", "minute", "second"))


def take_lengths_by_speeds(
    found: Collection, contexts: Mapping[str, Context], defined: Definitions, plain: Plain | None = None
) -> None:
    """Reads the settings that are named as a retraction's speed without the speed, where the section has no length yet. `plain` are
    section and key without a feeder's or a profile's name."""
    plain = plain or {}
    named = {
        (kind, _less_speed(each.reading.setting.key))
        for each in found.readings
        if each.reading.quantity == _SPEED
        for kind in _kinds(each.reading.place.file, each.reading.setting, plain)
    }
    with_speeds = {each.reading.place.file for each in found.readings if each.reading.quantity == _SPEED}
    lengths = {
        (each.reading.place.file, each.reading.setting.section)
        for each in found.readings
        if each.reading.quantity == _LENGTH
    }
    for unread in tuple(found.unread) if named else ():
        setting, file = unread.setting, unread.place.file
        key = tuple(split(setting.key))
        kinds = [kind for kind in _kinds(file, setting, plain) if (kind, key) in named]
        from_elsewhere = all(kind[0] != file for kind in kinds) and file not in with_speeds
        has_one = (file, setting.section) in lengths or (
            from_elsewhere and any(file == other for other, _ in lengths)
        )
        if setting.state is not State.ACTIVE or not kinds or file not in contexts or has_one:
            continue
        spoken = contexts[file].spoken(setting, plain.get((file, setting.at)))
        spot = Spot(contexts[file].document, setting, defined, unit=spoken.unit, qualifier=spoken.qualifier)
        said = readings_of(spot, fit := Fit(_LENGTH))
        if said.readings or said.doubts:
            found.take(said, fit)
            found.unread.remove(unread)


def _kinds(file: str, setting: Setting, plain: Plain) -> Iterator[tuple[str, ...]]:
    """What a setting's section is one of: itself; the sections that are so called in the folder's files; those that say the
    same without a feeder's or a profile's name."""
    yield file, setting.section
    folder = folder_of(file)
    if setting.section and known_words().profiles & {*words_of(folder.rpartition("/")[2])}:
        yield "a profile of", folder, setting.section
    if at := plain.get((file, setting.at)):
        yield "called", "of", at[0].casefold()


def _less_speed(key: str) -> tuple[str, ...]:
    """The words of a speed's name before those that say that it is one; () where there are none of these."""
    words = split(key)
    while words and words[-1] in _UNITS:
        words = words[:-1]
    speed = len(words) > 1 and "speed" in vocabulary().names_in(frozenset(ways_of(words[-1])[0]))
    return tuple(words[:-1]) if speed else ()
