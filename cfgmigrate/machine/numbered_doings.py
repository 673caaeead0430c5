"""A doing of a feeder that is numbered, `[load 1] length`, where a machine has several feeders.

The number may count the feeders, as it does behind a feeder's own word, or the parts of one load: first fast, then slow. By the one
it is a single feeder's, by the other it serves all. So it is asked, unless the site file says by `known_as` whose it is.

This module deliberately does not tell one from the other by the values: two parts of a load may be alike.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from msgspec.structs import replace

from cfgmigrate.files.told_feeders import Feeder
from cfgmigrate.ground.findings import Doubt, Likeness
from cfgmigrate.machine.collection import Collected
from cfgmigrate.machine.model import MACHINE, Reading, feeder
from cfgmigrate.machine.quantities import of_feeder
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

#: what is done with a feeder's filament, in parts or for each feeder
_DOINGS = frozenset(("load", "unload"))
NO_FEEDER_SAID = "whether its number counts the feeders or the parts of a load is not said"


def is_doing(word: str) -> bool:
    """Whether a word is one for what a feeder does, and so counts no feeders by itself."""
    return not _DOINGS.isdisjoint(vocabulary().names_in(frozenset((word,))))


def numbered_doing(reading: Reading) -> str:
    """The level of a reading's section that is a doing and a number and nothing else, `load 1`; "" where there is none."""
    for level in reading.setting.section.split("."):
        words = split(level)
        if len(words) == 2 and words[1].isdigit() and len(words[1]) <= 2 and is_doing(words[0]):
            return " ".join(words)
    return ""


def told_doings(told: Sequence[Feeder]) -> Mapping[str, int]:
    """The feeder of each doing by which the site file says that one is known."""
    known = [(split(text), each.number) for each in told for text in each.known_as]
    return {" ".join(words): number for words, number in known if len(words) == 2 and is_doing(words[0])}


def given(each: Collected, doings: Mapping[str, int]) -> Collected:
    """A reading as that feeder's whom the site file gives the doing it stands below; as it is where nothing is said."""
    reading = each.reading
    number = doings.get(numbered_doing(reading)) if doings and each.counted is None else None
    if number is None or reading.holder != MACHINE or not of_feeder(reading.quantity):
        return each
    return replace(each, reading=replace(reading, holder=feeder(number)), settled=True)


def whose_is_each(readings: Iterable[Reading], feeders: tuple[int, ...]) -> Iterator[Doubt]:
    """A question for each numbered doing, at the first line below it."""
    asked: set[str] = set()
    for reading in readings:
        said = numbered_doing(reading)
        if said not in asked:
            asked.add(said)
            why = f"here are {len(feeders)} feeders, and {NO_FEEDER_SAID}"
            remedy = (
                f"if `{said}` is one feeder's, say in cfgmigrate.yaml whose: `feeders: {{1: {{known_as: [{said}]}}}}`, with that one's "
                "number; if it is for all of them, change it by hand"
            )
            yield Doubt(
                reading.place,
                reading.setting.name,
                why,
                remedy,
                about=reading.quantity,
                like=Likeness("numbered doing", each_its_answer=True),
            )
