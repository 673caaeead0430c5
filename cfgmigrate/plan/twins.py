"""Settings that hold a changed value a second time, in another unit: a top speed in pulses a second beside the one in mm/s.

Such a setting was not understood, or it would be read and changed, or asked about. Its number is that of the old value in a
unit that the value may as well be in. One in steps is that of a value and of the steps for a millimetre, so it is an old one
where either of them changes. The name has to say the axis, or the feeder; without one a number has to have so many digits
that it is hardly there by chance.

Nothing is worked out by this, and nothing written: a person is shown the lines. It may name one too many.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from cfgmigrate.dialects.document import State
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import unit_written
from cfgmigrate.machine.key_units import key_dimension
from cfgmigrate.machine.model import Machine, Reading, Unread
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split
from cfgmigrate.plan.axis_sections import axis_sections
from cfgmigrate.plan.lines_beside import Beside
from cfgmigrate.plan.model import Change

#: the same value in other units, by the unit of its quantity: how many of which
_UNITS = {
    "mm/s": ((60.0, "mm/min"), (0.001, "m/s")),
    "mm/s^2": ((0.001, "m/s²"),),
    "mm": ((1000.0, "µm"), (0.1, "cm")),
    "A": ((1000.0, "mA"),),
    "1/mm": ((25.4, "steps per inch"), (1000.0, "steps per m")),
}
_IN_STEPS = {
    "mm/s": ((1.0, "steps a second"), (60.0, "steps a minute"), (0.001, "thousands of steps a second")),
    "mm/s^2": ((1.0, "steps/s²"),),
    "mm": ((1.0, "steps"),),
}
_DIMENSIONS = {"mm/s": "speed", "mm/s^2": "acceleration", "mm": "length", "A": "current"}
_NUMBER = pattern(r"(?<![\w.])\d{1,9}(?:\.\d{1,6})?(?![\d.])")
#: so much of a value is looked at, and so many of its numbers
_LONGEST_TEXT, _MOST_VALUES = 120, 8
#: so many digits, without zeros at either end, are hardly there by chance
TELLING = 3
#: a part of a number by which a twin of it may be rounded
_ROUNDED = 0.001
_PEAK = math.sqrt(2)
_FEEDS = frozenset(("feeder", "feed", "drive", "retraction", "filament", "motor"))


def twins(machine: Machine, changes: Sequence[Change]) -> Iterator[Beside]:
    """The lines with such numbers."""
    known = list(_old_values(machine, changes))
    of_text: dict[str, list[tuple[Reading, str]]] = {}  # most numbers stand in a file several times
    for unread in machine.unread if known else ():
        of_axis = unread.setting.section in axis_sections(machine.document(unread.place.file))
        if unread.setting.state is not State.INACTIVE:
            for text in _NUMBER.findall(unread.setting.value[:_LONGEST_TEXT])[:_MOST_VALUES]:
                if text not in of_text:
                    of_text[text] = _with_number(text, known)
                if why := next(
                    (why for reading, why in of_text[text] if _may_be(unread, text, reading, of_axis)), ""
                ):
                    setting = unread.setting
                    yield unread.place.file, unread.place.line, f"{setting.name} = {setting.value}", why
                    break


def _old_values(machine: Machine, changes: Sequence[Change]) -> Iterator[tuple[float, Reading, str]]:
    """The old values in other units, each with its reading and in words."""
    changed = {(edit.file, edit.start) for change in changes for edit in change.edits}
    for reading in machine.every_reading:
        unit, value = quantity(reading.quantity).unit, reading.value
        if not value or quantity(reading.quantity).protected:
            continue
        moved = (reading.place.file, reading.start) in changed
        old = f"the old {quantity(reading.quantity).label} in {reading.place.file}:{reading.place.line}"
        if moved:
            kind = (
                _PEAK if unit == "A" and "peak" in reading.form.note else 1.0
            )  # as the file counts its other motors too
            yield value * kind, reading, f"{old}, by its number"
            yield from (
                (value * kind * by, reading, f"{old}, by its number in {name}")
                for by, name in _UNITS.get(unit, ())
            )
        steps = _steps(machine, reading)
        if steps is not None and steps.value and (moved or (steps.place.file, steps.start) in changed):
            for by, name in _IN_STEPS.get(unit, ()):
                yield value * steps.value * by, reading, f"{old}, by its number in {name} of before"


def _steps(machine: Machine, reading: Reading) -> Reading | None:
    """The steps for a millimetre of what a value moves."""
    part, _, rest = reading.quantity.partition(".")
    if part == "axis":
        return machine.get(f"axis.{rest.partition('.')[0]}.steps_per_mm")
    if part not in ("feeder", "retraction"):
        return None
    return machine.view(min(reading.serves, default=1)).get("feeder.steps_per_mm")


def _with_number(text: str, known: Iterable[tuple[float, Reading, str]]) -> list[tuple[Reading, str]]:
    """The readings whose value a number is, as far as its digits go."""
    number, last = float(text), 0.5 * 10.0 ** -len(text.partition(".")[2])
    return [
        (reading, why)
        for value, reading, why in known
        if abs(number - value) <= max(last if value > 100 else 0.0, _ROUNDED * value)
    ]


def _words(unread: Unread) -> frozenset[str]:
    pieces = (*split(unread.setting.section), *split(unread.setting.key))
    return vocabulary().names_in(frozenset(word for piece in pieces for word in ways_of(piece)[0]))


def _is_in_another(unread: Unread, expected: str) -> bool:
    """Whether a word of a key is the unit of another measure, written out: `seconds`, `hot degC`. Lengths stand in other units too."""
    stated = {unit.of for word in split(unread.setting.key) if len(word) > 1 and (unit := unit_written(word))}
    return bool(stated - {"length", expected})


def _may_be(unread: Unread, text: str, reading: Reading, of_axis: bool) -> bool:
    """Whether a number of that name may be that value: by its axis or its feeder, or by its digits alone. What stands `of_axis`, in a
    section that is an axis's own, is nobody else's."""
    words = _words(unread)
    measure = key_dimension(tuple(split(unread.setting.key)))
    expected = _DIMENSIONS.get(quantity(reading.quantity).unit, "")
    if "step" not in words and ((measure and expected not in measure) or _is_in_another(unread, expected)):
        return False
    axes = {axis for axis in "xyz" if axis in words}
    part, _, rest = reading.quantity.partition(".")
    if of_axis and part != "axis":
        return False
    own = axes == {rest[:1]} if part == "axis" else not axes and not _FEEDS.isdisjoint(words)
    digits = len(text.replace(".", "").strip("0"))
    of_others = words & vocabulary().things - _FEEDS
    return own or (not of_others and part != "axis" and digits >= TELLING)
