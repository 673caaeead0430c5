"""Lines of the feeder that nobody understood and whose number is one that the sheet gives of the old gears: a count of teeth, the
ratio, or the diameter at which the old gear gripped.

What a name such as `COGS_IN 13` means is not known; with a word of the feeder in it, and the very number, it is that of the old
drive, and what is built from it is worked out anew or not at all. A person is shown the line. Nothing is written by this.
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
        if value is None or words.isdisjoint(split(unread.setting.name)):
            continue
        what = next((what for number, what in numbers if abs(number - value) <= _WITHIN * number), "")
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
