"""The lines that by-hand items are about, where a rule only knows values.

A line may say how high the probe acts and be protected by its own words: it is then read and never written, and a
person has to say what it is before anything follows from it. And an old lag that nothing could be worked out for stays in
its line, of the machine or of a profile. What stays for the first print has a line that is changed after it. Such an item
names the line, and what would settle it.

The lines of an end stop are found in `end_stop_lines.py`, those that note a screw's voltage in `screw_lines.py`; how a step
names a line is told in `named_lines.py`.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping

from msgspec.structs import replace

from cfgmigrate.dialects.document import Setting, State
from cfgmigrate.ground.findings import Place
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.side_words import ALONG_AXIS
from cfgmigrate.machine.listings import is_listed
from cfgmigrate.machine.model import MACHINE, Machine, Reading, Unread
from cfgmigrate.machine.plugs import named_by_plug
from cfgmigrate.machine.remarks import remarks_of
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.stated import stated
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import read_name, split
from cfgmigrate.plan.dynamics_in_codes import spoken_of
from cfgmigrate.plan.end_stop_lines import END_STOPS, end_stops, ends_at, goes_to, shift_of, with_its_lines
from cfgmigrate.plan.furthest_places import furthest_places
from cfgmigrate.plan.model import ByHand, Change
from cfgmigrate.plan.named_lines import (
    MAY_BE,
    MOST_UNREAD_LINES,
    PLAIN_NUMBER,
    at_line,
    line_of_reading,
    may_be,
    named_line,
    names_a_part,
)
from cfgmigrate.plan.screw_lines import SCREW_RULES, old_voltage, too_much_before
from cfgmigrate.plan.switch_lines import axis_in_doubt
from cfgmigrate.sheet.model import Entries

HEIGHT_RULE, LAG_RULE, LAG = "probe.height_unread", "lag.to_measure", "lag.coefficient"
SHIFT_RULE = "axis.nozzle_shift"
RUNOUT_RULE, RUNOUT = "runout.to_measure", "runout.distance"
PROTECTED_PROBE = "protected.probe"
#: words that say of a probe how high it acts
_PROBE_ACTS = frozenset(("height", "trigger", "z"))
#: what a lag is scaled from, besides itself: any of these fields, the first by what to call it
_LAG_NEEDS = (
    (("old.tube.length", "old.path_length"), "the length of the tube that came off"),
    (("new.tube.length", "new.path_length"), "the length of guide that is left"),
    (("filament.material", "filament.modulus"), "the filament's material"),
    (("filament.diameter",), "the filament's diameter"),
)
_TIP = pattern(r"(?<![a-z])tips?(?![a-z])|nozzle.{0,20}(?:offset|shift|apart|distance)", re.IGNORECASE)
#: the way of the filament, which ends at a tip; and moves that are none between tips
_TO_TIP = pattern(r"(?:bite|gear|drive|hob|feed|path|tube|way).{0,20}tip|lift|idle", re.IGNORECASE)
_AXIS_WORDS = {axis: (axis, *words) for axis, words in ALONG_AXIS.items()}
_LIMIT = pattern(
    r"limit|travel|reach|highest|lowest|farthest|(?<![a-z])(?:max|min|ends?)(?![a-z])", re.IGNORECASE
)
#: words of another measure, or of what has limits of its own
_NO_PLACE = pattern(
    r"tube|pull|feed|filament|melt|retract|temp|heat|warm|watt|fan|speed|accel|curr|net|mesh|probe|flow|after|time",
    re.IGNORECASE,
)
#: how high the nozzle stands where z is homed: of a nozzle's or tip's height, and of no heat, lift, width or move
_NOZZLE = pattern(r"(?<![a-z])(?:nozzles?|tips?|hot ?ends?)(?![a-z])", re.IGNORECASE)
_HIGH = pattern(r"height|high(?!er speed)|above|(?<![a-z])(?:z|level|homed?|zero)(?![a-z])", re.IGNORECASE)
_NO_HEIGHT = pattern(
    r"temp|heat|warm|hot(?! ?end)|speed|accel|lift|hop|park|purge|wip|prime|clean|diameter|size|bore|width|layer|fan|pin|watt|second|melt|limit|curr",
    re.IGNORECASE,
)
_ACCELERATION = pattern(r"accel", re.IGNORECASE)
#: what feels an acceleration is none
_FELT = pattern(r"accelerometer|sensor|(?<![a-z])pins?(?![a-z])", re.IGNORECASE)
_SHAKING = pattern(r"shak|sway|resonan|frequen|vibrat", re.IGNORECASE)
_OF_PROBE = pattern(r"probe|sensor.{0,20}offset|offset.{0,20}sensor", re.IGNORECASE)
_LIMIT_RULES = ("axis.x.unread", "axis.y.unread", "axis.z.unread")
#: rules of values that stay at first, or are tried out: the line that a person changes is that of the same quantity
_CHANGED_LATER = frozenset(
    (
        "machine.corner_speed",
        "retraction.coast",
        "retraction.lift",
        "retraction.shortest_travel",
        "retraction.wipe",
        "feeder.direction",
    )
)
#: and a rule that says of a quantity what was seen at the machine
_AS_SEEN = {"feeder.sense": "feeder.direction"}


#: holders of what holds for one filament or print alone
OF_ONE_PROFILE = ("filament", "print")
#: how a step begins that names lines of the packet's own
WRITTEN_HERE = "Not in these, which the packet writes"
STORED_HERE = "Not in these, which are stored at the board's console by a step of their own"


def with_lines(
    items: Iterable[ByHand],
    machine: Machine,
    said: Mapping[str, Entries],
    in_doubt: Mapping[str, Place],
    swapped: Collection[int] = (),
    changes: Iterable[Change] = (),
    stored: Iterable[Reading] = (),
) -> list[ByHand]:
    """The by-hand items, with the lines that they are about as first steps, or as last ones of a screw. `said` is what the sheet says of each
    holder, by its name, `in_doubt` the lines that may set a quantity, `swapped` are the feeders that it tells of, and what one of
    the `changes` writes, or is `stored` at the board's console, is not to be moved by hand once more."""
    written = frozenset((edit.file, edit.start) for change in changes for edit in change.edits)
    written |= {(each.place.file, each.start) for each in stored}
    height = tuple(_heights(machine))

    def steps(item: ByHand) -> tuple[str, ...]:
        if item.rule == HEIGHT_RULE:
            return height
        if item.rule.startswith(f"{END_STOPS}_"):
            return (
                *end_stops(machine, item.rule[-1], shift_of(item)),
                *_stands_in(machine, item, written),
            )
        if (axis := axis_in_doubt(item)) is not None:
            return (*end_stops(machine, axis), *_stands_there(machine, axis))
        if item.rule == RUNOUT_RULE:
            return tuple(_stands_in(machine, item, written, swapped))
        if item.rule == SHIFT_RULE:
            return tuple(_nozzle_heights(machine))
        if item.rule.startswith("tips."):
            return tuple(_tips(machine, item))
        if item.rule == "machine.acceleration_unread":
            return tuple(_accelerations(machine))
        if item.rule in ("probe.x_unread", "probe.y_unread"):
            return tuple(_unread(machine, _OF_PROBE))
        if item.rule in _LIMIT_RULES:
            entries = said.get(item.holder) or next(iter(said.values()), {})
            return (
                *_unread(machine, _LIMIT, _NO_PLACE),
                *furthest_places(machine, item.rule.split(".")[1], entries),
            )
        if item.rule == LAG_RULE:
            return tuple(_lags(machine, item.holder, said))
        if item.rule in _CHANGED_LATER or item.rule in _AS_SEEN:
            return tuple(_own_lines(machine, item, swapped))
        if item.rule in SCREW_RULES:
            return tuple(old_voltage(machine, said, item))
        return tuple(_by_plug(machine, item)) or tuple(_not_taken(in_doubt, item.rule))

    def all_steps(item: ByHand) -> tuple[str, ...]:
        # part 2 of the checklist names a screw's own steps by their numbers, so what notes its voltage comes behind them
        return (*item.steps, *steps(item)) if item.rule in SCREW_RULES else (*steps(item), *item.steps)

    def warnings(item: ByHand) -> tuple[str, ...]:
        told = too_much_before(machine, said, item) if item.rule in SCREW_RULES else ""
        return (told, *item.warnings) if told else item.warnings

    told = [item for item in items if not _is_told_of_the_machine(item)]
    return [with_its_lines(replace(item, steps=all_steps(item), warnings=warnings(item))) for item in told]


def _is_told_of_the_machine(item: ByHand) -> bool:
    """Whether an item is of an end stop, for a profile: that is the machine's, and told there; done for each, the shift would be added
    more than once."""
    of_a_stop = item.rule.startswith(f"{END_STOPS}_") or axis_in_doubt(item) is not None
    return of_a_stop and item.holder.partition(" ")[0] in OF_ONE_PROFILE


def _nozzle_heights(machine: Machine) -> Iterator[str]:
    """The lines that may say how high the nozzle stands where z is homed: wrong once its tip has moved, whatever else they are."""
    found = [
        named_line(Place(document.path, each.line), each, each.value)
        for document in machine.documents
        for each in document.settings
        if each.state is State.ACTIVE
        and PLAIN_NUMBER.match(each.value)
        and _NOZZLE.search(each.key)
        and _HIGH.search(each.key)
        and not _NO_HEIGHT.search(each.key)
    ]
    if found:
        yield (
            f"These may say how high the nozzle stands where z is homed: {', '.join(found[:MOST_UNREAD_LINES])}. They are left as they "
            "are; once the tip has moved, the old number can drive it into the bed. Measure it anew before the first homing."
        )


def _stands_in(
    machine: Machine, item: ByHand, written: Collection[tuple[str, int]], swapped: Collection[int] = ()
) -> Iterator[str]:
    """The lines that a person sets by such an item: those of the value itself, and an axis's limits with its end stop. What is
    `written` already is told apart: shifted by hand too, it would be shifted twice."""
    axis = item.rule[-1]
    stop = next((each.value for each in machine.every_reading if each.quantity == f"end_stop.{axis}"), None)
    names = (
        [RUNOUT]
        if item.rule == RUNOUT_RULE
        else [f"end_stop.{axis}", *(f"axis.{axis}.{end}" for end in ends_at(item, stop))]
    )
    lines = [
        each
        for each in machine.every_reading
        if each.quantity in names
        and (not swapped or set(swapped) & set(each.serves))
        # what a profile may reach are places over the bed, and these stay
        and (item.rule == RUNOUT_RULE or each.holder.kind not in OF_ONE_PROFILE)
    ]
    done = [each for each in lines if (each.place.file, each.start) in written]
    found = [line_of_reading(each, goes_to(each, stop, item)) for each in lines if each not in done]
    if found:
        whole = item.rule == RUNOUT_RULE or any(each.quantity == names[0] for each in machine.every_reading)
        what = "lines" if whole else f"limits of {axis}"
        yield f"The {what}: {', '.join(found[:MOST_UNREAD_LINES])}."
    for each_kind, begins, what in (
        ([each for each in done if not is_listed(each)], WRITTEN_HERE, "What it wrote there"),
        ([each for each in done if is_listed(each)], STORED_HERE, "The value that is told there"),
    ):
        if each_kind:
            places = ", ".join(f"{at_line(each.place)} ({each.setting.name})" for each in each_kind)
            yield f"{begins}: {places}. {what} is right as it is; add nothing to it."


def _stands_there(machine: Machine, axis: str) -> Iterator[str]:
    """The lines that say where an end stop stands, of which nothing is told but that they are left."""
    found = [line_of_reading(each) for each in machine.every_reading if each.quantity == f"end_stop.{axis}"]
    if found:
        yield f"The end stop's place stands in: {', '.join(found[:MOST_UNREAD_LINES])}. It is left as it is."


def _own_lines(machine: Machine, item: ByHand, swapped: Collection[int]) -> Iterator[str]:
    """Where the value that such an item is about stands, everywhere: of what is said once for all of them, each swapped
    feeder's own."""
    whose = {item.holder, *(f"feeder {number}" for number in swapped if item.holder == str(MACHINE))}
    found = [
        line_of_reading(each)
        for each in machine.every_reading
        if each.quantity == _AS_SEEN.get(item.rule, item.rule) and str(each.holder) in whose
    ]
    if found:
        yield f"Where it stands: {', '.join(found[:MOST_UNREAD_LINES])}."


def _not_taken(in_doubt: Mapping[str, Place], rule: str) -> Iterator[str]:
    """The line that may set what a rule of that name works out, where it was not taken."""
    if (place := in_doubt.get(rule)) is not None:
        yield f"{MAY_BE}{at_line(place)}, which is not understood in full: see the question about that line."


def _by_plug(machine: Machine, item: ByHand) -> Iterator[str]:
    """The lines that are named by the plug of the feeder's motor and may be what an item sets, in the measure in which they count."""
    for each in named_by_plug(machine):
        if each.quantity == item.rule and item.value is not None:
            there = each.written(item.value)
            counts = f" It counts in {each.unit}: the value above is {there} there." if there else ""
            yield f"{may_be(each.unread.place, each.unread.text)} {each.told}.{counts}"


def _heights(machine: Machine) -> Iterator[str]:
    for reading in machine.readings:
        if reading.quantity.startswith(PROTECTED_PROBE) and not names_a_part(reading.text):
            line = name_line(reading.setting, "probe.offset_z")
            yield (
                f"{may_be(reading.place, f'{reading.setting.name} = {reading.text}')} If it says how high the tip stands when the "
                f"probe acts, write in cfgmigrate.yaml, under meanings: {line}. It is protected, so it is read then, and "
                "set by hand."
            )
    for unread in machine.unread:
        setting = unread.setting
        if says_how_high_it_acts(setting) and PLAIN_NUMBER.fullmatch(setting.value.partition(" ")[0]):
            line = name_line(setting, "probe.offset_z")
            yield (
                f"{may_be(unread.place, f'{setting.name} = {setting.value}')} If it says how high the tip stands when the "
                f"probe acts, write in cfgmigrate.yaml, under meanings: {line}."
            )


def says_how_high_it_acts(setting: Setting) -> bool:
    """Whether a setting's words are of a probe, and those of its key beside the probe's own say a height or a trigger."""
    probe = vocabulary().names_in(frozenset(read_name(setting.section, setting.key).words))
    key = [
        word
        for word in read_name("", setting.key).words
        if "probe" not in vocabulary().names_in(frozenset((word,)))
    ]
    says = vocabulary().names_in(frozenset(key))
    return "probe" in probe and not _PROBE_ACTS.isdisjoint(says) and not _NO_HEIGHT.search(setting.key)


def _spoken(unread: Unread) -> str:
    """What a setting is called, and what a legend says of its code."""
    return f"{unread.setting.name} {unread.said}"


def _tips(machine: Machine, item: ByHand) -> Iterator[str]:
    """The lines that may say where one tip hangs, seen from another, with what each would become: of this axis, where
    words say of which. A way from the gears to the tip is none."""
    axis, shift = item.rule[-1], item.value or 0.0
    for reading in machine.every_reading:
        if reading.quantity == f"tip.offset_{axis}" and reading.value is not None:
            places = max(len(reading.text.partition(".")[2]), 2)
            yield (
                f"{line_of_reading(reading)} becomes {reading.value + shift:.{places}f} where it is this tip, seen from another one, and "
                f"{reading.value - shift:.{places}f} where it is another tip, seen from this one."
            )
    others = {word for other, words in _AXIS_WORDS.items() if other != axis for word in words}
    for unread in _lines_with(machine, _TIP, _TO_TIP):
        if others & set(split(f"{unread.setting.key} {unread.said}")):
            continue
        old = PLAIN_NUMBER.match(unread.setting.value)
        places = len(old[0].partition(".")[2]) if old else 0
        becomes = f"{float(old[0]) + shift:.{max(places, 2)}f}" if old else ""
        yield (
            f"{may_be(unread.place, unread.text)} It was left as it is. Where it counts to this "
            f"tip, and towards higher {axis}, it becomes {becomes}."
        )


def _unread(machine: Machine, words: re.Pattern[str], but: re.Pattern[str] | None = None) -> Iterator[str]:
    """The lines that were not understood and hold a number, whose names or legends have such words, `but` not with those."""
    for unread in _lines_with(machine, words, but):
        yield f"{may_be(unread.place, unread.text)} It was left as it is."


def _accelerations(machine: Machine) -> Iterator[str]:
    """The lines that may be the acceleration of an axis, by their words or by the unit behind them; and those that speak of
    shaking, which are measured anew and never made smaller in proportion."""
    may = [unread for unread in machine.unread if _is_acceleration(machine, unread)]
    for unread in may[:MOST_UNREAD_LINES]:
        yield f"{may_be(unread.place, unread.text)} It was left as it is."
    for unread in _lines_with(machine, _SHAKING, _ACCELERATION):
        if unread in may:
            continue
        yield f"{at_line(unread.place)}: {unread.text} speaks of shaking. It is no acceleration: do not multiply it."


def _is_acceleration(machine: Machine, unread: Unread) -> bool:
    if not PLAIN_NUMBER.fullmatch(unread.setting.value.partition(" ")[0]):
        return False
    document = next((each for each in machine.documents if each.path == unread.place.file), None)
    unit = stated(remarks_of(document).behind(unread.setting)).unit if document is not None else None
    by_unit = unit is not None and unit.of == "acceleration" and not _is_the_feeders(unread)
    by_word = _ACCELERATION.search(_spoken(unread)) and not _FELT.search(unread.setting.name)
    return by_unit or bool(by_word)


def _is_the_feeders(unread: Unread) -> bool:
    return "feeder" in vocabulary().names_in(frozenset(split(unread.setting.name)))


def _lines_with(machine: Machine, words: re.Pattern[str], but: re.Pattern[str] | None = None) -> list[Unread]:
    found = [
        each
        for each in machine.unread
        if words.search(_spoken(each))
        and PLAIN_NUMBER.fullmatch(each.setting.value.partition(" ")[0])
        and not (but and but.search(_spoken(each)))
    ]
    return found[:MOST_UNREAD_LINES]


def _lags(machine: Machine, holder: str, said: Mapping[str, Entries]) -> Iterator[str]:
    entries = said.get(holder, {})
    in_files = {
        each.quantity
        for each in machine.readings
        if str(each.holder) in (holder, str(MACHINE)) and each.value
    }
    known = entries.keys() | in_files
    missing = [f"{what} ({names[0]})" for names, what in _LAG_NEEDS if known.isdisjoint(names)]
    for reading in machine.readings:
        if reading.quantity == LAG and str(reading.holder) == holder and reading.value:
            settle = (
                f" A first value can be worked out once the sheet says {', '.join(missing)}."
                if missing
                else ""
            )
            yield f"The old lag stays in {at_line(reading.place)}: {reading.setting.name} = {reading.text}.{settle}"
            for other in machine.followers(reading):
                yield f"{at_line(other.place)} ({other.setting.name} = {other.text}) is as old, and holds as soon as that line is gone."
    for unread in machine.unread:
        if spoken_of(unread) == "lag":
            yield f"{MAY_BE}{at_line(unread.place)}: {unread.text}, by what the file says of it. It was left as it is."
