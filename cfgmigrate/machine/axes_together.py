"""Settings of several axes at once: `XYZ_SPEED_LIMIT = 300, 300, 14`, `xy_accel = 2600`, `[axes, X Y Z] top speed = …`.

Such a name means of each of its axes what it means with that axis alone. A list has a number for each, in the order
of the letters, or else in the order that the file states, or in the usual one. One number for several axes is read for
each and never edited: it can't be right for one of them only.

A name without letters is looked at as well, where its value is a list: it means what it means of x.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from itertools import pairwise

from msgspec.structs import replace

from cfgmigrate.dialects.value import Items, Number, Ratio, Text, Truth, Value, read_value
from cfgmigrate.machine.commas import how_to_write
from cfgmigrate.machine.list_orders import UNSURE, WHICHEVER, may_be_choices, may_run_otherwise
from cfgmigrate.machine.lists import choices_asked, of_speeds, order_asked
from cfgmigrate.machine.matching import Fit, fits
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.spots import Said, Spot, joined
from cfgmigrate.machine.values import reading_of, readings_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import Name

_LETTERS = "xyze"
_AXIS_LETTERS = frozenset(_LETTERS)
#: the usual order of lists, by the number of items (common practice, no source)
_USUAL = {2: "xy", 3: "xyz", 4: "xyze"}
_BETWEEN = frozenset({"and", "or", "axis", "axes"})
_LIMITED = frozenset({"speed", "acceleration"})


def together_said(spot: Spot, name: Name, stated: str) -> Said | None:
    """What a setting of several axes says; None where it is none."""
    letters, rest = letters_of(name)
    value_text = spot.setting.value
    value = _stages(read_value(value_text), letters)
    if isinstance(value, Items) and len(value.items) > 1:
        count = len(value.items)
        orders = [letters] if letters else [_once(stated.removesuffix(UNSURE)), _USUAL.get(count, "")]
        if not letters and ({"x", "y", "z"} & {*name.key, *name.section} or how_to_write(value, value_text)):
            return None
        for order in orders:
            found = _fits_of(rest, order) if len(order) == count else ()
            if not found and order == "xyz" and count == 3 and _is_zero(value.items[2]):
                found = _fits_of(rest, "xy")  # what z has none of is 0 there
            if count == 2 and not letters and _fits_of(rest, "z"):
                return None  # which two of three is not said
            meant = [fit.quantity for fit in found]
            told = letters or order == _once(stated.removesuffix(UNSURE))
            if found and not told and of_speeds(meant) and may_be_choices(value.items):
                return choices_asked(spot, meant)
            if found and not letters and not _is_sure(order, stated, value):
                return order_asked(spot, meant)
            if found:
                return joined(
                    [reading_of(spot, fit, item) for fit, item in zip(found, value.items, strict=False)]
                )
        return None
    if len(letters) < 2 or not isinstance(value, Number | Ratio | Truth | Text):
        return None
    found = _fits_of(rest, letters)
    if not found or any(quantity(fit.quantity).kind == "truth" for fit in found):
        return None
    said = [readings_of(spot, fit) for fit in found]
    if not all(each.readings for each in said):
        return None
    axes = " and ".join(letter.upper() for letter in letters)
    why = f"one number stands for {axes}"
    kept = [replace(r, editable=False, why_not=why) for each in said for r in each.readings]
    return Said(tuple(kept), said[0].doubts)


def _once(stated: str) -> str:
    """An order that has each axis and the feeder once; "" for one of several feeders, whose lists are told in `lists.py`."""
    return stated if len({*stated.lower()}) == len(stated) else ""


def _is_sure(order: str, stated: str, value: Items) -> bool:
    """Whether a list runs in this order: the file states it, or it is the usual one and the list looks like it."""
    other = WHICHEVER in stated and len(stated.removesuffix(UNSURE)) == len(value.items)
    usual = order == _USUAL.get(len(value.items)) and not may_run_otherwise(value.items) and not other
    return usual or order == stated


def _is_zero(value: Value) -> bool:
    return isinstance(value, Number) and value.value == 0


def _stages(value: Value, letters: str) -> Value:
    """The stages of a gear ratio as a list, where there are as many as axes: then they are a ratio for each."""
    if not isinstance(value, Ratio) or len(value.stages) < 2 or len(value.stages) != len(letters):
        return value
    items = tuple(
        Ratio(driven.value / driving.value, ((driven, driving),), driven.start, driving.end)
        for driven, driving in value.stages
    )
    return Items(items, value.start, value.end)


#: all axes with a word or two between each and the next
LONGEST_AXES = 3 * len(_LETTERS)


@lru_cache(maxsize=16384)
def letters_of(name: Name) -> tuple[str, Name]:
    """The axes that a name has side by side, as letters, and the name without them; "" where it has fewer than two."""
    for part in ("key", "section"):
        words: tuple[str, ...] = getattr(name, part)
        run = _run(words)
        if run:
            letters = "".join(word for word in words[run[0] : run[1]] if word not in _BETWEEN)
            without = words[: run[0]] + words[run[1] :]
            return letters, replace(name, key=without) if part == "key" else replace(name, section=without)
    return "", name


def _run(words: tuple[str, ...]) -> tuple[int, int] | None:
    """Where the first run of two or more axes stands."""
    for at in range(len(words)):
        for end in range(_reach(words, at), at, -1):
            inside = words[at:end]
            if inside[0] in _BETWEEN or inside[-1] in _BETWEEN:
                continue
            letters = [word for word in inside if word not in _BETWEEN]
            spelled = "".join(letters)
            whole = all(len(word) == 1 for word in letters) or len(letters) == 1
            if whole and len(spelled) > 1 and set(spelled) <= _AXIS_LETTERS and _rising(spelled):
                return at, end
    return None


def _reach(words: tuple[str, ...], at: int) -> int:
    """How far words go from there that are axes, or stand between axes; names may have half a million other words."""
    end, last = at, min(len(words), at + LONGEST_AXES)
    while end < last and (words[end] in _BETWEEN or set(words[end]) <= _AXIS_LETTERS):
        end += 1
    return end


def _rising(letters: str) -> bool:
    at = [_LETTERS.index(letter) for letter in letters]
    return all(a < b for a, b in pairwise(at))


@lru_cache(maxsize=16384)
def _fits_of(name: Name, letters: str) -> tuple[Fit, ...]:
    """For each letter what the name means of it; () where it is not one and the same thing for all."""
    for said in _ways_of_saying(name):
        found = [_fit_of(said, letter) for letter in letters]
        kept = [fit for fit in found if fit is not None]
        if len(kept) == len(letters) and len({fit.measure for fit in kept}) == 1:
            return tuple(replace(fit, turned=True) for fit in kept)
    return ()


def _ways_of_saying(name: Name) -> Iterator[Name]:
    """The name, and as a limit where it is no more than a speed or an acceleration: a table of them is one of
    limits."""
    yield name
    words = frozenset(word for word in name.key if word not in vocabulary().fillers)
    if words and any(
        len(words) == 1 and (word,) in vocabulary().spelled(measure) for word in words for measure in _LIMITED
    ):
        yield replace(name, said=(*name.said, "max"))


def _fit_of(name: Name, letter: str) -> Fit | None:
    word = "feeder" if letter == "e" else letter
    found = fits(replace(name, key=(word, *name.key)))
    if len(found) != 1 or found[0].strange or found[0].alone or quantity(found[0].quantity).protected:
        return None
    named = found[0].quantity
    axis_named = f".{letter}" in named or named.endswith(f"_{letter}")
    of_feeder = letter == "e" and named.startswith(("feeder.", "motor."))
    return found[0] if axis_named or of_feeder else None
