"""Whether feeders that go by a side or a name are counted in the files as they are counted here.

People count from the left, and so does this program; a name without a number counts by its place in the files. But a line may
say that T0 is the right one, a list may begin with it, or its section may stand first. Then `feeders: {1: …}` in the sheet
means another feeder than the person who wrote it does, and a script's T0 would be taken for the wrong one. So it is asked,
and the numbers of the site file settle it.

Nothing is read or counted anew by this.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence

from msgspec import Struct

from cfgmigrate.dialects.document import Document, State
from cfgmigrate.dialects.value import Items, Text, read_value
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.side_words import LEFT_AND_RIGHT
from cfgmigrate.machine.model import MACHINE, Machine, feeder
from cfgmigrate.machine.words import split
from cfgmigrate.plan.lights import UNKNOWN
from cfgmigrate.plan.model import Light

_CLAUSE = pattern(r"[,;.()/|]|\band\b|\r?\n")
_NUMBER = pattern(
    r"(?<![a-z0-9])(?:t|(?:tool|feeder|extruder|drive|number|no\.?|nr\.?|index)[ _-]{0,2}#?|#)(\d)(?![\d.]*\w)",
    re.I,
)
_ONE = pattern(r"[tT]?(\d)")
#: keys of a feeder's own section that say its number
_NUMBER_KEYS = frozenset(("tool", "number", "no", "nr", "index", "id", "t", "feeder", "extruder"))
#: a longer line says nothing of numbers, and of so many lines those behind are not looked at
_LONGEST, _MOST = 200, 5000


class _Told(Struct, frozen=True):
    """A name, the number that a line gives it, and the line."""

    name: str
    number: int
    where: str


def which_is_first(machine: Machine) -> tuple[Light, ...]:
    """A light where the files count feeders otherwise than they are counted here, or may do so."""
    if len(machine.feeders) < 2:
        return ()
    called = _called(machine)
    if len(set(called.values())) < 2:
        return ()
    told = [each for document in machine.documents for each in _told(document, called)]
    ranks: dict[str, int] = {}
    if told:
        numbers = {each.number for each in told}
        ranks = {each.name: each.number + (0 in numbers) for each in told}
        if numbers == {1} and len(ranks) == 1:
            ((name, _),) = ranks.items()
            ranks = {name: 3 - called[name] if len(machine.feeders) == 2 else 2}
        why = f"{told[0].where} says {_as_said(told)}"
    elif not LEFT_AND_RIGHT & machine.feeder_names.keys():
        ranks, why = _by_place(machine, called)
    if _agreed(told, called, ranks):
        return ()
    order = _filled(ranks, called)
    lines = ", ".join(f"{number}: {{name: {name}, known_as: [{name}]}}" for name, number in order)
    mine = ", ".join(
        f"{name} as feeder {number}" for name, number in sorted(called.items(), key=lambda of: of[1])
    )
    return (
        Light(
            "feeder",
            str(MACHINE),
            UNKNOWN,
            f"{why}, and I count {mine}: which of them does the sheet mean by its number?",
            (
                f"count them in cfgmigrate.yaml as the files do, feeders: {{{lines}}}, or the other way round if that is so",
            ),
        ),
    )


def _agreed(told: Sequence[_Told], called: Mapping[str, int], ranks: Mapping[str, int]) -> bool:
    """Whether the names are counted here as in every line that tells, and not in the last one alone."""
    from_nought = any(each.number == 0 for each in told)
    each_line = len({each.number for each in told}) < 2 or all(
        called[each.name] == each.number + from_nought for each in told
    )
    return each_line and all(called[name] == rank for name, rank in ranks.items())


def _called(machine: Machine) -> dict[str, int]:
    """The names and sides by which the files tell feeders apart, each with its number here."""
    found: dict[str, set[int]] = defaultdict(set)
    for name, number in machine.feeder_names.items():
        if not any(char.isdigit() for char in name):
            found[name.casefold()].add(number)
    for number in machine.feeders:
        for each in machine.held_by(feeder(number)):
            for word in LEFT_AND_RIGHT.intersection((*split(each.setting.section), *split(each.setting.key))):
                found[word].add(number)
    return {name: next(iter(several)) for name, several in found.items() if len(several) == 1}


def _told(document: Document, called: Mapping[str, int]) -> Iterator[_Told]:
    """The numbers that a file's lines give these names."""
    words = re.compile(rf"(?<![a-z])(?:{'|'.join(map(re.escape, called))})(?![a-z])", re.I)
    text = document.data.decode("utf-8", "replace")
    for number, line in enumerate(text.splitlines()[:_MOST], 1):
        if len(line) <= _LONGEST and words.search(line):
            yield from _in_line(line, words, f"{document.path}:{number}")
    for setting in document.settings[:_MOST]:
        where = f"{document.path}:{setting.line}"
        if setting.state is State.INACTIVE:
            continue
        value = read_value(setting.value) if len(setting.value) <= _LONGEST else None
        if isinstance(value, Items):
            items = [each.text.casefold() for each in value.items if isinstance(each, Text)]
            if len(items) == len(value.items) and sorted(items) == sorted(called):
                yield from (_Told(name, at, where) for at, name in enumerate(items, 1))
        own = words.findall(setting.section)
        told = _ONE.fullmatch(setting.value.strip("\"' "))
        if len(own) == 1 and told and _NUMBER_KEYS.issuperset(split(setting.key)):
            yield _Told(own[0].casefold(), int(told[1]), where)


def _in_line(line: str, words: re.Pattern[str], where: str) -> Iterator[_Told]:
    """What a line says of which number is which: `T1 is the left one, T0 the right one`."""
    for clause in _CLAUSE.split(line):
        names, numbers = words.findall(clause), _NUMBER.findall(clause)
        if names and len(names) == len(numbers):
            yield from (
                _Told(name.casefold(), int(number), where)
                for name, number in zip(names, numbers, strict=True)
            )


def _by_place(machine: Machine, called: Mapping[str, int]) -> tuple[dict[str, int], str]:
    """The sides in the order in which the sections of a file bring them, where they stand in one file, and what that comes to."""
    places: dict[str, tuple[str, int]] = {}
    for number in machine.feeders:
        for each in machine.held_by(feeder(number)):
            for word in LEFT_AND_RIGHT.intersection(split(each.setting.section)) & called.keys():
                at = each.place.file, each.place.line
                places[word] = min(places.get(word, at), at)
    if len(places) < 2 or len({file for file, _ in places.values()}) > 1:
        return {}, ""
    order = sorted(places, key=lambda word: places[word])
    file, line = places[order[0]]
    why = f"the {order[0]} one ({file}:{line}) stands before the {order[1]} one"
    return {word: at for at, word in enumerate(order, 1)}, why


def _as_said(told: Iterable[_Told]) -> str:
    said = dict.fromkeys(f"{each.name} is number {each.number}" for each in told)
    return "that " + " and ".join([*said][:3])


def _filled(ranks: Mapping[str, int], called: Mapping[str, int]) -> list[tuple[str, int]]:
    """All names by number: those that are told first, the others by what is left."""
    free = [number for number in sorted(set(called.values())) if number not in ranks.values()]
    rest = [name for name in called if name not in ranks]
    return sorted((*ranks.items(), *zip(rest, free, strict=False)), key=lambda each: each[1])
