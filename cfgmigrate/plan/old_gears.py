"""Lines of the feeder that nobody understood and whose number is one that the sheet gives of the old gears: a count of teeth, the
ratio, or the diameter at which the old gear gripped.

What a name such as `COGS_IN 13` means is not known; with a word of the feeder in it, and the very number, it is that of the old
drive. So it is where the name says a wheel or teeth and no axis or belt, whoever they belong to: `Q_WHEEL_EFF 10.95`, `Q_TEETH_WHEEL 1`. Then what is built from it is worked out anew or not at all. A person is shown the line. Nothing is written by this.
"""

from __future__ import annotations

from collections.abc import Iterator

from cfgmigrate.dialects.document import Setting, State
from cfgmigrate.dialects.value import Number, Ratio, read_value
from cfgmigrate.machine.gear_pairs import FEWEST_TEETH
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.quantities import of_feeder
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split
from cfgmigrate.plan.lines_beside import Beside
from cfgmigrate.sheet.model import Sheet

_WITHIN = 1e-9
_TEETH = frozenset(("teeth", "tooth", "cogs", "cog"))
_OF_GEARS = _TEETH | {"wheel", "gear", "hob", "pinion"}
#: what else has wheels and teeth
_OF_AXES = frozenset(("x", "y", "z", "belt", "pulley", "idler", "screw", "fan", "bed", "axis"))
_SEE = "see whether the machine reads it, and set by hand what it is with the new drive"


def old_gears(machine: Machine, sheet: Sheet) -> Iterator[Beside]:
    """Their lines, in the order of the files; none where the gears are the old ones."""
    same = sheet.get("new.gears_as_before")
    numbers = tuple(_numbers(sheet))
    if not numbers or (same is not None and same.word == "yes"):
        return
    words = _words_of_feeder(machine)
    for unread in machine.unread:
        value = _number(unread.setting)
        named = frozenset(split(unread.setting.name))
        of_gears = not named.isdisjoint(_OF_GEARS) and named.isdisjoint(_OF_AXES)
        if value is None or (words.isdisjoint(named) and not of_gears):
            continue
        told = (*numbers, *_few_teeth(sheet)) if not named.isdisjoint(_TEETH) else numbers
        what = next((what for number, what in told if abs(number - value) <= _WITHIN * number), "")
        if what:
            why = f"the very number that the sheet gives as {what}; {_SEE}"
            yield unread.place.file, unread.place.line, unread.text, why


def _numbers(sheet: Sheet) -> Iterator[tuple[float, str]]:
    """What the sheet says of the old gears, each with what it is called."""
    wide, ratio = (sheet.get(f"old.drive_gear.{each}") for each in ("effective_diameter", "gear_ratio"))
    if wide is not None and wide.value:
        yield wide.value, "the diameter at which the old gear grips"
    if ratio is None or not ratio.value:
        return
    if ratio.value != round(ratio.value):
        yield ratio.value, "the old gear ratio"
    read = read_value(ratio.text)
    for stage in read.stages if isinstance(read, Ratio) else ():
        for teeth in stage:
            if teeth.value >= FEWEST_TEETH:
                yield teeth.value, "the teeth of an old gear"


def _few_teeth(sheet: Sheet) -> Iterator[tuple[float, str]]:
    """The counts of a ratio that no gear has, as the 1 of a wheel on the motor's own shaft: a name that says teeth can have them."""
    ratio = sheet.get("old.drive_gear.gear_ratio")
    read = read_value(ratio.text) if ratio is not None else None
    for stage in read.stages if isinstance(read, Ratio) else ():
        yield from (
            (teeth.value, "a count of the old gear ratio") for teeth in stage if teeth.value < FEWEST_TEETH
        )


def _number(setting: Setting) -> float | None:
    read = read_value(setting.value) if setting.state is not State.INACTIVE else None
    return read.value if isinstance(read, Number) else None


def _words_of_feeder(machine: Machine) -> frozenset[str]:
    """The words by which these files call the feeder: the trade's, and those of names that only its own values have."""
    theirs: set[str] = set()
    others: set[str] = set()
    for reading in machine.every_reading:
        words = theirs if of_feeder(reading.quantity) else others
        words.update(split(reading.setting.name))
    known = {spelling[0] for spelling in vocabulary().spelled("feeder") if len(spelling) == 1}
    return frozenset(known | (theirs - others - vocabulary().known))
