"""The lines that by-hand items are about, where a rule only knows values.

A line may say how high the probe acts and be protected by its own words: it is then read and never written, and a
person has to say what it is before anything follows from it. Likewise a line of an axis may say where its end stop stands.
And an old lag that nothing could be worked out for stays in its line, of the machine or of a profile. What stays for the
first print has a line that is changed after it, and the voltage of a screw may be noted in one. Such an item names the
line, and what would settle it.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping

from msgspec.structs import replace

from cfgmigrate.dialects.document import State
from cfgmigrate.ground.findings import Place
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.side_words import ALONG_AXIS
from cfgmigrate.machine.model import MACHINE, Machine, Reading, Unread
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split
from cfgmigrate.plan.dynamics_in_codes import spoken_of
from cfgmigrate.plan.furthest_places import furthest_places
from cfgmigrate.plan.model import ByHand, Change
from cfgmigrate.plan.switch_lines import switch_lines
from cfgmigrate.sheet.model import Entries

HEIGHT_RULE, LAG_RULE, LAG = "probe.height_unread", "lag.to_measure", "lag.coefficient"
SHIFT_RULE = "axis.nozzle_shift"
RUNOUT_RULE, RUNOUT = "runout.to_measure", "runout.distance"
#: how a step begins that names a line which may be the one
MAY_BE = "It may be "
#: words of how a switch is wired, in the trade's words: such a number is no place
_WIRED = frozenset(
    [
        "line",
        "pin",
        "port",
        "plug",
        "channel",
        "rest",
        "resting",
        "pulled",
        "pull",
        "level",
        "active",
        "open",
        "closed",
        "type",
        "inverted",
        "reversed",
        "normally",
    ]
)
_PROBE = "protected.probe"
_END_STOPS = "protected.end_stop"
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
_SHAKING = pattern(r"accel|shak|sway|resonan|frequen|vibrat", re.IGNORECASE)
_OF_PROBE = pattern(r"probe|sensor.{0,20}offset|offset.{0,20}sensor", re.IGNORECASE)
_LIMIT_RULES = ("axis.x.unread", "axis.y.unread", "axis.z.unread")
#: so many lines that were not understood are named
MOST_UNREAD_LINES = 9
_NUMBER = pattern(r"[-+]?\d{1,9}(?:\.\d{1,6})?")
#: rules of values that stay at first, or are tried out: the line that a person changes is that of the same quantity
_CHANGED_LATER = frozenset(
    (
        "machine.corner_speed",
        "retraction.lift",
        "retraction.shortest_travel",
        "retraction.wipe",
        "feeder.direction",
    )
)
#: rules that a screw is set by, once its voltage is known, and where the sheet says the old one
SCREW_RULES = frozenset(("motor.reference_voltage", "motor.current_to_set"))
OLD_VOLTAGE = "old.driver.reference_voltage"
#: how a step begins that tells an old value which no file holds
WITH_THE_OLD = "With the old drive it was "
_VOLTS = frozenset(("volt", "volts", "voltage"))
#: what the name of a driver's voltage may say besides without saying whose it is
_OF_ANY_DRIVER = _VOLTS | {
    "driver",
    "drivers",
    "drive",
    "motor",
    "stepper",
    "reference",
    "ref",
    "screw",
    "set",
    "old",
    "now",
    "v",
}
#: V; what is more is no reference voltage of a driver (common practice, no source)
HIGHEST_REFERENCE = 5.0


def with_lines(
    items: Iterable[ByHand],
    machine: Machine,
    said: Mapping[str, Entries],
    in_doubt: Mapping[str, Place],
    swapped: Collection[int] = (),
    changes: Iterable[Change] = (),
) -> list[ByHand]:
    """The by-hand items, with the lines that they are about as first steps, or as last ones of a screw. `said` is what the sheet says of each
    holder, by its name, `in_doubt` the lines that may set a quantity, `swapped` are the feeders that it tells of, and what one of
    the `changes` writes is not to be moved by hand once more."""
    written = frozenset((edit.file, edit.start) for change in changes for edit in change.edits)
    height = tuple(_heights(machine))

    def steps(item: ByHand) -> tuple[str, ...]:
        if item.rule == HEIGHT_RULE:
            return height
        if item.rule.startswith(f"{_END_STOPS}_"):
            return (*_end_stops(machine, item.rule[-1]), *_stands_in(machine, item, written))
        if item.rule == RUNOUT_RULE:
            return tuple(_stands_in(machine, item, written, swapped))
        if item.rule == SHIFT_RULE:
            return tuple(_nozzle_heights(machine))
        if item.rule.startswith("tips."):
            return tuple(_tips(machine, item))
        if item.rule == "machine.acceleration_unread":
            return tuple(_unread(machine, _SHAKING))
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
        if item.rule in _CHANGED_LATER:
            return tuple(_own_lines(machine, item, swapped))
        if item.rule in SCREW_RULES:
            return tuple(_voltage(machine, said))
        return tuple(_not_taken(in_doubt, item.rule))

    def all_steps(item: ByHand) -> tuple[str, ...]:
        # part 2 of the checklist names a screw's own steps by their numbers, so what notes its voltage comes behind them
        return (*item.steps, *steps(item)) if item.rule in SCREW_RULES else (*steps(item), *item.steps)

    return [_said_with(replace(item, steps=all_steps(item))) for item in items]


#: how a rule says that no line of an end stop was read
_NO_FILE_SAYS = pattern(r"No line was understood that says where the ([xyz]) end stop stands\.")


def _said_with(item: ByHand) -> ByHand:
    """The same item, which doesn't say that no file tells where an end stop stands where a line may be the one."""
    lines = [step.removeprefix(MAY_BE).partition(". ")[0] for step in item.steps if step.startswith(MAY_BE)]
    if not lines or not any(_NO_FILE_SAYS.search(each) for each in item.warnings):
        return item
    said = f"Where the \\1 end stop stands may be said by {' or '.join(lines)}."
    return replace(item, warnings=tuple(_NO_FILE_SAYS.sub(said, each) for each in item.warnings))


def _nozzle_heights(machine: Machine) -> Iterator[str]:
    """The lines that may say how high the nozzle stands where z is homed: wrong once its tip has moved, whatever else they are."""
    found = [
        f"{document.path}:{each.line} ({each.name} = {each.value})"
        for document in machine.documents
        for each in document.settings
        if each.state is State.ACTIVE
        and _NUMBER.match(each.value)
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
    names = (
        [RUNOUT] if item.rule == RUNOUT_RULE else [f"end_stop.{axis}", f"axis.{axis}.min", f"axis.{axis}.max"]
    )
    lines = [
        each
        for each in machine.every_reading
        if each.quantity in names and (not swapped or set(swapped) & set(each.serves))
    ]
    done = [each for each in lines if (each.place.file, each.start) in written]
    stop = next((each.value for each in lines if each.quantity == f"end_stop.{axis}"), None)
    found = [
        f"{each.place.file}:{each.place.line} ({each.setting.name} = {each.text}{_goes_to(each, stop, item)})"
        for each in lines
        if each not in done
    ]
    if found:
        whole = item.rule == RUNOUT_RULE or any(each.quantity == names[0] for each in machine.every_reading)
        what = "lines" if whole else f"limits of {axis}"
        yield f"The {what}: {', '.join(found[:MOST_UNREAD_LINES])}."
    if done:
        places = ", ".join(f"{each.place.file}:{each.place.line} ({each.setting.name})" for each in done)
        yield f"Not in these, which the packet writes: {places}. What it wrote there is right as it is; add nothing to it."


def _goes_to(reading: Reading, stop: float | None, item: ByHand) -> str:
    """What a line becomes that says where the end stop stands, or the limit there."""
    there = stop is not None and reading.value == stop and reading.text and _NUMBER.fullmatch(reading.text)
    in_mm = there and float(reading.text) == reading.value
    return f", becomes {item.value:g}" if in_mm and item.value is not None else ""


def _own_lines(machine: Machine, item: ByHand, swapped: Collection[int]) -> Iterator[str]:
    """Where the value that such an item is about stands, everywhere: of what is said once for all of them, each swapped
    feeder's own."""
    whose = {item.holder, *(f"feeder {number}" for number in swapped if item.holder == str(MACHINE))}
    found = [
        f"{each.place.file}:{each.place.line} ({each.setting.name} = {each.text})"
        for each in machine.every_reading
        if each.quantity == item.rule and str(each.holder) in whose
    ]
    if found:
        yield f"Where it stands: {', '.join(found[:MOST_UNREAD_LINES])}."


def _voltage(machine: Machine, said: Mapping[str, Entries]) -> Iterator[str]:
    """What the screw was set to before, by the sheet, and the lines of the files that note it."""
    old = next((entries[OLD_VOLTAGE] for entries in said.values() if OLD_VOLTAGE in entries), None)
    if old is not None:
        yield f"{WITH_THE_OLD}{old.text}, by the sheet."
    value = None if old is None else old.value
    notes = [
        (each, why)
        for each in (*machine.unread, *machine.said_nothing)
        if (why := _notes_voltage(each, value))
    ]
    for each, why in notes[:MOST_UNREAD_LINES]:
        yield (
            f"{each.place.file}:{each.place.line} ({each.text}) notes the old one, by {why}. Write there what you set, "
            "if it is a note."
        )


def _notes_voltage(unread: Unread, old: float | None) -> str:
    """By what a setting that was not understood may note the voltage of the feeder's driver, "" where it does not: by its name,
    or by its number where its name says nothing but that it is a voltage, of a driver or of the
    filament. A number is nobody's own, so where a
    name has a word for anything else it is that thing's."""
    pieces, number = split(unread.setting.name), _NUMBER.fullmatch(unread.setting.value.strip())
    if number is None or unread.setting.state is State.INACTIVE or _VOLTS.isdisjoint(pieces):
        return ""
    if not 0 < float(number[0]) <= HIGHEST_REFERENCE:
        return ""
    spelled = {piece: ways_of(piece)[0] for piece in pieces}
    if "feeder" in vocabulary().names_in(frozenset(word for words in spelled.values() for word in words)):
        return "its name"
    plain = all(
        piece in _OF_ANY_DRIVER or "filament" in vocabulary().names_in(frozenset(words))
        for piece, words in spelled.items()
    )
    return "its number" if float(number[0]) == old and plain else ""


def _not_taken(in_doubt: Mapping[str, Place], rule: str) -> Iterator[str]:
    """The line that may set what a rule of that name works out, where it was not taken."""
    if (place := in_doubt.get(rule)) is not None:
        yield f"{MAY_BE}{place.file}:{place.line}, which is not understood in full: see the question about that line."


def _heights(machine: Machine) -> Iterator[str]:
    for reading in machine.readings:
        if reading.quantity.startswith(_PROBE):
            place = f"{reading.place.file}:{reading.place.line}"
            line = name_line(reading.setting, "probe.offset_z")
            yield (
                f"{MAY_BE}{place}: {reading.setting.name} = {reading.text}. If it says how high the tip stands when the "
                f"probe acts, write in cfgmigrate.yaml, under meanings: {line}. It is protected, so it is read then, and "
                "set by hand."
            )


def _end_stops(machine: Machine, axis: str) -> Iterator[str]:
    """The lines with a number that their words protect as an end stop's: of the axis's own section, where its limits tell
    which that is. None of another axis, and none that tells how the switch is wired."""
    limits = [each for each in machine.readings if each.quantity.startswith(f"axis.{axis}.")]
    sections = {(each.place.file, each.setting.section) for each in limits if each.setting.section}
    if any(each.quantity == f"end_stop.{axis}" for each in machine.readings):
        return
    for reading in machine.every_reading:
        words = set(split(reading.setting.key))
        own = not sections or (reading.place.file, reading.setting.section) in sections
        own = own and not words & _WIRED and (axis in words or not words & {"x", "y", "z"})
        if own and reading.quantity.startswith(_END_STOPS) and _NUMBER.fullmatch(reading.text):
            place = f"{reading.place.file}:{reading.place.line}"
            yield f"{MAY_BE}{place}: {reading.setting.name} = {reading.text}. It is protected, and was left as it is."
            yield from (_limit_there(each) for each in limits if _same_number(each, reading.text))
    named = {
        (each.place.file, each.place.line)
        for each in machine.every_reading
        if each.quantity.startswith(_END_STOPS)
    }
    for at, setting, _ in switch_lines(machine, axis):
        if (at.file, at.line) not in named:
            text = f"{setting.name} = {setting.value.strip()}"
            yield f"{MAY_BE}{at.file}:{at.line}: {text}. It is a line of a switch by its words, and was left as it is."


def _same_number(limit: Reading, text: str) -> bool:
    """Whether a limit stands at the very place of an end stop."""
    return limit.quantity.endswith((".min", ".max")) and limit.value == float(text)


def _limit_there(limit: Reading) -> str:
    where = f"{limit.place.file}:{limit.place.line} ({limit.setting.name} = {limit.text})"
    return f"If it is, {where} is the limit at this end stop and moves by the same."


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
            here = f"{reading.place.file}:{reading.place.line} ({reading.setting.name} = {reading.text})"
            yield (
                f"{here} becomes {reading.value + shift:.{places}f} where it is this tip, seen from another one, and "
                f"{reading.value - shift:.{places}f} where it is another tip, seen from this one."
            )
    others = {word for other, words in _AXIS_WORDS.items() if other != axis for word in words}
    for unread in _lines_with(machine, _TIP, _TO_TIP):
        if others & set(split(f"{unread.setting.key} {unread.said}")):
            continue
        old = _NUMBER.match(unread.setting.value)
        places = len(old[0].partition(".")[2]) if old else 0
        becomes = f"{float(old[0]) + shift:.{max(places, 2)}f}" if old else ""
        yield (
            f"{MAY_BE}{unread.place.file}:{unread.place.line}: {unread.text}. It was left as it is. Where it counts to this "
            f"tip, and towards higher {axis}, it becomes {becomes}."
        )


def _unread(machine: Machine, words: re.Pattern[str], but: re.Pattern[str] | None = None) -> Iterator[str]:
    """The lines that were not understood and hold a number, whose names or legends have such words, `but` not with those."""
    for unread in _lines_with(machine, words, but):
        yield f"{MAY_BE}{unread.place.file}:{unread.place.line}: {unread.text}. It was left as it is."


def _lines_with(machine: Machine, words: re.Pattern[str], but: re.Pattern[str] | None = None) -> list[Unread]:
    found = [
        each
        for each in machine.unread
        if words.search(_spoken(each))
        and _NUMBER.fullmatch(each.setting.value.partition(" ")[0])
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
            place = f"{reading.place.file}:{reading.place.line}"
            settle = (
                f" A first value can be worked out once the sheet says {', '.join(missing)}."
                if missing
                else ""
            )
            yield f"The old lag stays in {place}: {reading.setting.name} = {reading.text}.{settle}"
    for unread in machine.unread:
        if spoken_of(unread) == "lag":
            place = f"{unread.place.file}:{unread.place.line}"
            yield f"{MAY_BE}{place}: {unread.text}, by what the file says of it. It was left as it is."
