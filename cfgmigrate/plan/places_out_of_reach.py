"""Places over the bed that no rule reads, and that lie beyond an end of travel which came nearer: screws of the bed, points
to probe, a dock, a brush.

A place is one number under a name with its axis, or a pair, or several pairs, x first, under a name that says a place. An axis may
be called by its two sides (`lamp left right`), and beside the name of a thing that the carriage goes to by one of them. One
number where the carriage waits, or of such a thing alone, under a name without an axis, may be of any; so may what an area has under a direction be
both its ends. An end of travel that a profile has for itself is looked at
too: where the machine's goes by hand it may stay behind. What lay beyond the old end already is none: another file may have said how far it goes. Where the probe goes,
its tip stands beside the place, by the probe's offset; so both are looked at, and with another offset a place may be out of
reach where no end came nearer.

The words of places are in `place_words.yaml`. Nothing is worked out by this, and nothing written: a person is shown the
lines. It may name one too many.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping

from cfgmigrate.dialects.document import Setting, State
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.ground.number_text import measure
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.axis_words import axis_words
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.number_units import NOT_PLAUSIBLE
from cfgmigrate.machine.quantities import PROTECTED, quantity
from cfgmigrate.machine.words import split
from cfgmigrate.plan.edges_at_the_end import becomes
from cfgmigrate.plan.lines_beside import Beside
from cfgmigrate.plan.place_words import place_words
from cfgmigrate.rules.engine import Outcome
from cfgmigrate.scripts.limits import Limit, limits_of

#: mm by which a place may lie beyond an old limit and was reached all the same: another file may have said so
AS_GOOD_AS = 2.5
#: so much of a value is looked at
LONGEST_PLACES = 400
_ENDS = frozenset(f"axis.{axis}.{end}" for axis in "xyz" for end in ("min", "max"))
_ONE_NUMBER = pattern(r"([-+]?\d{1,6}(?:\.\d{1,6})?)(?:[ \t]*mm)?")
_NUMBERS = pattern(r"(?<![\w.])[-+]?\d{1,4}(?:\.\d{1,6})?(?![\w.])")
_OTHER_MEASURE = pattern(
    r"speed|accel|curr|coil|step|hz|pin(?![a-z])|plug|teeth|temp|heat|volt|trim|vref|time|jerk|jump|shak|reson|damp|stroke|addr(?![a-z])|address|hyst|chop",
    re.IGNORECASE,
)
_FEW = pattern(r"[1-3]?\d")
#: what parts one place from the next, in the order in which it is tried
_BETWEEN = (pattern(r"[;\r\n|]+|[\])}][ \t]*,?[ \t\r\n]*[\[({]"), pattern(r","))


def places_out_of_reach(
    machine: Machine,
    outcome: Outcome,
    written: Mapping[str, float],
    edited: Collection[tuple[str, int]] = (),
) -> Iterator[Beside]:
    """The lines with such places. `written` has the values that files will hold, by quantity; `edited` are the lines that change."""
    tighter = [limit for limit in limits_of(outcome, machine, written) if limit.old is not None]
    offsets = dict(probe_offsets(machine, outcome))
    tighter += _ends_that_stay(machine, outcome, offsets, {each.quantity for each in tighter})
    told = {
        pieces[0]: meant[0] for pieces, meant in axis_words(machine.documents).items() if len(pieces) == 1
    }
    known = place_words()
    found: dict[tuple[str, int], dict[str, str]] = {}
    for place, setting in (*_ends_of_profiles(machine, edited), *_not_read(machine)) if tighter else ():
        pieces = (*split(setting.section), *split(setting.key))
        words = frozenset((*pieces, *(each.removesuffix("s") for each in pieces)))
        if setting.state is State.INACTIVE or _OTHER_MEASURE.search(setting.name) or _is_a_count(setting):
            continue
        axes = {told.get(each, each) for each in words}
        if not (known.goes | known.waits | known.areas).isdisjoint(words):
            axes |= {known.sides[each] for each in words if each in known.sides}
        axes |= _by_sides(words)
        axes &= set("xyz")
        if not axes and not known.heights.isdisjoint(words) and known.no_place.isdisjoint(words):
            axes = {"z"}
        of_any = not known.parks.isdisjoint(words) or _is_a_thing(split(setting.key))
        places = _places(setting.value, axes or ("xyz" if of_any else ()), words)
        for limit in tighter:
            if why := next(_beyond(places.get(limit.axis, ()), limit, words, offsets), ""):
                text = " ".join(setting.value.split())
                found.setdefault((place.file, place.line), {})[f"{setting.name} = {text}"] = why
                break
    for (file, line), told_of in found.items():
        yield file, line, "; ".join(told_of), "; ".join(dict.fromkeys(told_of.values()))


def but_for_places(doubts: Iterable[Doubt], places: Iterable[Beside]) -> Iterator[Doubt]:
    """The doubts without those that only say that such a place is no plausible number of something else."""
    told = {(file, line): text for file, line, text, _ in places}
    for doubt in doubts:
        text = " ".join(doubt.text.split())
        of_place = bool(text) and text in told.get((doubt.place.file, doubt.place.line), "")
        if not (of_place and NOT_PLAUSIBLE in doubt.why):
            yield doubt


def probe_offsets(machine: Machine, outcome: Outcome) -> Iterator[tuple[str, tuple[float, float]]]:
    """The probe's offsets by their axis, as they are and as they will be."""
    for axis in "xy":
        name = f"probe.offset_{axis}"
        reading, new = machine.get(name), becomes(machine, outcome, name)
        if reading is not None and reading.value is not None and new is not None:
            yield axis, (reading.value, new)


def _ends_that_stay(
    machine: Machine, outcome: Outcome, offsets: Mapping[str, tuple[float, float]], nearer: Collection[str]
) -> Iterator[Limit]:
    """The ends of the axes along which the probe sits elsewhere now, but for those that came nearer."""
    for axis, (before, after) in offsets.items():
        for name in (f"axis.{axis}.min", f"axis.{axis}.max"):
            reading, value = machine.get(name), becomes(machine, outcome, name)
            if before != after and name not in nearer and reading is not None and value is not None:
                yield Limit(name, value, reading.value, "")


def _not_read(machine: Machine) -> Iterator[tuple[Place, Setting]]:
    """What was not understood, what a person says is nothing that is read, what is only asked about, and what is only
    protected by a word of its name."""
    yield from ((each.place, each.setting) for each in (*machine.unread, *machine.said_nothing))
    asked = {(each.place.file, each.place.line) for each in machine.doubts}
    whole = (each for each in machine.every_reading if each.setting.value.strip() == each.text.strip())
    known = {(each.place.file, each.setting.at) for each in whole}
    known |= {(each.place.file, each.setting.at) for each in (*machine.unread, *machine.said_nothing)}
    for document in machine.documents:
        for setting in document.settings:
            at = document.path, setting.line
            if at in asked and (document.path, setting.at) not in known:
                yield Place(document.path, setting.line), setting
    yield from (
        (each.place, each.setting)
        for each in machine.readings
        if each.quantity.startswith(PROTECTED)
        and each.setting.value.strip() == each.text.strip()
        and not _is_a_state(each.setting)
    )


def _ends_of_profiles(
    machine: Machine, edited: Collection[tuple[str, int]]
) -> Iterator[tuple[Place, Setting]]:
    """The ends that profiles have for themselves, on lines that stay as they are."""
    for each in machine.readings:
        own = each.holder.profile is not None and each.quantity in _ENDS
        if own and (each.place.file, each.place.line) not in edited:
            yield each.place, each.setting


def _is_a_count(setting: Setting) -> bool:
    """Whether a setting says how many points there are along an axis: `points y = 5`."""
    return "points" in split(setting.key) and _FEW.fullmatch(setting.value.strip()) is not None


def _is_a_state(setting: Setting) -> bool:
    """Whether a setting says how a switch stands and not where: a nought or a one under a name that says no place."""
    pieces = (*split(setting.section), *split(setting.key))
    return setting.value.strip() in ("0", "1") and place_words().places.isdisjoint(pieces)


def _by_sides(words: Collection[str]) -> set[str]:
    """The axes that a name calls by their two sides, or by one where it names a thing that the carriage goes to."""
    known = place_words()
    found = {axis for sides, axis in known.both if sides.issubset(words)}
    if not found and not known.things.isdisjoint(words):
        found = {known.sides[each] for each in words if each in known.sides} - {"z"}
    return found


def _is_a_thing(words: Collection[str]) -> bool:
    """Whether a name says such a thing and nothing of it, as its brightness or its number."""
    known = place_words()
    return bool(known.things.intersection(words)) and (known.things | known.of_things).issuperset(words)


def _places(value: str, axes: Collection[str], words: Collection[str]) -> dict[str, list[float]]:
    """The places that a value tells, by their axis."""
    value = value[:LONGEST_PLACES].strip().replace("..", " ")
    if number := _ONE_NUMBER.fullmatch(value):
        return {axis: [float(number[1])] for axis in axes}
    numbers = [float(each) for each in _NUMBERS.findall(value)]
    if 0 < len(axes) < 3 and len(numbers) == 2 and not place_words().areas.isdisjoint(words):
        return dict.fromkeys(axes, numbers)
    if place_words().places.isdisjoint(words):
        return {}
    for between in _BETWEEN:
        parts = [[float(each) for each in _NUMBERS.findall(part)] for part in between.split(value)]
        parts = [part for part in parts if part]
        if parts and all(len(part) in (2, 3) for part in parts):
            return {axis: [part[at] for part in parts if len(part) > at] for at, axis in enumerate("xyz")}
    return {} if len(numbers) % 2 else {"x": numbers[::2], "y": numbers[1::2]}


def _beyond(
    numbers: Iterable[float], limit: Limit, words: Iterable[str], offsets: Mapping[str, tuple[float, float]]
) -> Iterator[str]:
    """Why a place is pointed at: it lies beyond the limit, or the tip has to go there for the probe to get to it."""
    before, after = offsets.get(limit.axis, (0.0, 0.0))
    for number in numbers:
        if limit.origin and limit.beyond(number) and _was_reached(number, limit):
            yield f"a place by its name, beyond {_end(limit)}"
        tip = number - after
        if before or after:
            by_probe = _is_probed(frozenset(words)) and limit.beyond(tip)
            if by_probe and _was_reached(number - before, limit):
                yield f"where the probe goes, by its name: the tip goes to {tip:g} mm for it, beyond {_end(limit)}"


def _is_probed(words: frozenset[str]) -> bool:
    """Whether a name says that the probe goes there."""
    known = place_words()
    return not known.probed.isdisjoint(words) or ("point" in words and not known.levels.isdisjoint(words))


def _end(limit: Limit) -> str:
    end = f"the {'new ' if limit.origin else ''}{quantity(limit.quantity).label} of {measure(limit.value, 0.0, 'mm')}"
    return f"{end}, once {limit.once}" if limit.once else end


def _was_reached(number: float, limit: Limit) -> bool:
    nearer = -AS_GOOD_AS if limit.upper else AS_GOOD_AS
    return limit.allowed_before(number + nearer)
