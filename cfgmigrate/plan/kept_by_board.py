"""What the board keeps of its own and nobody understood, though it wins over the files at power on.

Where saved values lie beside the files and hold a number near an old value that a light is about, that number may be the
value in force, and writing the files alone would leave it old in silence. So each such value is told with the place that may be
it. Where more of the saved values is strange than known, any of them may be. Rows of a table, such as heights of a bed, are none,
and what names an axis, another feeder, another measure or another part of the machine is not the feeder's.

The same holds of a file that a line names as read after the one with the old value. And a text beside the files that may be a
listing of what the board keeps is held against them by the names of its lines.

This module reads nothing anew, and what to do about it is the matter of the lights.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from functools import lru_cache

from cfgmigrate.dialects.document import Document
from cfgmigrate.dialects.labelled import row
from cfgmigrate.files.marks import is_a_date
from cfgmigrate.files.read_after import ReadAfter, read_after
from cfgmigrate.files.roles import ANY_SETTING
from cfgmigrate.ground.once import once
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.key_units import key_dimension
from cfgmigrate.machine.matching import best_fits
from cfgmigrate.machine.model import Machine, Reading, Unread
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.remarks import remarks_of
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import read_name, split
from cfgmigrate.plan.controller_gains import is_a_gain
from cfgmigrate.plan.headed_codes import heading_of

#: a saved number within this part of an old value may be it
NEAR_THE_SAVED = 0.25
#: from this part on that was not understood, any value may be among the saved ones
MOSTLY_STRANGE = 0.5
#: so many characters of a setting are looked at
LONGEST_SAVED_LINE = 200
_NUMBER = pattern(r"(?<![\d.])-?\d{1,12}(?:\.\d{1,12})?(?![\d.])")
_BEHIND_A_NUMBER = pattern(r"-?\d{1,12}(?:\.\d{1,12})?[ \t]{0,3}[A-Za-z%°µ/][A-Za-z/²^\d]{0,8}")
#: a key that stands so often in a saved file is a table's
ROWS_OF_A_TABLE = 6
#: the steps between the units that one measure is written in: milli, and minutes for what goes by time
_STEPS = (1.0, 1000.0, 0.001)
_OF_TIME = (60.0, 1 / 60.0)
#: the peak of a current that goes up and down as a sine, by its rms value
PEAK_OF_RMS = 2**0.5
#: what a key says that names the unit of a measure, by the unit of a quantity
_DIMENSIONS = {
    "A": ("current",), "mm": ("length",), "mm/s": ("speed",), "mm/s^2": ("acceleration",), "s": ("time",), "ohm": ("resistor",),
}  # fmt: skip
#: what is counted, chosen by a person or sent over a cable: nothing that moves
_COUNTED = pattern(
    r"\b(?:hours?|days|met(?:re|er)s|counters?|errors?|prints|starts|baud|sleep|language|menu|preheat|bell|beep|colou?rs?|bright\w*)\b",
    re.IGNORECASE,
)
#: parts that a setting of the drive may speak of
_OF_A_DRIVE = frozenset(("feeder", "feed", "drive", "filament", "retraction", "profile"))


def perhaps_kept(machine: Machine, wanted: Iterable[Reading]) -> dict[str, str]:
    """For each wanted reading that no saved file is known to hold: the place that may be it, by its quantity."""
    listed = dict(_listed(machine, wanted := tuple(wanted)))
    strange = [
        each
        for each in machine.unread
        if each.place.file in machine.saved and _numbers(each) and not is_a_date(each.setting.value)
    ]
    if not strange:
        return listed
    rows = Counter((each.place.file, each.setting.name) for each in strange)
    single = [each for each in strange if rows[each.place.file, each.setting.name] < ROWS_OF_A_TABLE]
    known = {
        (reading.quantity, feeder)
        for reading in machine.every_reading
        if reading.place.file in machine.saved
        for feeder in reading.serves
    }
    found = listed
    for reading in wanted:
        if (
            reading.quantity in found
            or reading.place.file in machine.saved
            or any((reading.quantity, each) in known for each in reading.serves)
        ):
            continue
        possible = [each for each in single if may_be_it(each, reading, machine)]
        if near := [each for each in possible if is_near(each, reading)]:
            found[reading.quantity] = _told(_likeliest_first(near, reading, machine))
        elif strangest := _mostly_strange(machine, possible, rows, machine.saved):
            found[reading.quantity] = strangest
    return found


def perhaps_over(machine: Machine, wanted: Iterable[Reading]) -> dict[str, str]:
    """For each wanted reading that a file which is read after its own may override by a line that nobody understood: that
    line, with what says that it is read after it. Where the later file has a value of it that was read, that one counts."""
    after = _perhaps_read_after(machine)
    if not after:
        return {}
    profiles = {each.place.file for each in machine.found_profiles}
    strange = [each for each in machine.unread if _numbers(each) and not is_a_date(each.setting.value)]
    rows = Counter((each.place.file, each.setting.name) for each in strange)
    known = {(each.quantity, each.place.file) for each in machine.every_reading}
    found: dict[str, str] = {}
    for reading in wanted:
        later = after.get(reading.place.file, {}) if reading.place.file not in profiles else {}
        for file, said in later.items():
            if file in profiles or file in machine.saved or (reading.quantity, file) in known:
                continue
            own = [each for each in strange if each.place.file == file and _single(each, rows)]
            possible = [each for each in own if may_be_it(each, reading, machine)]
            near = sorted((each for each in possible if is_near(each, reading)), key=farness_of(reading))
            told = _told(near) if near else _mostly_strange(machine, possible, rows, (file,))
            if told:
                found[reading.quantity] = f"{told}, where {file} is read after it ({said.where}),"
                break
    return found


@once
def _perhaps_read_after(machine: Machine) -> Mapping[str, Mapping[str, ReadAfter]]:
    return read_after(machine.documents, perhaps=True)


def _single(unread: Unread, rows: Mapping[tuple[str, str], int]) -> bool:
    return rows[unread.place.file, unread.setting.name] < ROWS_OF_A_TABLE


def farness_of(reading: Reading) -> Callable[[Unread], float]:
    """How far a line's numbers are from an old value, in parts of it."""
    old = reading.value or 1.0
    return lambda unread: min(
        abs(number * step - old) / abs(old) for number in _numbers(unread) for step in _steps_of(reading)
    )


def listed_otherwise(machine: Machine, wanted: Iterable[Reading]) -> dict[str, str]:
    """What a text beside the files says of wanted readings with another number than theirs, by quantity."""
    by_name = {each.quantity: each for each in wanted}
    return {
        name: told
        for name, told in _listed(machine, by_name.values())
        if not any(
            float(number) == float(own)
            for number in _NUMBER.findall(told.rpartition(" (")[0])
            for own in _NUMBER.findall(by_name[name].text)
        )
    }


def _listed(machine: Machine, wanted: Iterable[Reading]) -> Iterator[tuple[str, str]]:
    """What a text beside the files says of each wanted reading, where it may be a listing of what the board keeps."""
    listed = [(role.path, each) for role in machine.unclaimed for each in reversed(role.holds)]
    lines = {each.of: (path, each) for path, each in listed if each.of}
    rows = {name: (path, each) for path, each in listed if not each.of for name in _meant_by_row(each.text)}
    unread = {
        path: len(role.holds)
        for role in machine.unclaimed
        for path in (role.path,)
        if role.holds[0].of == ANY_SETTING
    }
    for reading in wanted:
        if found := lines.get(reading.setting.name) or rows.get(reading.quantity):
            path, each = found
            yield reading.quantity, f"{each.text} ({path}:{each.line})"
        elif unread:
            path, many = next(iter(unread.items()))
            yield reading.quantity, f"one of the {many} lines with a number in {path}"


def _meant_by_row(text: str) -> Iterator[str]:
    """The quantities that the numbers of a listing's row may be."""
    of, parts = row(text, 0, len(text))
    for name, _, _ in parts:
        yield from (fit.quantity for fit in best_fits((read_name(of, name),))[1])


def may_be_it(unread: Unread, reading: Reading, machine: Machine) -> bool:
    """Whether a name may be that of a reading: cryptic ones may be anything; one in words says no other axis, feeder or
    measure, and a part that the quantity has nothing to do with only beside a word of the quantity's own."""
    pieces = _pieces(unread, machine)
    measure = key_dimension(tuple(split(unread.setting.key)))
    if measure and _DIMENSIONS.get(quantity(reading.quantity).unit, measure) != measure:
        return False
    words = frozenset(word for piece in pieces for word in ways_of(piece)[0])
    if not quantity(reading.quantity).unit and _BEHIND_A_NUMBER.fullmatch(unread.setting.value.strip()):
        return False  # a number with a unit is no ratio and no count
    others = {name for name, number in machine.feeder_names.items() if number not in reading.serves}
    if others & set(pieces):
        return False
    present = vocabulary().names_in(words)
    axes = {axis for axis in "xyz" if axis in present}
    own = set(reading.quantity.replace("_", ".").split("."))
    if axes and not axes & own:
        return False
    if is_of_another_thing(unread, reading.quantity, machine):
        return False
    return bool(present & _words_of(reading.quantity)) or not present & vocabulary().things - _things_of(
        reading.quantity
    )


def is_of_another_thing(unread: Unread, name: str, machine: Machine) -> bool:
    """Whether the remark behind a code, or behind the first line that has it, is about what no drive has, as a lamp, a menu or
    hours that were counted, or the code is a controller's gains, and has no word of the quantity of that name."""
    remark = _remark_of(unread, machine)
    present = vocabulary().names_in(frozenset(word for piece in split(remark) for word in ways_of(piece)[0]))
    if present & _words_of(name):
        return False
    if is_a_gain(machine.document(unread.place.file), unread.setting):
        return True
    return bool(_COUNTED.search(remark) or present & vocabulary().things - _things_of(name))


def _remark_of(unread: Unread, machine: Machine) -> str:
    """What the remark behind a code says, there or where the file has that code first; "" in any other file."""
    document = machine.document(unread.place.file)
    if document.dialect != "command":
        return ""
    return remarks_of(document).of_line(unread.setting) or _first_remarks(document).get(
        unread.setting.section, ""
    )


@once
def _first_remarks(document: Document) -> Mapping[str, str]:
    """By its code the remark behind the first line that has it."""
    found: dict[str, str] = {}
    for setting in document.settings:
        if setting.section not in found:
            found[setting.section] = remarks_of(document).of_line(setting)
    return found


def _pieces(unread: Unread, machine: Machine) -> tuple[str, ...]:
    """The words of a name, with those of the heading over a code, which has none."""
    heading = split(heading_of(unread, machine))
    return (*split(unread.setting.section), *split(unread.setting.key), *heading)


def _likeliest_first(near: Iterable[Unread], reading: Reading, machine: Machine) -> list[Unread]:
    """Those with a word of the quantity's own first, then those whose number is nearest."""
    farness = farness_of(reading)

    def turn(unread: Unread) -> tuple[bool, float]:
        return not is_called_it(unread, reading, machine), farness(unread)

    return sorted(near, key=turn)


def is_called_it(unread: Unread, reading: Reading, machine: Machine) -> bool:
    """Whether a line's name or the heading above it has a word of the quantity's own."""
    words = frozenset(word for piece in _pieces(unread, machine) for word in ways_of(piece)[0])
    return not _words_of(reading.quantity).isdisjoint(vocabulary().names_in(words))


@lru_cache(maxsize=256)
def _words_of(name: str) -> frozenset[str]:
    """The words by which a quantity and its owner are known."""
    entries = [entry for entry in vocabulary().entries if entry.quantity == name]
    said = {word for entry in entries for phrase in entry.phrases for word in phrase.words}
    return frozenset(said).union(*(entry.of for entry in entries)) - vocabulary().fillers


@lru_cache(maxsize=256)
def _things_of(name: str) -> frozenset[str]:
    entries = [entry for entry in vocabulary().entries if entry.quantity == name]
    return frozenset(thing for entry in entries for thing in entry.of | entry.may) | _OF_A_DRIVE


def _numbers(unread: Unread) -> list[float]:
    """The numbers of a setting that was not understood, which may be a whole line of letters and numbers."""
    return [float(found) for found in _texts(unread)]


def _texts(unread: Unread) -> list[str]:
    return _NUMBER.findall(unread.setting.value[:LONGEST_SAVED_LINE])


def is_near(
    unread: Unread, reading: Reading, part: float = NEAR_THE_SAVED, steps: Collection[float] = ()
) -> bool:
    """Whether a number of a line is within a part of an old value, in some unit."""
    old = reading.value
    if not old:
        return False
    if not quantity(reading.quantity).unit and not steps:
        return any(_is_that_count(text, old, part) for text in _texts(unread))
    return any(
        abs(number * step - old) <= part * abs(old)
        for number in _numbers(unread)
        for step in steps or _steps_of(reading)
    )


def _is_that_count(text: str, old: float, part: float) -> bool:
    """Whether a number is a ratio or a count, as far as its last digit tells: these are of teeth, steps or turns and are never
    only near, so that a flow of 0.99 is no gear ratio of 1."""
    last = 0.501 * 10.0 ** -len(text.partition(".")[2])
    return abs(float(text) - old) <= min(last, part * abs(old))


def _steps_of(reading: Reading) -> tuple[float, ...]:
    """By how much a number may have to be multiplied to be such a value: a current may be a peak one."""
    unit = quantity(reading.quantity).unit
    if unit == "A":
        return (*_STEPS, *(step / PEAK_OF_RMS for step in _STEPS))
    return (*_STEPS, *_OF_TIME) if "/s" in unit else _STEPS


def _told(near: list[Unread]) -> str:
    first = near[0]
    more = f", or one of {len(near) - 1} more there" if len(near) > 1 else ""
    return f"{first.setting.name} = {first.setting.value} ({first.place.file}:{first.place.line}){more}"


def _mostly_strange(
    machine: Machine, strange: list[Unread], rows: Mapping[tuple[str, str], int], files: Collection[str]
) -> str:
    """What is told of the first of these files of which less than half was understood; "" for none."""
    counts: Mapping[str, int] = {path: sum(each.place.file == path for each in strange) for path in files}
    for path, count in sorted(counts.items()):
        whole = sum(len(document.settings) for document in machine.documents if document.path == path)
        whole -= sum(many for (file, _), many in rows.items() if file == path and many >= ROWS_OF_A_TABLE)
        if count > MOSTLY_STRANGE * whole:
            return f"one of the {count} numbers in {path} that were not understood"
    return ""
