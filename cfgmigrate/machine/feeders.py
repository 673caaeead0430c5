"""Which feeder a value is of, where a machine has several.

A name speaks of a feeder by a number behind one of the feed path's words (`[retraction 2]`, `T1_LAG`), by its side,
or by its place in a list. Where counting begins is found for each family of numbers apart: those of the files'
own words, those of tools, and those of profiles. It is 0 where there is a 0, and 1 where there is a 2 and no 0. Where
there is only a 1, a setting beside it without a number is the first feeder's, and the 1 is the second; so is a tool's
1 beside a value of two feeders (`E94.1:93.4`), since that has the first's already. Where there is none, either may be, and that
is a question.

A number behind a feeder's motor, `filament motor 2`, tells the feeder where there are several, from the first on.

What has no number, beside a sibling of the same word that has one (`[feeder]`, `[feeder 2]`), is the first
feeder's; without such a sibling it belongs to no feeder.

This module deliberately does not look at profiles or at values.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from types import MappingProxyType

from msgspec import Struct, field

from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.machine.collect import Collected
from cfgmigrate.machine.holder_words import holder_words
from cfgmigrate.machine.model import MACHINE, Holder, Reading, feeder
from cfgmigrate.machine.numbered_doings import is_doing
from cfgmigrate.machine.quantities import MOST_FEEDERS, of_feeder
from cfgmigrate.machine.told_plugs import ToldPlugs
from cfgmigrate.machine.words import Counted, read_name

OWN_NUMBER, TOOL, PROFILE = "own", "tool", "profile"


class Counting(Struct):
    """How one machine's files count feeders: where each family begins, and which words have which numbers."""

    bases: dict[str, int] = field(default_factory=dict)
    #: families whose numbers may be meant in two ways
    unclear: set[str] = field(default_factory=set)
    #: families that one file counts from 0 and another one from 1: both files
    apart: dict[str, tuple[str, str]] = field(default_factory=dict)
    #: by word and whether it stands in the key: the feeders that are numbered so
    siblings: dict[tuple[str, bool], set[int]] = field(default_factory=dict)
    #: whether motors are counted as the feeders are
    by_motors: bool = False
    #: the plugs of which it is told whose they are
    plugs: ToldPlugs = field(default_factory=ToldPlugs)

    def feeder_of(self, each: Collected) -> int | None:
        """The feeder, from 1 on, that a reading is of; None for none."""
        reading = each.reading
        if not of_feeder(reading.quantity):
            return None
        if reading.holder != MACHINE:
            return int(reading.holder.name)
        if each.counted and not each.settled and self.counts(each.counted):
            return self.feeder(each.counted)
        return 1 if self._beside_a_number(reading) else None

    def counts(self, counted: Counted) -> bool:
        """Whether a number tells the feeder: of one `filament motor 4` alone it is the motor's place on the board."""
        return self.by_motors or not counted.carried

    def feeder(self, counted: Counted) -> int:
        """The feeder, from 1 on, that a number or a side means."""
        if counted.side:
            return counted.number
        told = self.plugs.feeder(counted)
        return self._by_number(counted) if told is None else told

    def _by_number(self, counted: Counted) -> int:
        """The feeder of a number that is told nowhere: as numbers are counted, but none that another plug is told to be of."""
        number = max(counted.number - self.bases[family(counted)], 0) + 1
        if not self.plugs.taken(counted.word, number):
            return number
        return next(each for each in range(1, MOST_FEEDERS + 1) if not self.plugs.taken(counted.word, each))

    def _beside_a_number(self, reading: Reading) -> bool:
        name = read_name(reading.setting.section, reading.setting.key)
        return any(
            1 not in numbers and word in (name.key if in_key else name.section)
            for (word, in_key), numbers in self.siblings.items()
        )


def _is_second(counted: list[Collected], of: str) -> bool:
    """Whether what has no number is the first feeder's, beside a 1 as the only number of a family: a section
    of the same word, or the like of at least half of what the 1 has. A single like thing may be the machine's."""
    bare = [each.reading for each in counted if each.counted is None]
    ones = [each for each in counted if each.counted and not each.counted.side and family(each.counted) == of]
    words = {each.counted.word for each in ones if each.counted and not each.counted.in_key}
    if any(words & set(read_name(reading.setting.section, "").section) for reading in bare):
        return True
    own = {each.reading.quantity for each in ones}
    return 2 * len(own & {reading.quantity for reading in bare}) >= max(len(own), 1)


def _has_the_first(readings: Iterable[Collected]) -> bool:
    """Whether one value has the numbers of two feeders, the first one's among them."""
    feeders: dict[tuple[str, int], set[Holder]] = {}
    for each in readings:
        if each.settled and each.reading.holder in (feeder(1), feeder(2)):
            place = each.reading.place.file, each.reading.setting.start
            feeders.setdefault(place, set()).add(each.reading.holder)
    return any(len(several) > 1 for several in feeders.values())


def family(counted: Counted) -> str:
    """The family of numbers that one belongs to; a number by itself is one that a profile says."""
    if not counted.word:
        return PROFILE
    return TOOL if counted.word in holder_words().tool else OWN_NUMBER


def counting(
    readings: Iterable[Collected],
    of_profiles: Iterable[Counted] = (),
    counts_from: Mapping[str, int] = MappingProxyType({}),
    plugs: ToldPlugs | None = None,
) -> Counting:
    """How the readings count feeders; `plugs` are those of which it is told whose they are, by which nothing is counted. `of_profiles` are the feeders that profiles say they are for; `counts_from` is
    what the user said, by the word before a number."""
    readings = tuple(readings)
    told: dict[str, int] = {}
    for word, base in counts_from.items():
        if not is_doing(word):
            told.setdefault(TOOL if word in holder_words().tool else OWN_NUMBER, base)
    counted = [each for each in readings if not each.settled and of_feeder(each.reading.quantity)]
    carried = {each.counted.number for each in counted if each.counted and each.counted.carried}
    plugs = plugs or ToldPlugs()
    found = Counting(by_motors=len(carried) > 1 and not carried.isdisjoint((0, 1)), plugs=plugs)
    numbers: dict[str, set[int]] = {OWN_NUMBER: set(), TOOL: set(), PROFILE: set()}
    for said in of_profiles:
        if not said.side and plugs.feeder(said) is None:
            numbers[family(said)].add(said.number)
    for each in counted:
        if each.counted and not each.counted.side and found.counts(each.counted):
            if plugs.feeder(each.counted) is not None:
                continue
            beside = {number for word, number in plugs.of if word == each.counted.word}
            numbers[family(each.counted)] |= {each.counted.number} | beside
    found.apart = dict(_counted_apart(counted, found, plugs)) if not told else {}
    found.unclear |= found.apart.keys()
    for of, several in numbers.items():
        found.bases[of] = 0 if 0 in several else told.get(of, 1)
        if several != {1}:
            continue
        if told:
            found.bases[of] = told.get(of, next(iter(told.values())))
        elif _is_second(counted, of) or (of == TOOL and _has_the_first(readings)):
            found.bases[of] = 0
        else:
            found.unclear.add(of)
    for each in counted:
        if each.counted and found.counts(each.counted):
            key = each.counted.word, each.counted.in_key
            found.siblings.setdefault(key, set()).add(found.feeder(each.counted))
    return found


def _counted_apart(
    counted: Iterable[Collected], count: Counting, plugs: ToldPlugs
) -> Iterator[tuple[str, tuple[str, str]]]:
    """The families of which one file has as many feeders from 0 on as another one from 1 on: together they would be one more. What
    a list has from 0 on nobody counted, so that beside it a number that a line of another file says may be from 1 on."""
    numbers: dict[str, dict[str, set[int]]] = {}
    lists: set[str] = set()
    for each in counted:
        of_number = each.counted and not each.counted.side and count.counts(each.counted)
        if each.counted and of_number and plugs.feeder(each.counted) is None:
            files = numbers.setdefault(family(each.counted), {})
            files.setdefault(each.reading.place.file, set()).add(each.counted.number)
            if str(each.counted.number) in each.reading.setting.section.split("."):
                lists.add(each.reading.place.file)
    for of, files in numbers.items():
        from_0 = [
            (path, len(several)) for path, several in files.items() if several == {*range(len(several))}
        ]
        from_1 = [path for path, several in files.items() if several == {*range(1, len(several) + 1)}]
        pairs = [(one, other) for one, many in from_0 for other in from_1 if many == len(files[other]) > 1]
        listed = (each for each in from_0 if each[0] in lists)
        pairs += [
            (one, other)
            for one, many in listed
            for other, several in files.items()
            if many > 1 and other not in lists and several <= {*range(1, many + 1)}
        ]
        if (both := next(iter(pairs), None)) is not None:
            yield of, both


def question(place: Place, text: str, apart: tuple[str, str] = ("", "")) -> Doubt:
    """What is asked where a family has only a 1, which first stands at `place`, or where two files count it `apart`."""
    if apart[0]:
        why = f"{apart[0]} counts the feeders from 0, and {apart[1]} as many from 1: which of them is which is not said, and nothing of one is written"
        remedy = 'say in cfgmigrate.yaml how they are called: `feeders: {1: "feeder 1", 2: "feeder 2"}`, each by its name or number in the files'
        return Doubt(place, text, why, remedy)
    why = "1 is the only number of a feeder here: where counting begins is not said, and it is taken as the first"
    remedy = "say in cfgmigrate.yaml which it is: `feeders: {1: {known_as: [T1]}}`, or 2 where it is the second of two"
    return Doubt(place, text, why, remedy)
