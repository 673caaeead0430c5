"""What lines that may say where an end stop stands bring with them: other lines with the very number on the same axis, as a
board keeps it, and places that lie beyond the end stop's new place.

Such an end stop is set by hand, since no line is sure to be its own; so nothing works out how far the axis goes there
afterwards. A place to wait at near that end is told all the same: the carriage would be driven against its end.

Nothing is written by this, and it may name one too many.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator

from cfgmigrate.dialects.document import Setting, State
from cfgmigrate.ground.findings import Place
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.quantities import PROTECTED
from cfgmigrate.machine.words import split
from cfgmigrate.plan.named_lines import MOST_UNREAD_LINES, PLAIN_NUMBER, named_line
from cfgmigrate.plan.place_words import place_words

#: mm; an end stop further from nought is at the axis's high end (no axis of a printer is shorter; common practice, no source)
_FAR = 50.0
_MOVES = frozenset(("G0", "G00", "G1", "G01"))


def same_elsewhere(machine: Machine, axis: str, named: Collection[tuple[str, int, float]]) -> Iterator[str]:
    """The lines of other files that have the number of a named one on the same axis, and that are read as nothing but protected."""
    seen = [(each.place, each.setting) for each in machine.unread]
    seen += [
        (each.place, each.setting) for each in machine.every_reading if each.quantity.startswith(PROTECTED)
    ]
    files = {file for file, _, _ in named}
    numbers = {number for _, _, number in named if number}
    found = [
        named_line(place, setting, setting.value.strip())
        for place, setting in seen
        if place.file not in files
        and axis in split(setting.key)
        and PLAIN_NUMBER.fullmatch(setting.value.strip())
        and float(setting.value) in numbers
    ]
    if found:
        yield (
            f"The same number stands for {axis} in {', '.join(found[:MOST_UNREAD_LINES])}. If that is what the board keeps of the "
            "same end stop, it is the line that holds, and moves by the same."
        )


def places_past(
    machine: Machine, axis: str, named: Collection[tuple[str, int, float]], shift: float
) -> Iterator[str]:
    """The places that lie between where an end stop may stand and where it stands with the shift."""
    lines = {(file, line) for file, line, _ in named}
    for number in sorted({number for _, _, number in named}) if shift else ():
        new = number + shift
        upper = number > _FAR
        if (new < number) is not upper:
            continue
        low, high = (new, number) if upper else (number, new)
        found = [
            named_line(Place(file, each.line), each, each.value.strip())
            for file, each in _places(machine, axis)
            if (file, each.line) not in lines
            and (low < float(each.value) <= high if upper else low <= float(each.value) < high)
        ]
        if found:
            yield (
                f"If the end stop of {axis} stands at {number:g} mm, it stands at {new:g} mm with the new tip, and these lie beyond it: "
                f"{', '.join(found[:MOST_UNREAD_LINES])}. Bring them to this side of it by hand."
            )


def _places(machine: Machine, axis: str) -> Iterator[tuple[str, Setting]]:
    """Numbers along an axis under a name that says a place, and where the moves of scripts go."""
    words = place_words().places | place_words().parks
    read = {
        (each.place.file, each.start)
        for each in machine.every_reading
        if not each.quantity.startswith(("park.", "protected.", "script."))
    }
    for document in machine.documents:
        for each in document.settings:
            if each.state is not State.ACTIVE or PLAIN_NUMBER.fullmatch(each.value.strip()) is None:
                continue
            pieces = split(each.key)
            of_move = document.dialect == "command" and each.section.upper() in _MOVES
            if axis not in pieces or (document.path, each.start) in read:
                continue
            if of_move or not words.isdisjoint((*pieces, *split(each.section))):
                yield document.path, each
