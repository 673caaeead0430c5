"""Questions that are one question, told once, with the lines where it stands; and what is no question but good to know.

Alike are those of one file that say the very same, and those of which whoever made them said what they are like, however they are
worded: whether currents are RMS or peak, wherever they stand, is one. The place is that of the first; nothing that a question
says is lost but the text of the lines behind it. About what stands more than once and moves along with what holds nothing has to be done:
that is for whoever reads the changes, and nobody is asked.

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
from itertools import groupby

from cfgmigrate.ground.findings import Doubt, Likeness
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.precedence import TO_KNOW
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.which_of_several import WHICH_QUANTITY
from cfgmigrate.rules.book import Book
from cfgmigrate.rules.cross_checks import ANOTHER_COUNT

#: what stands between the parts of a setting's name; a feeder's own name is a whole part
_LEVELS = pattern(r"[./:\[\]\s]+")
_AXIS_S_OWN = pattern(r"axis\.")


def of_the_swap(
    doubts: Iterable[Doubt], machine: Machine, swapped: Collection[int], book: Book
) -> Iterator[Doubt]:
    """The doubts about the files less those of lines that are for sure another feeder's than the swapped ones', those
    of what stands more than once and is never written, and those of a quantity that no rule of the book sets or looks at."""
    looked_at = _looked_at(book)
    doubts = [each for each in doubts if not _AXIS_S_OWN.match(each.about) or each.about in looked_at]
    guarded = {
        (each.place.file, each.place.line)
        for each in machine.every_reading
        if quantity(each.quantity).protected
    }
    doubts = [
        each
        for each in doubts
        if each.remedy not in TO_KNOW or (each.place.file, each.place.line) not in guarded
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


def _looked_at(book: Book) -> frozenset[str]:
    """The quantities that a swap has to do with: those that rules set, and those that they look at."""
    used = {name for rule in book.rules for name in rule.uses}
    return frozenset(name.removeprefix("was.").removeprefix("will.") for name in used) | {
        rule.sets for rule in book.rules if rule.sets
    }


def one_for_each_slip(doubts: Iterable[Doubt], sheet: str) -> tuple[Doubt, ...]:
    """The doubts in their order; of those that ask the very same about a maker's figure one alone. `sheet` is the sheet's
    path."""
    told: dict[Doubt | Likeness, Doubt] = {}
    for doubt in doubts:
        key = doubt.like if doubt.like and doubt.asks(ANOTHER_COUNT) else doubt
        if key not in told or (told[key].place.file == sheet != doubt.place.file):
            told[key] = doubt
    return tuple(told.values())


def to_know(doubts: Iterable[Doubt]) -> tuple[Doubt, ...]:
    """What nothing has to be done about, the like in one file told once."""
    return _told_once(each for each in doubts if each.remedy in TO_KNOW)


def grouped(doubts: Iterable[Doubt]) -> tuple[Doubt, ...]:
    """The questions in their order, of several alike the first with the lines of all."""
    return _told_once(each for each in doubts if each.remedy not in TO_KNOW)


def _told_once(doubts: Iterable[Doubt]) -> tuple[Doubt, ...]:
    alike: dict[tuple[str, ...], list[Doubt]] = {}
    for doubt in _one_for_each_line(dict.fromkeys(doubts)):
        alike.setdefault(_question(doubt), []).append(doubt)
    return tuple(_one_of(several) for several in alike.values())


def _one_for_each_line(doubts: Iterable[Doubt]) -> Iterator[Doubt]:
    """The doubts; of two about one line, where one says what may stand there and the other what it would become, the first
    with that."""
    kept = list(doubts)
    first = {each.place: each for each in reversed(kept) if each.place.line and not each.comes_to}
    become = {
        each.place: each.comes_to
        for each in kept
        if each.comes_to and each.place in first and first[each.place].asks(WHICH_QUANTITY)
    }
    for doubt in kept:
        if doubt.place not in become:
            yield doubt
        elif doubt is first[doubt.place]:
            yield replace(doubt, why=f"{doubt.why}{become[doubt.place]}")
        elif not doubt.comes_to:
            yield doubt


def _question(doubt: Doubt) -> tuple[str, ...]:
    """What a doubt has in common with those that are the same question."""
    like = doubt.like
    if like is None:
        return doubt.place.file, doubt.why, doubt.remedy
    file = "" if like.anywhere else doubt.place.file
    return file, like.question, like.of, "" if like.each_its_answer else doubt.remedy


def _one_of(several: list[Doubt]) -> Doubt:
    first, *others = several
    beside = sorted({_beside(each, first) for each in others} - {("", first.place.line, "")})
    if not beside:
        return first
    told = ""
    for (file, own), those in groupby(beside, key=lambda each: (each[0], each[2])):
        lines = ", ".join(str(line) for _, line, _ in those)
        told += (
            f", {own} ({file + ':' if file else 'line '}{lines})"
            if own
            else f", {file}:{lines}"
            if file
            else f", line {lines}"
        )
    so_too = "; and so for each of the others" if first.like and first.like.each_its_answer else ""
    return replace(first, why=f"{first.why}; likewise{told[1:]}", remedy=first.remedy + so_too)


def _beside(doubt: Doubt, first: Doubt) -> tuple[str, int, str]:
    """How a like doubt is told behind the first: its file where it is another, its line, and what is its own where that differs."""
    file = "" if doubt.place.file == first.place.file else doubt.place.file
    own = doubt.like.own if doubt.like else ""
    return file, doubt.place.line, own if first.like and own != first.like.own else ""
