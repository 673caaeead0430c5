"""Settings with several numbers: one for each axis, or the least and the most of a thing."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Iterable, Sequence

from msgspec.structs import replace

from cfgmigrate.dialects.value import Items, Number, Ratio, Text, Truth, Value, read_value
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine import commas
from cfgmigrate.machine.heat_or_not import is_no_heat
from cfgmigrate.machine.list_matching import ListFit, list_fits, range_fits
from cfgmigrate.machine.list_orders import UNSURE, WHICHEVER, may_be_choices, may_run_otherwise
from cfgmigrate.machine.matching import Fit, dimensions_of, fits
from cfgmigrate.machine.quantities import of_feeder
from cfgmigrate.machine.spots import Said, Spot, joined, name_line
from cfgmigrate.machine.values import reading_of
from cfgmigrate.machine.words import Name


def list_said(spot: Spot, name: Name, stated: str) -> Said | None:
    """What a list with one number for each axis says; None where the setting is no such list. `stated` is the
    order of the axes where the file states it."""
    setting = spot.setting
    value = read_value(setting.value)
    if not isinstance(value, Items) or len(value.items) < 2:
        return None
    if not _NUMBERED.search(setting.value) and not all(isinstance(each, Truth) for each in value.items):
        return None
    found = [fit for fit in list_fits(name) if not fit.strange and not _of_one_axis(name, fit)]
    if not found:
        return None
    for fit in found:
        order, sure = _order(fit, value, stated)
        told = len(order) == len(_letters(fit, stated))
        if (
            order
            and (fit.listed or of_speeds(fit.entry.of.values()))
            and not told
            and may_be_choices(value.items)
        ):
            return choices_asked(spot, [fit.entry.of[letter] for letter in order])
        if order and not sure:
            return order_asked(spot, [fit.entry.of[letter] for letter in order])
        if order:
            return joined([_item(spot, fit, order, at, item) for at, item in enumerate(value.items)])
    numbers = sorted({number for fit in found for number in fit.entry.orders})
    expected = " or ".join(str(number) for number in numbers)
    why = f"the list has {len(value.items)} numbers where {expected} are expected"
    doubt = spot.doubt(why, commas.how_to_write(value, setting.value))
    return Said((), (dataclasses.replace(doubt, about=_told_first(list(found[0].entry.of.values()))),))


def of_speeds(quantities: Iterable[str]) -> bool:
    """Whether a list holds top speeds: z goes by a screw, and is never faster than x and y (common practice, no source)."""
    return any(each.endswith(".max_speed") for each in quantities)


def _told_first(quantities: Sequence[str]) -> str:
    """Of the quantities of a list that is in doubt the one that it is told of: the feeder's, else that of the last axis, z."""
    return next((each for each in quantities if of_feeder(each)), quantities[-1])


_NUMBERED = pattern(r"\d")


def _order(fit: ListFit, value: Items, stated: str) -> tuple[str, bool]:
    """The letters of a list's items, as the file states them, where it states so many, else as usual; and whether that is
    sure."""
    count = len(value.items)
    usual = fit.entry.orders.get(count, "")
    letters = _letters(fit, stated)
    if len(letters) != count:
        return usual, not may_run_otherwise(value.items)
    if WHICHEVER in stated and letters.count("e") > 1:
        return letters, False
    return letters, letters == usual or not stated.endswith(UNSURE)


def _letters(fit: ListFit, stated: str) -> str:
    return "".join(letter for letter in stated.lower() if letter in fit.entry.of)


def choices_asked(spot: Spot, usual: Sequence[str]) -> Said:
    """The question where a table may hold what can be chosen: `CURRENT_TABLE { 200, 400, 600, 800 }`."""
    why = "this may list what can be chosen, or have one number for each axis; nothing was taken from it"
    meant = f"{json.dumps(spot.named.key, ensure_ascii=False)}: [{', '.join(usual)}]"
    remedy = (
        f"say in cfgmigrate.yaml, under meanings, what its numbers are, in the order of the list: {meant}; or, if they are what can "
        f"be chosen: {name_line(spot.setting, 'ignore')}"
    )
    return Said((), (dataclasses.replace(spot.doubt(why, remedy), about=_told_first(usual)),))


def order_asked(spot: Spot, usual: Sequence[str]) -> Said:
    """The question where nothing says in which order a list runs, and it looks as if it were not `usual`, the quantities of
    its numbers in the usual order; or which of several feeders each number is of."""
    why = "its order is not stated, and it does not look like x, y, z, feeder; nothing was taken from it"
    if sum(map(of_feeder, usual)) > 1:
        why = "it is not clear which of its numbers is of which feeder; nothing was taken from it"
    meant = f"{json.dumps(spot.named.key, ensure_ascii=False)}: [{', '.join(usual)}]"
    doubt = spot.doubt(
        why,
        f"say in cfgmigrate.yaml, under meanings, what its numbers are, in the order of the list: {meant}",
    )
    return Said((), (dataclasses.replace(doubt, about=_told_first(usual)),))


_FROM_TO = pattern(
    r"(?:from )?([-+]?\d+(?:\.\d+)?)[^\d+\-.]*?(?:\bto\b|\bup to\b|\bthrough\b|\.\.+|…|–|[:/]| - )[ \t]*"
    r"([-+]?\d+(?:\.\d+)?)[ \t]*([^\d\s]\S*)?"
)


def _two_numbers(text: str) -> tuple[Number, ...]:
    """The numbers of a list of two, or of such a text as `0 to 200 mm`; () where it is no such value."""
    value = read_value(text)
    if isinstance(value, Items):
        return (
            tuple(item for item in value.items if isinstance(item, Number)) if len(value.items) == 2 else ()
        )
    found = _FROM_TO.fullmatch(text.strip("\"' "))
    if not isinstance(value, Text | Ratio) or not found:
        return ()
    shift, unit = text.find(found[0]), found[3] or ""
    parts = [(found[at], found.start(at) + shift, found.end(at) + shift) for at in (1, 2)]
    single = [read_value(part) for part, _, _ in parts]
    return tuple(
        replace(number, start=start, end=end, unit=unit)
        for number, (_, start, end) in zip(single, parts, strict=True)
        if isinstance(number, Number)
    )


def range_said(spot: Spot, name: Name, stated: str) -> Said | None:
    """What a list of the least and the most, or of a pair, says; None where the setting is no such list."""
    if isinstance(read_value(spot.setting.value), Number | Truth):
        return None
    found = [
        fit
        for fit in range_fits(name)
        if not fit.strange
        and (not name.dimension or name.dimension in dimensions_of(fit.entry.high))
        and not is_no_heat(spot, name, Fit(fit.entry.high, fit.unit))
    ]
    numbers = _two_numbers(spot.setting.value) if found else ()
    if len(numbers) != 2 or (numbers[0].value >= numbers[1].value and not found[0].entry.pair):
        return None
    unit = numbers[1].unit or numbers[0].unit
    entry = found[0].entry
    if not entry.low and numbers[0].value:
        return None
    return joined(
        [
            reading_of(spot, Fit(target, found[0].unit, turned=True), replace(number, unit=unit))
            for target, number in zip((entry.low, entry.high), numbers, strict=True)
            if target
        ]
    )


def ranges_listed(spot: Spot, name: Name, stated: str) -> Said | None:
    """What a list of pairs says, the least and the most of each axis: `[[0, 240], [-5, 210], [0, 250]]`; None where the setting is
    no such list. `stated` is the order of the axes where the file states it."""
    value = read_value(spot.setting.value)
    if not isinstance(value, Items):
        return None
    pairs = [item.items for item in value.items if isinstance(item, Items)]
    if len(pairs) < max(2, len(value.items)):
        return None
    order = next(
        (each for each in (stated, "xyz") if len(each) == len(pairs) and set(each) <= set("xyz")), ""
    )
    if not order:
        return None
    said: list[Said] = []
    for letter, pair in zip(order, pairs, strict=True):
        found = [fit for fit in range_fits(replace(name, key=(letter, *name.key))) if not fit.strange]
        least, most = pair if len(pair) == 2 else (value, value)
        if (
            not found
            or not found[0].entry.low
            or not isinstance(least, Number)
            or not isinstance(most, Number)
            or least.value >= most.value
        ):
            return None
        ends = ((found[0].entry.low, least), (found[0].entry.high, most))
        said += [reading_of(spot, Fit(target, found[0].unit, turned=True), number) for target, number in ends]
    return joined(said)


def _of_one_axis(name: Name, fit: ListFit) -> bool:
    """Whether the key names the one axis whose number it is, so that it is no list: `offset z`."""
    named = [axis for axis in fit.entry.of if axis in name.key]
    return len(named) == 1 and fit.entry.of[named[0]] in {single.quantity for single in fits(name)}


def _item(spot: Spot, fit: ListFit, order: str, at: int, item: Value) -> Said:
    letter = order[at]
    target = fit.entry.of[letter]
    said = reading_of(
        spot, Fit(target, fit.unit, fit.qualifier, turned=True, measure=fit.entry.measure), item
    )
    several = order.count(letter) > 1 and of_feeder(target)
    return said.of_feeder(order[: at + 1].count(letter)) if several else said
