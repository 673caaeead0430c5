"""Values of several feeders that stand beside each other, each under its feeder's name.

    [lag]                    retraction: {port: 5.8, starboard: 6.2}        PULL_PORT = 5.8
    port = 0.48
    starboard = 0.52

Names count wherever they stand, once they are known: from the site file, or from sections and files that are a feeder's each
(`named_feeders.py`). Sides (`left`, `right`) are known where the files set them beside one of the feed path's words for
both, as in `[feeder left]`; where nothing says so, a table of two sides is a question. What is left of a name without its
feeder has to be a quantity of a feeder in every word, so that `[park] near` and `[mesh] left` are none.

This module deliberately looks at no values.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise

from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.holder_words import holder_words
from cfgmigrate.machine.matching import fits
from cfgmigrate.machine.quantities import of_feeder, quantity
from cfgmigrate.machine.words import readings_of_name, split

Spot = tuple[str, int]
Plain = tuple[str, str]
_LEVEL = pattern(r"[./:]+")
#: a path of more levels names no feeder
MOST_LEVELS = 12


def of_named(
    documents: Iterable[Document], known: Mapping[str, int], whole: bool = False
) -> Iterator[tuple[Spot, int, Plain]]:
    """The settings that name a feeder and say something of it: where, which, and section and key without the name. `known`
    are the feeders by their names; with `whole` a name has to be all of a section's level, or of the key."""
    names = {tuple(split(name)): number for name, number in known.items() if split(name)}
    for document in documents if names else ():
        for setting in document.settings:
            if setting.state is not State.INACTIVE and (found := _named(setting, names, whole)):
                number, plain = found
                yield (document.path, setting.at), number, plain


def of_sides(documents: Sequence[Document], sides: Mapping[str, int]) -> Iterator[tuple[Spot, int, Plain]]:
    """The settings of feeders that are known by their sides: a side is all of a section's level or of a key, or part of it
    where the rest stands there for each side, for much else has a left and a right, and `length left` may be what remains."""
    yield from of_named(documents, sides, whole=True)
    words = {side: number for side, number in sides.items() if len(side) > 1}
    in_part = list(of_named(documents, words))
    numbers: dict[Plain, set[int]] = defaultdict(set)
    for _, number, plain in in_part:
        numbers[plain].add(number)
    yield from (each for each in in_part if len(numbers[each[2]]) > 1)


def sides_told(documents: Sequence[Document]) -> dict[str, int]:
    """The sides by which the files tell feeders apart: each of them stands beside a word of the feed path."""
    told = set()
    for document in documents:
        for setting in document.settings:
            pieces = [*split(setting.section), *split(setting.key)]
            for one, other in pairwise(pieces):
                for side, word in ((one, other), (other, one)):
                    if side in holder_words().sides and word.removesuffix("s") in holder_words().counted:
                        told.add(side)
    found = {side: holder_words().sides[side] for side in sorted(told)}
    return found if len(set(found.values())) > 1 else {}


def sides_open(documents: Iterable[Document], known: Iterable[str]) -> Iterator[Doubt]:
    """A question for each heading that has a value for two sides, where nothing tells that these are feeders."""
    sides: dict[tuple[str, ...], int] = {
        (side,): number
        for side, number in holder_words().sides.items()
        if side not in known and len(side) > 1
    }
    for document in documents:
        tables: dict[tuple[str, Plain], dict[int, Setting]] = defaultdict(dict)
        for setting in document.settings:
            key = tuple(split(_levels(setting)[-1]))
            if (
                key in sides
                and setting.state is not State.INACTIVE
                and (found := _named(setting, sides, True))
            ):
                number, plain = found
                tables[setting.section, plain].setdefault(number, setting)
        for (_, plain), both in tables.items():
            if len(both) > 1:
                yield _question(document.path, plain, list(both.values()))


def _question(path: str, plain: Plain, several: Sequence[Setting]) -> Doubt:
    first, second = several[:2]
    fit = next(fit for name in readings_of_name(*plain) for fit in fits(name))
    names = [split(_levels(each)[-1])[0] for each in (first, second)]
    lines = ", ".join(f"{name}: {{known_as: [{name}]}}" for name in names)
    return Doubt(
        Place(path, first.line, first.column),
        f"{first.name} = {first.value}",
        f"{quantity(fit.quantity).label} stands here for {names[0]} and for {names[1]} (line {second.line}), and nothing says "
        "that these are two feeders; neither is read",
        f"if they are, say in cfgmigrate.yaml: feeders: {{{lines}}}",
    )


def _levels(setting: Setting) -> list[str]:
    return [each.strip() for each in _LEVEL.split(f"{setting.section}.{setting.key}") if each.strip()] or [""]


def _named(setting: Setting, names: Mapping[tuple[str, ...], int], whole: bool) -> tuple[int, Plain] | None:
    """The feeder whose name a level of a setting's path is, or begins or ends with, and the path without it; the nearest to
    the value. Where the rest says nothing of a feeder, a key that is a name tells whose it is, and its path stays whole.
    None where there is none."""
    levels = _levels(setting)
    if len(levels) > MOST_LEVELS:
        return None
    for at in range(len(levels) - 1, -1, -1):
        words = tuple(split(levels[at]))
        for name, number in names.items():
            for begins, rest in ((True, words[len(name) :]), (False, words[: -len(name)])):
                there = words[: len(name)] if begins else words[-len(name) :]
                if there != name or (whole and rest):
                    continue
                left = [*levels[:at], *([" ".join(rest)] if rest else []), *levels[at + 1 :]]
                plain = ".".join(left[:-1]), left[-1] if left else ""
                if left and _of_a_feeder(plain):
                    return number, plain
    number = names.get(tuple(split(levels[-1])), 0)
    return (number, (setting.section, setting.key)) if number and not whole else None


def _of_a_feeder(plain: Plain) -> bool:
    """Whether a section and a key say, in every word, what a feeder has."""
    return any(
        all(of_feeder(fit.quantity) and not fit.strange and not fit.alone for fit in found)
        for name in readings_of_name(*plain)
        if (found := fits(name))
    )
