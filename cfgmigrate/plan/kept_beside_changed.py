"""A line of codes that nobody explained, as the board keeps them, that may be a value which is written in another file alone.

What the board keeps wins over the files at power on. Where a header's frequency of ringing is written and the board keeps one of
its own, `M71 X F46.8` under the heading `ringing, Hz`, the machine goes by the old one and nobody sees it. So each changed value that
no saved file is known to hold is held against the saved lines: one that its heading or its name calls by that value's own words,
and whose number is near the old one, is asked about; so is one of a listing in codes that nobody said to be what the board
keeps. Values of the lights are told by those, with more that may be it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

from cfgmigrate.dialects.document import State, readable
from cfgmigrate.ground.findings import Doubt, Likeness, Place
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import Machine, Reading, Unread
from cfgmigrate.plan.kept_by_board import farness_of, is_called_it, is_near, may_be_it
from cfgmigrate.plan.model import Change

#: the question that such a line asks
KEPT_BESIDE = "kept beside what is written"
_LINE_END = pattern(rb"\r\n?|\n")
_AXIS = pattern(r"(?<![A-Za-z\d])[XYZ](?![A-Za-z])")
_OF_ONE_AXIS = pattern(r"(?:axis\.([xyz])\.\w+|\w+\.([xyz]))")


def kept_beside_changed(machine: Machine, changes: Sequence[Change], lit: Collection[str]) -> Iterator[Doubt]:
    """A question for each change of which the board may keep another value. `lit` are the quantities that lights tell of."""
    profiles = {each.place.file for each in machine.found_profiles}
    codes = {each.path for each in machine.documents if each.dialect == "command"} - profiles
    listed = codes | set(machine.saved)
    strange = [
        each
        for each in machine.unread
        if each.place.file in listed and each.setting.state is not State.INACTIVE
    ]
    if not strange:
        return
    known = {(each.quantity, each.place.file) for each in machine.every_reading}
    old = {(each.place.file, each.start): each for each in machine.readings}
    asked: set[Place] = set()
    for change in changes:
        reading = old.get((change.edits[0].file, change.edits[0].start))
        if reading is None or reading.holder.profile or change.quantity in lit:
            continue
        meant = [
            each
            for each in strange
            if (change.quantity, each.place.file) not in known
            and is_near(each, reading)
            and is_called_it(each, reading, machine)
            and may_be_it(each, reading, machine)
            and _is_of_its_axis(_line(machine, each), reading)
        ]
        if meant:
            nearest = min(meant, key=farness_of(reading))
            if nearest.place not in asked:
                asked.add(nearest.place)
                yield _asked(change, reading, nearest, machine)


def _line(machine: Machine, unread: Unread) -> str:
    return readable(_LINE_END.split(machine.document(unread.place.file).data)[unread.place.line - 1]).strip()


def _is_of_its_axis(line: str, reading: Reading) -> bool:
    """Whether the letters of axes on a line, if there are any, are those of the reading."""
    axis = _OF_ONE_AXIS.fullmatch(reading.quantity)
    letters = set(_AXIS.findall(line.partition(";")[0]))
    return axis is None or not letters or (axis[1] or axis[2]).upper() in letters


def _asked(change: Change, reading: Reading, other: Unread, machine: Machine) -> Doubt:
    at = f"{reading.place.file}:{reading.place.line}"
    why = (
        f"that the board keeps, which wins over {at} at power on"
        if other.place.file in machine.saved
        else f"once more, beside {at}, and which of them holds is not clear"
    )
    return Doubt(
        other.place,
        _line(machine, other),
        f"this may be the {change.label} {why}; it stays as it is, and {change.new.text} is written there alone",
        f"if it is, write {change.new.text} here too, in this line's unit, and store it at the board; if it is something else, leave it",
        change.quantity,
        like=Likeness(KEPT_BESIDE, of=change.quantity),
    )
