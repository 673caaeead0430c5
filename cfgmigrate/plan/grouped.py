"""Questions that are one question, told once: the like in one file, with the lines where it stands.

Two kinds are alike: those that say the very same, and those about which nothing has to be done, since what stands more than
once moves along with what holds. The place is that of the first; nothing that a question says is lost but the text of the
lines behind it.

And what only a feeder's own values are about that was not swapped is no question of the swap: whichever way it is
answered, nothing is written there. Nor is what stands more than once and is only read, such as a heater's figures: no
swap moves it.

One slip in the sheet may show in several values: where each of them asks the very same, it is one question, at the line
of the files where there is one.

This module judges nothing else, and drops no other place.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import replace

from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.precedence import IN_STEP, OVERRIDDEN
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.rules.book import Book

#: what stands between the parts of a setting's name; a feeder's own name is a whole part
_LEVELS = pattern(r"[./:\[\]\s]+")
#: by what a line is overridden, up to what stands there in its place
_BY_WHAT = pattern(rf"{OVERRIDDEN} (what the board keeps|the block that the machine wrote)?")


def of_the_swap(doubts: Iterable[Doubt], machine: Machine, swapped: Collection[int]) -> Iterator[Doubt]:
    """The doubts about the files less those of lines that are for sure another feeder's than the swapped ones', and those
    of what stands more than once and is never written."""
    guarded = {
        (each.place.file, each.place.line)
        for each in machine.every_reading
        if quantity(each.quantity).protected
    }
    doubts = [
        each for each in doubts if each.remedy != IN_STEP or (each.place.file, each.place.line) not in guarded
    ]
    others = set(machine.feeders) - set(swapped)
    if not others:
        yield from doubts
        return
    mine = {name.casefold() for name, number in machine.feeder_names.items() if number in swapped}
    theirs = {name.casefold() for name, number in machine.feeder_names.items() if number in others}
    held = {
        (each.place.file, each.place.line)
        for each in machine.every_reading
        if others.issuperset(each.serves) and each.holder.kind == "feeder"
    }
    named = {
        (document.path, setting.line)
        for document in machine.documents
        for setting in document.settings
        if theirs.intersection(words := _LEVELS.split(setting.name.casefold()))
        and not mine.intersection(words)
    }
    elsewhere = held | named
    for doubt in doubts:
        if (doubt.place.file, doubt.place.line) not in elsewhere:
            yield doubt


def one_for_each_slip(doubts: Iterable[Doubt], book: Book, sheet: str) -> tuple[Doubt, ...]:
    """The doubts in their order; of those that ask the very same about a maker's figure one alone. `sheet` is the sheet's
    path."""
    asks = tuple({rule.twos_say.partition("{")[0] for rule in book.rules if rule.twos_say})
    told: dict[object, Doubt] = {}
    for doubt in doubts:
        key: object = doubt.remedy if asks and doubt.remedy.startswith(asks) else doubt
        if key not in told or (told[key].place.file == sheet != doubt.place.file):
            told[key] = doubt
    return tuple(told.values())


def grouped(doubts: Iterable[Doubt]) -> tuple[Doubt, ...]:
    """The doubts in their order, of several alike the first with the lines of all."""
    alike: dict[tuple[str, str, str], list[Doubt]] = {}
    for doubt in dict.fromkeys(doubts):
        alike.setdefault(_kind(doubt), []).append(doubt)
    return tuple(_one_of(several) for several in alike.values())


def _kind(doubt: Doubt) -> tuple[str, str, str]:
    found = _BY_WHAT.search(doubt.why) if doubt.remedy == IN_STEP else None
    return doubt.place.file, found[0] if found else doubt.why, doubt.remedy


def _one_of(several: list[Doubt]) -> Doubt:
    first, *others = several
    lines = sorted({each.place.line for each in others} - {first.place.line})
    if not lines:
        return first
    more = f"; likewise line {', '.join(map(str, lines))}"
    return replace(first, why=first.why + more)
