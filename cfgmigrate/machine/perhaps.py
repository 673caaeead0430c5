"""Lines that may be a value which can wreck a machine, and for which no line was read: `[hoist] high = 262`.

Where no line was understood to set the highest z or the motor's current, a person would be told to set it where the machine
keeps it, and would look in vain for the line that stands in their own file in words that nobody knows. So a line that was
not read may be it where no known word of its name says something else, and its number, in its unit, is one that the value
usually has. Lines are offered in this order:

1. the line that is named as those of the highest x and y are, but for the axis
2. names with a word for what is looked for
3. names of unknown words alone
4. where nothing else may be it, the end of z's travel that an end stop is said to be at

Besides, these may be one:

- a time in seconds, or a number of the filament's, whose name has a word that only comes near a lag: the lag
- beside a line that is read as the highest z, one that says the same height once more; beside an end of x or y, one that says it
  once more by its side
- where nothing sets how much is fed for a turn or a step, a line of no axis that says steps for each mm, and one that is named as
  those of the axes' steps are but for its letter: `D_STEPS` beside `STEPS_X`
- beside a lag that is read, a line of the letters that may be one as well: that of a profile, which wins

Nothing is read by this: such a line is named, offered and asked about.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import takewhile

from msgspec import Struct

from cfgmigrate.dialects.document import Setting, State
from cfgmigrate.dialects.value import Items, Number, Value, read_value
from cfgmigrate.files.site import CODE_WORD
from cfgmigrate.ground.once import once
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.collection import line_of
from cfgmigrate.machine.ends_again import end_by_side, end_with
from cfgmigrate.machine.heights_again import highest_z_with, speaks_of_print_height
from cfgmigrate.machine.key_units import key_dimension
from cfgmigrate.machine.model import Machine, Reading, Unread
from cfgmigrate.machine.number_units import NOT_PLAUSIBLE
from cfgmigrate.machine.offered import offered
from cfgmigrate.machine.plugs import named_by_plug
from cfgmigrate.machine.quantities import facts
from cfgmigrate.machine.remarks import Remarks, remarks_of
from cfgmigrate.machine.stated import stated
from cfgmigrate.machine.steps_of_currents import steps_of_currents
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import read_name, split

#: names that differ in a number alone, so many of them, are a table
FEWEST_ROWS = 6
#: letters that may be the lag's wherever they stand
_LAG_LETTERS = frozenset(("pa",))
#: so many are told of one value at most
MOST_PERHAPS = 3
_HEIGHT, _CURRENT, _LAG = "axis.z.max", "motor.run_current", "lag.coefficient"
_STEPS, _FEED = "feeder.steps_per_mm", "feeder.feed_per_turn"
_STEPS_OF_AXES = frozenset(("axis.x.steps_per_mm", "axis.y.steps_per_mm", "axis.z.steps_per_mm"))
#: the senses that a word of the highest z may have, and those of them that speak for it by themselves
_SENSES = frozenset(
    ("z", "height", "maximum", "limit", "bound", "length", "position", "lift", "last", "to", "tallest", "carriage",
     "longest", "build", "size", "mm", "move", "progress", "trip", "volume", "permitted")
)  # fmt: skip
_TELLING = frozenset(("z", "height", "maximum", "limit", "bound", "lift", "tallest", "longest", "build"))
#: beside a code's number a limit may be of anything, and `mm up` of a retraction
_OF_HEIGHT = frozenset(("z", "height", "tallest", "build"))
#: mm; where the highest z of any printer lies (common practice, no source)
_HEIGHTS = (80.0, 700.0)
#: so many numbers in a list are those of the axes
_AXES_IN_LIST = (3, 5)
#: and so many those of one axis's two ends
ENDS = 2
_AXES = frozenset(("x", "y", "z"))
_OTHER_ENDS = frozenset(("axis.x.max", "axis.y.max"))
#: so many words the names of two axes' lines have alike at least (of those with both ends one less), and an axis so many at most
_WORDS_ALIKE, _WORDS_OF_AN_AXIS = 2, 3
#: what is counted for each mm
_COUNTS = frozenset(("step", "steps", "microstep", "microsteps", "counted", "count", "counts"))
#: units of time at the end of a name
_OF_TIME = frozenset(("s", "sec", "secs", "second", "seconds", "ms"))
#: words that the feeder's current is called by, and those of another one
_OF_FEEDING = frozenset(("feeder", "feed", "drive", "extruder", "motor"))
_OTHER_CURRENT = frozenset(("hold", "limit", "sense", "bed", "heater", "fan"))
#: how a switch is told, and what is said of it besides where it stands
_END_STOP = "protected.end_stop"
_NO_END = frozenset(("pin", "speed", "current", "time", "fast", "slow", "acceleration"))
_ROW = pattern(r"\d+")


class Perhaps(Struct, frozen=True):
    """A line that may set a quantity for which no line was read, or that `beside` was read for: the highest z with the same number, a lag of
    another holder."""

    quantity: str
    unread: Unread
    beside: Reading | None = None
    #: who tells so, and the unit, where the line is named by the plug of the feeder's motor
    told: str = ""
    unit: str = ""


@once
def perhaps(machine: Machine) -> tuple[Perhaps, ...]:
    """The lines in force that may be the highest z, the feeder's current or the lag, where no line was read for it, and those
    that say the highest z once more or may be a further lag."""
    read = {each.quantity for each in machine.every_reading}
    lines = [each for each in _not_read(machine) if each.setting.state is State.ACTIVE]
    found: list[Perhaps] = []
    if _CURRENT not in read:
        plugs = [each for each in named_by_plug(machine) if each.quantity == _CURRENT]
        found += [Perhaps(_CURRENT, each.unread, None, each.told, each.unit) for each in plugs]
        by_plug = {(each.unread.place.file, each.unread.setting.at) for each in plugs}
        found += [
            Perhaps(_CURRENT, each)
            for each in lines
            if (each.place.file, each.setting.at) not in by_plug and _names_a_current(each)
        ]
    by_quantity = {each.quantity: each for each in machine.every_reading}
    asked = {(each.unread.place.file, each.unread.setting.at) for each in found}
    found += [
        Perhaps(each.quantity, each.unread, by_quantity.get(each.quantity), each.told, each.unit)
        for each in steps_of_currents(machine, lines)
        if (each.unread.place.file, each.unread.setting.at) not in asked
    ]
    if read.isdisjoint((_STEPS, _FEED)):
        found += [Perhaps(_STEPS, each) for each in tuple(_steps(machine, lines))[:MOST_PERHAPS]]
    lag = next((each for each in machine.every_reading if each.quantity == _LAG), None)
    lags = tuple(_lags(machine, lines))
    # beside a lag that is read, two letters may be that of a profile or of another section
    by_letters = [each for each in lags if not _LAG_LETTERS.isdisjoint(_words(each.setting))]
    others = [each for each in lags if each not in by_letters] if lag is None else []
    found += [Perhaps(_LAG, each, lag) for each in (*by_letters, *others[:MOST_PERHAPS])]
    if _HEIGHT not in read:
        found += [
            Perhaps(_HEIGHT, each) for each in _heights(machine, lines) or tuple(_ends_of_travel(machine))
        ]
    else:
        found += _heights_again(machine)
    found += _ends_again(machine)
    return tuple(found)


def _steps(machine: Machine, lines: Iterable[Unread]) -> Iterator[Unread]:
    """The lines of no axis, bed or other part that say steps for each mm, whoever they belong to."""
    of_others = _AXES.union(offered().elsewhere, ("bed",)) - _COUNTS
    axes_lines = (
        frozenset(_words(each.setting)) for each in machine.readings if each.quantity in _STEPS_OF_AXES
    )
    of_axes = {words - _AXES for words in axes_lines if words & _AXES and words - _AXES}
    for each in lines:
        number = read_value(each.setting.value)
        plausible = isinstance(number, Number) and facts(_STEPS).quantity.plausible(number.value)
        if not plausible or not of_others.isdisjoint(_words(each.setting)):
            continue
        if _says_steps(machine, each) or _named_as_an_axis_s(each, of_axes):
            yield each


def _named_as_an_axis_s(each: Unread, of_axes: Iterable[frozenset[str]]) -> bool:
    """Whether a line has all words of an axis's line but the axis, and a letter of its own."""
    words = frozenset(_words(each.setting))
    return any(
        own <= words and any(len(word) == 1 and word.isalpha() for word in words - own) for own in of_axes
    )


def _says_steps(machine: Machine, each: Unread) -> bool:
    """Whether a line's name, or what is said of its code, is steps for each mm."""
    document = machine.document(each.place.file)
    beside = remarks_of(document).of_line(each.setting) if document.dialect == "command" else ""
    senses = vocabulary().names_in(frozenset((*_words(each.setting), *split(f"{each.said} {beside}"))))
    return "mm" in senses and not _COUNTS.isdisjoint(senses)


def _lags(machine: Machine, lines: Iterable[Unread]) -> Iterator[Unread]:
    """The lines with a word that comes near a lag, and a number that is one in seconds, or in no unit where the name or a
    profile speaks of what is fed."""
    near = {word for word, meant in offered().near.items() if (_LAG,) in meant}
    profiles = {each.place.file for each in machine.found_profiles}
    for each in lines:
        setting = each.setting
        pieces = (*split(setting.section), *split(setting.key))
        number = read_value(setting.value)
        if near.isdisjoint(pieces) or not isinstance(number, Number):
            continue
        remark = remarks_of(machine.document(each.place.file)).behind(setting)
        told = stated(number.unit or remark).unit
        unit = facts(_LAG).unit(told.name) if told else None
        timed = ("time",) if pieces[-1] in _OF_TIME else key_dimension(tuple(split(setting.key)))
        if (told and unit is None) or (timed and timed != ("time",)):
            continue
        named = vocabulary().names_in(frozenset(pieces))
        fed = each.place.file in profiles or not named.isdisjoint(_OF_FEEDING | {"filament"})
        fed = fed or _LAG_LETTERS.issuperset(split(setting.key))
        value = unit.to_value(number.value) if unit else number.value * (0.001 if pieces[-1] == "ms" else 1.0)
        if (unit or timed or fed) and offered().is_usual(_LAG, value):
            yield each


def _heights_again(machine: Machine) -> Iterator[Perhaps]:
    for unread in machine.unread:
        if speaks_of_print_height(unread):
            remark = remarks_of(machine.document(unread.place.file)).behind(unread.setting)
            reading = highest_z_with(_lengths(unread.setting, remark), machine)
            if reading is not None:
                yield Perhaps(_HEIGHT, unread, reading)


def _ends_again(machine: Machine) -> Iterator[Perhaps]:
    for unread in machine.unread:
        if end := end_by_side(unread):
            remark = remarks_of(machine.document(unread.place.file)).behind(unread.setting)
            reading = end_with(_lengths(unread.setting, remark), end, machine)
            if reading is not None:
                yield Perhaps(end, unread, reading)


def _not_read(machine: Machine) -> Iterator[Unread]:
    """What was not understood, and what was but has no number that its quantity can have."""
    yield from machine.unread
    read = {(each.place.file, each.setting.at) for each in machine.every_reading}
    unread = {(each.place.file, each.setting.at) for each in machine.unread}
    doubted = {(each.place.file, each.place.line) for each in machine.doubts if NOT_PLAUSIBLE in each.why}
    for document in machine.documents if doubted else ():
        for setting in document.settings:
            at = document.path, setting.at
            if (document.path, setting.line) in doubted and at not in read and at not in unread:
                yield Unread(document.place(setting), line_of(setting), setting)


def _third_axis(
    machine: Machine, lines: Iterable[Unread], remarks: Mapping[str, Remarks]
) -> Iterator[Unread]:
    """The lines that are named as those of the highest x and y are, but for the axis: that of the third one."""
    ends = {each.quantity: each for each in machine.readings if each.quantity in _OTHER_ENDS}
    if len(ends) < len(_OTHER_ENDS):
        return
    one, other = ends.values()
    file, pair = one.place.file, isinstance(read_value(one.setting.value), Items)
    x, y = _words(one.setting), _words(other.setting)
    before = _alike(x, y)
    after = _alike(x[before:][::-1], y[before:][::-1])
    if other.place.file != file or before + after + pair < _WORDS_ALIKE:
        return
    for each in lines:
        words = _words(each.setting)
        named = words[:before] == x[:before] and words[len(words) - after :] == x[len(x) - after :]
        same = each.place.file == file and isinstance(read_value(each.setting.value), Items) == pair
        if same and named and 0 < len(words) - before - after <= _WORDS_OF_AN_AXIS:
            remark = remarks[file].behind(each.setting)
            if any(map(_is_height, _lengths(each.setting, remark, (ENDS, ENDS)))):
                yield each


def _alike(some: Sequence[str], others: Sequence[str]) -> int:
    """With how many of the same words two names begin."""
    return sum(1 for _ in takewhile(lambda two: two[0] == two[1], zip(some, others, strict=False)))


def _words(setting: Setting) -> tuple[str, ...]:
    return (*split(setting.section), *split(setting.key))


def _heights(machine: Machine, lines: Sequence[Unread]) -> tuple[Unread, ...]:
    """The lines that may be the highest z, those of one kind: that of the third axis, else that speak of it, else those of unknown
    words alone."""
    remarks = {document.path: remarks_of(document) for document in machine.documents}
    if third := tuple(_third_axis(machine, lines, remarks)):
        return third[:MOST_PERHAPS]
    filaments = {each.place.file for each in machine.every_reading if each.holder.profile is not None}
    possible = [
        each
        for each in lines
        if each.place.file not in filaments
        and _high(each.setting, remarks[each.place.file])
        and _may_speak_of_it(each.said)
        and not _says_steps(machine, each)
        and not _silent_code(each, remarks[each.place.file])
    ]
    rows = Counter(_row(each) for each in possible)
    alone = [each for each in possible if rows[_row(each)] < FEWEST_ROWS]
    telling = [each for each in alone if not _TELLING.isdisjoint(_senses(each.setting))]
    usual = [each for each in alone if _usual(read_value(each.setting.value))]
    return tuple((telling or usual)[:MOST_PERHAPS])


def _ends_of_travel(machine: Machine) -> Iterator[Unread]:
    """The lines of an end stop with a length that may be the highest z: of z by their words, or a list of all axes. What says in
    full where the end stop stands is that, and can't be told to be anything else; its own step by hand moves it."""
    for each in machine.readings:
        setting, words = each.setting, frozenset(_words(each.setting))
        if not each.quantity.startswith(_END_STOP) or setting.state is not State.ACTIVE:
            continue
        if not vocabulary().names_in(words).isdisjoint(_NO_END) or key_dimension(tuple(split(setting.key))):
            continue
        lengths = _lengths(
            setting, remarks_of(machine.document(each.place.file)).behind(setting), (ENDS, _AXES_IN_LIST[1])
        )
        of_z = "z" in vocabulary().names_in(words) and len(lengths) <= ENDS
        if any(map(_is_height, lengths if of_z else lengths[2:3])):
            yield Unread(each.place, line_of(setting), setting)


def _may_speak_of_it(said: str) -> bool:
    """Whether what a file says of a code speaks of a height, or of nothing else."""
    words = read_name("", said).words
    telling = not _TELLING.isdisjoint(vocabulary().names_in(frozenset(words)))
    return telling or all(map(_possible, words))


def _row(each: Unread) -> tuple[str, str]:
    return each.place.file, _ROW.sub("#", each.setting.name)


def _high(setting: Setting, remarks: Remarks) -> bool:
    """Whether a setting's number, or one of its list, may be the highest z, and none of its words says another thing."""
    name = read_name(setting.section, setting.key)
    if not offered().elsewhere.isdisjoint(name.words) or not all(map(_possible, name.words)):
        return False
    remark = remarks.behind(setting)
    axes = _AXES.intersection(split(remark))
    if axes and "z" not in axes:
        return False
    return any(map(_is_height, _lengths(setting, remark)))


def _is_height(number: float) -> bool:
    return _HEIGHTS[0] <= number <= _HEIGHTS[1]


def _silent_code(each: Unread, remarks: Remarks) -> bool:
    """Whether a line is a number behind a code's letter other than z, and nothing beside it speaks of a height: most codes switch
    or heat something."""
    setting = each.setting
    if not CODE_WORD.fullmatch(f"{setting.section}.{setting.key}") or setting.key.upper() == "Z":
        return False
    return _OF_HEIGHT.isdisjoint(
        vocabulary().names_in(frozenset(split(f"{each.said} {remarks.behind(setting)}")))
    )


def _lengths(setting: Setting, remark: str, in_list: tuple[int, int] = _AXES_IN_LIST) -> list[float]:
    """A setting's lone number in mm, or those of its list of so many; none where its unit is of another measure."""
    value = read_value(setting.value)
    told = stated((value.unit if isinstance(value, Number) else "") or remark).unit
    unit = facts(_HEIGHT).unit(told.name) if told else None
    if told and unit is None:
        return []
    return [unit.to_value(each) if unit else each for each in _numbers(value, in_list)]


def _numbers(value: Value, in_list: tuple[int, int] = _AXES_IN_LIST) -> list[float]:
    """A lone number, or those of a list of so many: one for each axis."""
    if isinstance(value, Number):
        return [value.value]
    if isinstance(value, Items) and in_list[0] <= len(value.items) <= in_list[1]:
        return [each.value for each in value.items if isinstance(each, Number)]
    return []


def _usual(value: Value) -> bool:
    return any(offered().is_usual(_HEIGHT, each) for each in _numbers(value))


def _senses(setting: Setting) -> frozenset[str]:
    return vocabulary().names_in(frozenset(read_name(setting.section, setting.key).words))


def _possible(word: str) -> bool:
    """Whether a word is one that means nothing by itself, or has a sense that the highest z may have."""
    senses = vocabulary().names_in(frozenset((word,))) & vocabulary().spellings.keys()
    return not senses or not _SENSES.isdisjoint(senses)


def in_volts(unread: Unread) -> bool:
    """Whether a line's name says that its number is a voltage: what a screw is set to, and never the current itself."""
    words = frozenset(read_name(unread.setting.section, unread.setting.key).words)
    return "voltage" in vocabulary().names_in(words)


def _names_a_current(each: Unread) -> bool:
    """Whether a line with a number names a current, or the feeder's reference: in a unit or a list that is not understood
    it may be the motor's current."""
    value = read_value(each.setting.value)
    last = value.items[-1] if isinstance(value, Items) and value.items else value
    if not isinstance(last, Number) or not last.value:
        return False
    words = frozenset(read_name(each.setting.section, each.setting.key).words)
    named = words | vocabulary().names_in(words)
    of_feeding = bool(named & _OF_FEEDING)
    called = "current" in named and (of_feeding or named.isdisjoint(_AXES))
    return (called or ("reference" in named and of_feeding)) and named.isdisjoint(_OTHER_CURRENT)
