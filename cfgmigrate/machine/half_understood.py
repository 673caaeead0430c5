"""What neighbours settle: sections with a word that nobody knows, and units that only plausibility tells; and what is asked of
names that are too short."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from msgspec.structs import replace

from cfgmigrate.dialects.value import Number, Text, read_value
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.collection import Collection, Half, Torn, about, line_of
from cfgmigrate.machine.matching import Fit
from cfgmigrate.machine.model import Unread
from cfgmigrate.machine.quantities import facts, of_feeder, quantity
from cfgmigrate.machine.spots import Said, Spot, name_line
from cfgmigrate.machine.values import readings_of
from cfgmigrate.machine.words import split

#: a section with a word that nobody knows is read where it says at least so many things
SEVERAL_ALIKE = 3
_A_WORD = pattern(r"[A-Za-z_][\w.-]{0,60}")
#: z is left out: whatever may be the highest z is asked
_AN_END = pattern(r"axis\.([xy])\.(?:min|max)")
#: what would break a machine is asked, whatever the other lines are
_NEVER_BY_WHAT_IS_LEFT = "feeder.steps_per_mm"
_HALF = "not every word of its section is understood"


def still_unsure(unsure: list[tuple[str, Doubt]]) -> Iterator[Doubt]:
    """Doubts about a unit that only plausibility tells, without those that several settings of a file share: they
    confirm each other."""
    shared = Counter((doubt.place.file, unit) for unit, doubt in unsure)
    yield from (doubt for unit, doubt in unsure if shared[doubt.place.file, unit] == 1)


def settle_torn(found: Collection) -> None:
    """Settings whose words fit several quantities: the one that no other setting of the section says, or whose length goes
    by the same words, or whose like the axes have beside it; and never to be edited; else a doubt."""
    lengths = {
        (each.reading.place.file, each.reading.setting.section, _but_last(each.reading.setting.key))
        for each in found.readings
        if each.reading.quantity == "retraction.length"
    }
    said: dict[tuple[str, str, int | None], set[str]] = {}
    for each in found.readings:
        at = each.reading.setting
        number = each.counted.number if each.counted else None
        said.setdefault((each.reading.place.file, at.section, number), set()).add(each.reading.quantity)
    for torn in found.torn:
        setting = torn.spot.setting
        number = torn.name.counted.number if torn.name.counted else None
        beside = said.get((torn.spot.document.path, setting.section, number), set())
        left = [fit for fit in torn.fits if fit.quantity not in beside]
        pulled = [fit for fit in left if fit.quantity == "retraction.speed"]
        if pulled and (torn.spot.document.path, setting.section, _but_last(setting.key)) in lengths:
            left = pulled  # `ret_len` is of a retraction, so `ret_vel` is as well
        left = [fit for fit in _as_axes_have_it(found, torn) if fit.quantity not in beside] or left
        sure = len(left) == 1 and len(left) < len(torn.fits) and left[0].quantity != _NEVER_BY_WHAT_IS_LEFT
        if not sure:
            found.doubts.append(torn.doubt)
            continue
        others = " or ".join(quantity(fit.quantity).label for fit in torn.fits if fit is not left[0])
        taken = readings_of(torn.spot, left[0])
        why = f"its words may also mean {others}"
        kept = tuple(replace(r, editable=False, why_not=why) for r in taken.readings)
        found.take(replace(taken, readings=kept), left[0], torn.name.counted)


def _as_axes_have_it(found: Collection, torn: Torn) -> list[Fit]:
    """What a key says of the feeder that axes say by the same words, where its first word begins that of the feeder's steps too:
    `feed_top_rate` beside `x_top_rate` and `feed_steps_per_mm` is no rate of feed of all."""
    first, *tail = split(torn.spot.setting.key)
    same = [
        (each.reading.quantity, split(each.reading.setting.key))
        for each in found.readings
        if (each.reading.place.file, each.reading.setting.section)
        == (torn.spot.document.path, torn.spot.setting.section)
    ]
    if not any(said == "feeder.steps_per_mm" and key[:1] == [first] for said, key in same):
        return []
    of_axes = {
        said.rpartition(".")[2]
        for said, key in same
        if said.startswith("axis.") and key[1:] == tail and key[0] in "xyz"
    }
    return [fit for fit in torn.fits if fit.quantity in {f"feeder.{each}" for each in of_axes}]


def ask_about(found: Collection, spot: Spot, fit: Fit) -> None:
    """A setting whose name is too short to say what it is is asked about, where its number can be what it may mean."""
    if not readings_of(spot, fit).readings:
        found.unread.append(Unread(spot.place(), line_of(spot.setting), spot.setting, (fit.quantity,)))
        return
    why = f"this may be {quantity(fit.quantity).label}, but its words may be another thing's as well"
    remedy = f"say so in cfgmigrate.yaml, under meanings: {name_line(spot.setting, fit.quantity)}"
    found.doubts.extend(about((spot.doubt(why, remedy),), fit))


def _but_last(key: str) -> tuple[str, ...]:
    return tuple(split(key))[:-1]


def _can_be(half: Half) -> bool:
    """Whether a number, or a word that no setting is called, may be a value of the quantity that its name half says."""
    spot = half.spot
    value = read_value(spot.setting.value)
    told = isinstance(value, Number) or (
        isinstance(value, Text)
        and facts(half.fit.quantity).quantity.kind == "number"
        and bool(_A_WORD.fullmatch(value.text))
        and value.text not in spot.defined
    )
    return not told or bool(readings_of(spot, half.fit).readings)


def _within_what_is_read(found: Collection, half: Half) -> bool:
    """Whether what may be an end of an axis lies between the two ends that other lines say: then it is a place on the way, as
    of a thing that is taken off or wiped there. To answer yes would move it in place of the end."""
    told = _AN_END.fullmatch(half.fit.quantity)
    numbers = [each.value for each in readings_of(half.spot, half.fit).readings]
    if told is None or len(numbers) != 1 or numbers[0] is None:
        return False
    ends = {
        each.reading.quantity: each.reading.value
        for each in found.readings
        if each.reading.quantity.startswith(f"axis.{told[1]}.") and each.reading.editable
    }
    low, high = (ends.get(f"axis.{told[1]}.{side}") for side in ("min", "max"))
    return low is not None and high is not None and low < numbers[0] < high


def settle_half(found: Collection) -> None:
    """Sections with a word that nobody knows, which speak of an axis, the feeder or what it does.

    One is read, and never edited, where nothing else in the configuration says the same and it says several things:
    then the word is a name or a manner of speaking. Else it may be another device's, and is not read. Either way one
    doubt a section says so.
    """
    groups: dict[tuple[str, str, str, int | None], list[Half]] = {}
    for each in found.half:
        if not _can_be(each) or _within_what_is_read(found, each):
            setting = each.spot.setting
            found.unread.append(Unread(each.spot.place(), line_of(setting), setting))
            continue
        key = (
            each.spot.document.path,
            each.spot.setting.section,
            "".join(each.name.section[:1]),
            each.name.number,
        )
        groups.setdefault(key, []).append(each)
    halves = [each for group in groups.values() for each in group]
    times = Counter((each.fit.quantity, each.name.number) for each in halves)
    read = {(each.reading.quantity, each.counted.number if each.counted else None) for each in found.readings}
    read |= {(said, None) for said, _ in read}  # beside feeders with numbers one without is none of them
    for group in groups.values():
        meant = {(each.fit.quantity, each.name.number) for each in group}
        single = {each for each in meant if times[each] == 1}
        alone = read.isdisjoint(meant) and len(single) >= SEVERAL_ALIKE
        first = next((each for each in group if of_feeder(each.fit.quantity)), group[0])
        for each in group:
            once = (each.fit.quantity, each.name.number) in single
            said = readings_of(each.spot, each.fit) if alone and once else Said()
            kept = tuple(replace(r, editable=False, why_not=_HALF) for r in said.readings)
            found.take(Said(kept), replace(each.fit, strange=False), each.name.counted)
            if not kept and each is not first:
                setting = each.spot.setting
                unread = Unread(each.spot.place(), line_of(setting), setting, (each.fit.quantity,))
                found.unread.append(unread)
        more = f", and {len(group) - 1} more of the section likewise" if len(group) > 1 else ""
        label = quantity(first.fit.quantity).label
        why = f"this may be {label}{more}, but not every word of the section is understood"
        line = name_line(first.spot.setting, first.fit.quantity)
        found.doubts.extend(
            about((first.spot.doubt(why, f"say so in cfgmigrate.yaml, under meanings: {line}"),), first.fit)
        )
