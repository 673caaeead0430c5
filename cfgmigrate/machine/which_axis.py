"""Asks which of x and y a part is that a file calls neither: `carriage` beside `table` (`axes_by_part.py`).

What is read of the two is compared and told as usual, and never edited, until a line of the site file says of a setting which
axis it is of. What lifts is z whatever the others are. A part that goes along an axis by its words, with steps of its own, that is
no axis by that is one all the same: what is fastest there is not the machine's, nor what is in another thing with steps beside it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.axes_by_part import AxesByPart, axis_of
from cfgmigrate.machine.collection import Collected, Collection, line_of
from cfgmigrate.machine.model import Reading
from cfgmigrate.machine.names import Names
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

#: what is asked about first: a limit that a swap may change
_END = ".max"
_LYING = ("axis.x.", "axis.y.")
_OF_ALL = ("machine.max_speed", "machine.max_acceleration")
_STEPS = frozenset(("step", "steps", "pulse", "pulses"))
_LETTERS = frozenset("xyze")


def ask_which_axis(
    found: Collection, document: Document, by_part: AxesByPart, since: int, names: Names | None
) -> None:
    """Takes the editing from what was read of x and y by the word for a part, from the number `since` of the collection on, and asks
    about it, where neither a remark nor the site file says which of the two it is. What that says of one line holds for all."""
    if not by_part.axes:
        return
    told = set(_told(document, by_part, names))
    if by_part.sure and not told:
        return
    parts = " and ".join(f"`{' '.join(part)}` as {axis}" for axis, part in _horizontal(by_part))
    asked: list[Collected] = []
    for at, each in enumerate(found.readings[since:], since):
        reading = each.reading
        lying = by_part.at.get(reading.setting.at, "z") != "z" or _below_a_part(reading, by_part)
        if not lying or (names and names.find(document, reading.setting)):
            continue
        if told == {False}:
            found.readings[at] = replace(each, reading=replace(reading, quantity=_other(reading.quantity)))
        elif told != {True}:
            why = f"{parts} is what is usual, and the files do not say it"
            found.readings[at] = replace(each, reading=replace(reading, editable=False, why_not=why))
            asked.append(each)
    if asked:
        numbers = Counter(each.reading.setting.at for each in asked)
        single = [each for each in asked if numbers[each.reading.setting.at] == 1] or asked
        first = next((each for each in single if each.reading.quantity.endswith(_END)), single[0]).reading
        why = f"{parts}: that is usual where a bed moves, and the files do not say it, so none of their values is edited"
        line = name_line(first.setting, first.quantity)
        remedy = f"say it of one line in cfgmigrate.yaml, under meanings: {line}, or {_other(first.quantity)}"
        found.doubts.append(Doubt(first.place, line_of(first.setting), why, remedy))


def _below_a_part(reading: Reading, by_part: AxesByPart) -> bool:
    """Whether what was read of x or y stands below a part elsewhere in the file: `[soft limits.carriage]`."""
    level = tuple(split(reading.setting.section.rpartition(".")[2]))
    return level in by_part.axes and reading.quantity.startswith(_LYING)


def _told(document: Document, by_part: AxesByPart, names: Names | None) -> Iterator[bool]:
    """For each line of x or y that the site file says the meaning of, whether it says the same axis."""
    for setting in document.settings if names else ():
        axis = by_part.at.get(setting.at, "z")
        named = names.find(document, setting) if names and axis != "z" else None
        for meaning in named.meanings if named else ():
            if meaning.quantity.startswith(_LYING):
                yield meaning.quantity.startswith(f"axis.{axis}.")


def _other(name: str) -> str:
    """The same quantity of the other one of x and y."""
    return name.replace("axis.x.", "axis.-.").replace("axis.y.", "axis.x.").replace("axis.-.", "axis.y.")


def ask_whose_limits(found: Collection, documents: Sequence[Document], names: Names | None) -> None:
    """Turns limits of the machine that stand below a moving part with steps of its own, in whichever file, into questions; and then
    those below whatever else has steps of its own, which would be left as the only ones."""
    every = (setting for document in documents for setting in document.settings)
    with_steps = {setting.section for setting in every if setting.section and _counts_steps(setting)}
    limits = [each for each in found.readings if each.reading.quantity in _OF_ALL]
    suspect = [each for each in limits if each.reading.setting.section in with_steps]
    if not any(_says_moving_part(each.reading.setting.section) for each in suspect):
        return
    by_path = {document.path: document for document in documents}
    for each in suspect:
        reading = each.reading
        if names and names.find(by_path[reading.place.file], reading.setting):
            continue
        found.readings.remove(each)
        label = quantity(reading.quantity).label
        why = f"this may be {label}, or that of one axis: steps are counted beside it"
        lines = f"{name_line(reading.setting, reading.quantity)}, or axis.x.… or axis.y.…"
        remedy = f"say in cfgmigrate.yaml which it is, under meanings: {lines}"
        found.doubts.append(
            Doubt(reading.place, line_of(reading.setting), why, remedy, about=reading.quantity)
        )


def _says_moving_part(section: str) -> bool:
    """Whether a section is called by a part that goes along an axis, alone or among other words."""
    words = [ways_of(piece)[0] for piece in split(section)]
    spelled = vocabulary().names_in(frozenset(word for several in words for word in several))
    return "carriage" in spelled or any(axis_of(several) for several in words)


def _counts_steps(setting: Setting) -> bool:
    """Whether a setting is one number of steps of nothing else than its section."""
    counts = not _STEPS.isdisjoint(split(setting.key)) and _LETTERS.isdisjoint(split(setting.key))
    return counts and isinstance(read_value(setting.value), Number)


def _horizontal(by_part: AxesByPart) -> list[tuple[str, tuple[str, ...]]]:
    return sorted((axis, part) for part, axis in by_part.axes.items() if axis != "z")
