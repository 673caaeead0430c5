"""Whose a reading is: each gets exactly one holder, and the feeders whose views reach it.

A motor current whose motor nobody names is the feeder's where it is the only one of its measure in the whole
configuration. Which feeder's a value is, `feeders.py` finds, and which profile's, `profiles.py`. A number that sets
two quantities at once, because both name it, belongs to neither as far as edits go.

This module deliberately does not look at values.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from types import MappingProxyType

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.machine.collect import Collected
from cfgmigrate.machine.feeder_names import is_feeder_word
from cfgmigrate.machine.feeders import PROFILE, counting, family, question
from cfgmigrate.machine.feeders_by_file import question_of_file, unsettled
from cfgmigrate.machine.holder_words import holder_words
from cfgmigrate.machine.model import MACHINE, Holder, Key, Profile, Reading, Unread, feeder
from cfgmigrate.machine.named_feeders import NamedFeeders
from cfgmigrate.machine.numbered_doings import NO_FEEDER_SAID, given, numbered_doing, whose_is_each
from cfgmigrate.machine.orders_of_feeders import FeederOrders, which_comes_first
from cfgmigrate.machine.profiles import FoundProfile, Profiles
from cfgmigrate.machine.quantities import of_feeder, quantity
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.told_plugs import ToldPlugs, whose_is_it
from cfgmigrate.machine.words import split

_LEFT_BEHIND = "runout.distance"
#: why a value is not edited whose number may be counted in two ways
WHICH_IS_OPEN = "which feeder it is of is not certain"


#: words of a section that is no feeder's
_AXIS = frozenset(("axis", "axes", "gantry"))
#: what axes need as well where their steps follow from a turn of their motors
_OF_A_TURN = frozenset(("feeder.microsteps", "feeder.full_steps"))
_TURN = (".travel_per_turn", ".full_steps")
#: words of a section or a key for all motors at once
_OF_ALL = frozenset(("all", "common", "every", "each", "shared"))
#: words of a section or a key for several motors, or for all that has one
_OF_MOTORS = frozenset(("motors", "drivers", "steppers", "coils", "machine", "axes"))


def with_owner(
    readings: list[Collected], unread: Iterable[Unread] = (), asked: Iterable[Doubt] = ()
) -> tuple[list[Collected], list[Doubt]]:
    """Leaves out readings of which nothing says whose they are, unless each is the only one of its measure: also among
    the lines that were not understood, or are asked about.

    A feeder's never stands below the word for an axis; nor is it the feeder's alone where axes need the same and have none. A number that is read under another name as well, which says whose it is, needs no doubt.
    """
    owned = {_span(each.reading) for each in readings if not each.alone}
    readings = [each for each in readings if not each.alone or _span(each.reading) not in owned]
    settings = Counter(
        measure
        for measure, _ in {(each.measure, identity(each.reading)) for each in readings if each.measure}
    )
    lines = {(doubt.about, doubt.place.file, doubt.place.line) for doubt in asked if doubt.about}
    lines |= {(near, each.place.file, each.place.line) for each in unread for near in each.nearest[:1]}
    axes = {each.reading.quantity for each in readings if each.reading.quantity.startswith("axis.")}
    kept, doubts = [], []
    for each in readings:
        lone = settings[each.measure] == 1 and not each.strange and not _below_axis(each.reading)
        of_all = _may_be_of_all_motors(each.reading, axes)
        lone = lone and not of_all and not any(_same_elsewhere(each.reading, *line) for line in lines)
        if axes and _with_axes(each.reading):
            doubts.append(_ownerless(each.reading, True))
        elif not each.alone or lone:
            kept.append(each)
        else:
            doubts.append(_ownerless(each.reading, of_all))
    return kept, doubts


def _same_elsewhere(reading: Reading, about: str, file: str, line: int) -> bool:
    """Whether another line may be the quantity that a reading is taken for."""
    return about == reading.quantity and (file, line) != (reading.place.file, reading.place.line)


def _may_be_of_all_motors(reading: Reading, axes: Collection[str]) -> bool:
    """Whether the only number of its measure may set the axes' motors too, by what was read of `axes` or by its own words."""
    if reading.quantity in _OF_A_TURN:
        attribute = reading.quantity.removeprefix("feeder")
        return any(each.endswith(_TURN) and not each.endswith(attribute) for each in axes)
    words = {*split(reading.setting.section), *split(reading.setting.key)}
    of_all = _OF_ALL | _OF_MOTORS if reading.quantity.startswith("motor.") else _OF_ALL
    return bool(axes) and of_feeder(reading.quantity) and not words.isdisjoint(of_all)


def _with_axes(reading: Reading) -> bool:
    """Whether a heading names the axes beside the feeder (`[axes and feeder]`, `[feeder, axes]`); `axes.feeder` is the feeder among
    them."""
    if not of_feeder(reading.quantity):
        return False
    levels = (
        level.replace("&", " and ").replace("+", " and ") for level in reading.setting.section.split(".")
    )
    return any(_names_both(split(level)) for level in levels)


def _names_both(words: Sequence[str]) -> bool:
    axes = "axes" in words or {"axis", "and"} <= set(words)
    return axes and ("and" in words or any(map(is_feeder_word, words)))


def _below_axis(reading: Reading) -> bool:
    words = {*split(reading.setting.section), *split(reading.setting.key)}
    return of_feeder(reading.quantity) and not words.isdisjoint(_AXIS)


def identity(reading: Reading) -> tuple[str, str, str]:
    """What makes two readings come from the same setting: file, section and key."""
    return reading.place.file, reading.setting.section.casefold(), reading.setting.key.casefold()


def _ownerless(reading: Reading, of_all: bool) -> Doubt:
    label = quantity(reading.quantity).label
    line = name_line(reading.setting, reading.quantity)
    axes = ", and it may set the axes' motors too" if of_all else ""
    alone = "where it is for the feeder's motor alone, " if of_all else ""
    return Doubt(
        reading.place,
        f"{reading.setting.key} = {reading.setting.value}",
        f"this may be {label}, but nothing says what it belongs to{axes}",
        f"{alone}say so in cfgmigrate.yaml, under meanings: {line}",
    )


_NO_ORDER = "a value for each feeder stands here, and nothing says in which order the feeders come"


class Held(Struct, frozen=True):
    """Readings with their holders, and the feeders and profiles that the files tell of."""

    readings: list[Reading]
    feeders: tuple[int, ...]
    profiles: tuple[Profile, ...] = ()
    doubts: tuple[Doubt, ...] = ()


def held(
    readings: list[Collected],
    profiles: Profiles,
    counts_from: Mapping[str, int] = MappingProxyType({}),
    named: NamedFeeders | None = None,
    plugs: ToldPlugs | None = None,
    orders: FeederOrders | None = None,
    doings: Mapping[str, int] = MappingProxyType({}),
) -> Held:
    """Readings, each with its holder and the feeders that it serves. With one feeder its values are the machine's.

    `named` are the feeders that go by a name, and `plugs` the plugs of which it is told whose they are; `orders` are
    those of the feeders in profiles' lists, and `doings` the numbered loads and the like of which it is told whose they are."""
    orders = orders or FeederOrders()
    named, plugs = named or NamedFeeders(), plugs or ToldPlugs()
    readings = [given(_by_its_name(each, named), doings) for each in readings]
    open_files = unsettled(named.alike, (each.reading for each in readings))
    of = [profiles.of.get((each.reading.place.file, each.reading.setting.at)) for each in readings]
    stated = [found.feeder for found in profiles.found if found.feeder]
    count = counting(
        [each for each, found in zip(readings, of, strict=True) if not found], stated, counts_from, plugs
    )
    numbers = [None if found else count.feeder_of(each) for each, found in zip(readings, of, strict=True)]
    for_feeder = {found: count.feeder(found.feeder) for found in profiles.found if found.feeder}
    feeders = tuple(sorted({1, *for_feeder.values(), *(number for number in numbers if number is not None)}))
    held_by = {
        found: Profile(
            found.holder,
            (for_feeder[found],) if found in for_feeder else feeders,
            found.place,
            found.material,
        )
        for found in profiles.found
    }
    unclear = count.unclear if len(feeders) > 1 else set()
    lists = _entries_of_lists(readings, of)
    values = Counter(_setting_of(each.reading) for each in readings)
    made, numbered, unordered = [], list[Reading](), dict[str, Reading]()
    for each, number, found in zip(readings, numbers, of, strict=True):
        holder = found.holder if found else MACHINE if number is None or len(feeders) == 1 else feeder(number)
        serves = held_by[found].feeders if found else feeders
        reading = replace(each.reading, holder=holder, serves=serves)
        if found and (entries := lists.get(_setting_of(each.reading))):
            entry = int(each.reading.holder.name) if each.reading.holder.kind == "feeder" else 0
            pair = entries == len(feeders) == values[_setting_of(each.reading)]
            if entry and pair and orders.is_open(reading.place.file):
                unordered.setdefault(reading.place.file, reading)
                reading = replace(reading, editable=False, why_not=_NO_ORDER)
            entry = orders.feeder(reading.place.file, entry)
            reading = _one_of(reading, entry, entries, feeders)
        part = named.in_profiles.get(_setting_of(each.reading))
        if found and part in serves and len(feeders) > 1:
            reading = replace(reading, holder=replace(found.holder, feeder=part), serves=(part,))
        if _family(each, found) in unclear:
            apart = count.apart.get(_family(each, found))
            reading = replace(reading, editable=False, why_not=_open(reading, apart))
        if reading.place.file in open_files and of_feeder(reading.quantity):
            reading = replace(reading, editable=False, why_not="which feeder its file is of is not certain")
        if len(feeders) > 1 and not each.settled and (why := plugs.why_not(each.counted)):
            reading = replace(reading, editable=False, why_not=why)
        if len(feeders) > 1 and reading.holder == MACHINE and numbered_doing(reading):
            reading = replace(reading, editable=False, why_not=NO_FEEDER_SAID)
            numbered.append(reading)
        made.append(reading)
    asked = tuple(question_of_file(path, other) for path, other in open_files.items() if path < other)
    asked += tuple(
        Doubt(each.place, each.text, _NO_ORDER, which_comes_first(path, feeders))
        for path, each in unordered.items()
    )
    asked += tuple(_questions_of_plugs(readings, plugs)) if len(feeders) > 1 else ()
    asked += tuple(whose_is_each(numbered, feeders))
    doubts = asked + _questions(
        readings, profiles, count.unclear if len(feeders) > 1 else count.unclear - {PROFILE}, count.apart
    )
    return Held(_serving(made), feeders, tuple(held_by.values()), doubts)


def _open(reading: Reading, apart: tuple[str, str] | None) -> str:
    """Why a value is not edited whose number may be counted in two ways; of two files that count `apart`, how to say whose it is."""
    section = reading.setting.section
    if not apart or not section:
        return WHICH_IS_OPEN
    known = f'`feeders: {{1: {{known_as: ["[{section}]"]}}}}`'
    return f"{WHICH_IS_OPEN}: {apart[0]} counts from 0; {known} in cfgmigrate.yaml says it, with 2 for 1 where it is the second one's"


def _setting_of(reading: Reading) -> tuple[str, int]:
    return reading.place.file, reading.setting.at


def _entries_of_lists(
    readings: Iterable[Collected], of: Iterable[FoundProfile | None]
) -> dict[tuple[str, int], int]:
    """How many entries the lists have that set one quantity of a profile, an entry for each feeder."""
    found: dict[tuple[str, int], int] = {}
    for each, profile in zip(readings, of, strict=True):
        if profile and each.reading.holder.kind == "feeder":
            at = _setting_of(each.reading)
            found[at] = max(found.get(at, 0), int(each.reading.holder.name))
    return {at: entries for at, entries in found.items() if entries > 1}


def _one_of(reading: Reading, entry: int, entries: int, feeders: tuple[int, ...]) -> Reading:
    """One entry of a profile's list: the profile's for that feeder. Where the list is not as long as there are feeders,
    which entry is whose can't be told."""
    if entries != len(feeders) or entry not in feeders:
        many = f"{entries} values stand here and the files tell of {len(feeders)} feeder{'s' * (len(feeders) > 1)}"
        return replace(reading, editable=False, why_not=f"{many}: which is whose is not certain")
    return replace(reading, holder=replace(reading.holder, feeder=entry), serves=(entry,))


def _by_its_name(each: Collected, named: NamedFeeders) -> Collected:
    """A reading of the feeder whose file or section it stands in, where nothing nearer says whose it is."""
    reading = each.reading
    number = named.of.get((reading.place.file, reading.setting.at))
    # `filament left` is what remains, and on no side
    in_key = (
        each.counted is not None
        and each.counted.side
        and each.counted.in_key
        and reading.quantity == _LEFT_BEHIND
        and len(split(reading.setting.key)) > 1
    )
    if number is None and (each.counted is None or in_key):
        number = named.by_section(reading.setting.section)
    if number is None and in_key:
        sides = [word for word in split(reading.setting.section) if word in holder_words().sides]
        number = holder_words().sides[sides[0]] if len(sides) == 1 else None
    if number is None and in_key:
        return replace(each, counted=None)
    if number is None or reading.holder != MACHINE or not of_feeder(reading.quantity):
        return each
    return replace(each, reading=replace(reading, holder=feeder(number)), settled=True)


def _family(each: Collected, found: FoundProfile | None) -> str:
    """The family of numbers by which it is told of which feeder a reading is; "" where none tells."""
    counted = found.feeder if found is not None else each.counted
    return family(counted) if counted and not counted.side else ""


def _questions(
    readings: list[Collected], profiles: Profiles, unclear: set[str], apart: Mapping[str, tuple[str, str]]
) -> tuple[Doubt, ...]:
    """A question for each family that has only a 1 or is counted in two ways, where that first stands."""
    places: dict[str, tuple[Place, str]] = {}
    for each in readings:
        if each.counted and not each.settled and of_feeder(each.reading.quantity):
            places.setdefault(_family(each, None), (each.reading.place, each.reading.setting.name))
    for found in profiles.found:
        if found.feeder:
            places.setdefault(family(found.feeder), (found.stated or found.place, str(found.holder)))
    return tuple(question(*places[of], apart.get(of, ("", ""))) for of in sorted(unclear) if of in places)


def _questions_of_plugs(readings: Iterable[Collected], plugs: ToldPlugs) -> Iterator[Doubt]:
    """A question for each plug that is told of several feeders, at the first line that it names."""
    asked: set[tuple[str, int]] = set()
    for each in readings:
        counted = each.counted
        if counted and not each.settled and of_feeder(each.reading.quantity):
            plug = counted.word, counted.number
            if plug not in asked and (why := plugs.why_not(counted)):
                asked.add(plug)
                yield Doubt(each.reading.place, each.reading.setting.name, why, whose_is_it(plug))


def _serving(readings: list[Reading]) -> list[Reading]:
    """With the feeders whose views reach each: a feeder's own only its own, a machine's all that have none."""
    own: dict[str, set[int]] = {}
    for reading in readings:
        if reading.holder.kind == "feeder":
            own.setdefault(reading.quantity, set()).add(int(reading.holder.name))
    found = []
    for reading in readings:
        serves = reading.serves
        if reading.holder.kind == "feeder":
            serves = (int(reading.holder.name),)
        elif reading.holder == MACHINE:
            serves = tuple(each for each in serves if each not in own.get(reading.quantity, ()))
        found.append(replace(reading, serves=serves))
    return found


def _span(reading: Reading) -> tuple[str, int, int]:
    return reading.place.file, reading.start, reading.end


def each_number_for_itself(readings: list[Reading]) -> tuple[list[Reading], list[Reading], list[Doubt]]:
    """Readings whose number is theirs alone; those whose number also sets another quantity, so that to edit
    one would change the other; and a doubt for each of these. Those that are never edited stay."""
    sharing: dict[tuple[str, int, int], list[Key]] = {}
    editable = {_span(reading) for reading in readings if reading.editable}
    for reading in readings:
        if _span(reading) in editable:
            sharing.setdefault(_span(reading), []).append(reading.key)
    own, shared, doubts = [], [], []
    for reading in readings:
        others = set(sharing.get(_span(reading), ())) - {reading.key}
        if others and not quantity(reading.quantity).protected:
            shared.append(reading)
            doubts.append(_shared_doubt(reading, others))
        else:
            own.append(reading)
    return own, shared, doubts


def _shared_doubt(reading: Reading, others: set[Key]) -> Doubt:
    label = quantity(reading.quantity).label
    with_it = ", ".join(sorted(_named(name, holder, reading) for name, holder in others))
    why = f"{label} ({reading.setting.name}) is the same number as {with_it}: to change one changes the other"
    return Doubt(reading.place, reading.text, why, "write a number of its own behind each name")


def _named(name: str, holder: Holder, beside: Reading) -> str:
    label = quantity(name).label
    return label if holder == beside.holder else f"{label} of {holder}"
