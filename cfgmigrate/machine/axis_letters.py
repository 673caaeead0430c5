"""Which letters of word-address lines are a feeder's by a file's remarks, and which another device's.

`U the wire feed` makes `U` what `E` is elsewhere. Several letters are several feeders where each has its number, `U is drive
0, V is drive 1`. A letter that is only something of a feeder, such as its speed, is none.
"""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct, field

from cfgmigrate.machine.legends import letters_told, one_told, part_of
from cfgmigrate.machine.remark_parts import LETTERS_OF_AXES
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import Counted, names_of, split


class AxisLetters(Struct, frozen=True):
    """`means` gives for a letter `E` where it is a feeder's, and "" where it is another device's; `numbers` tells the
    feeders apart where there are several."""

    means: Mapping[str, str] = field(default_factory=dict)
    numbers: Mapping[str, Counted] = field(default_factory=dict)


def axis_letters(opening: str, listed: Mapping[str, str]) -> AxisLetters:
    """What letters are by a file's remarks. `listed` are those that a remark explains one by one, with their words."""
    told = letters_told(opening) or one_told(opening)
    parts = {letter.upper(): part for letter, (part, _) in told.items()}
    if not parts and LETTERS_OF_AXES.intersection(listed):
        parts = {letter: part for letter, words in listed.items() if (part := part_of(words))}
    feeders = {letter for letter, part in parts.items() if part == "feeder"}
    devices = {letter for letter, part in parts.items() if part == "device" and letter not in LETTERS_OF_AXES}
    if len(feeders) == 1:
        return AxisLetters({**dict.fromkeys(feeders, "E"), **dict.fromkeys(devices, "")})
    named = {
        letter: counted
        for letter, words in listed.items()
        if letter not in "XYZ" and (counted := _numbered_feeder(words))
    }
    apart = {counted.number for counted in named.values()}
    if len(named) > 1 and len(apart) == len(named):
        return AxisLetters(dict.fromkeys(named, "E"), named)
    return AxisLetters()


def _numbered_feeder(words: str) -> Counted | None:
    """The number of a feeder that words name, and nothing else beside; None where they don't."""
    name = names_of((), tuple(split(words)))[0]
    spelled = (*vocabulary().spelled("feeder"), *vocabulary().spelled("drive"))
    own = {word for spelling in spelled for word in spelling}
    rest = [word for word in name.key if word not in vocabulary().fillers]
    return name.counted if rest and own.issuperset(rest) else None
