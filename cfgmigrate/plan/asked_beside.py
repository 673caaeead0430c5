"""What else may be a value of a light, beside the line that is read as it.

Left old, such a line would be gone by in spite of what the light says is set: a line that may be a retraction, a row with a
number for each axis that may have the drive's, a formula that no change moves or that moves to another value than is right, the
highest z once more, a code that nobody explained beside one that was read. The light of the value names it and is not called set.

Nothing is written by this, and what the lights come to is judged in `lights.py`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType

from cfgmigrate.dialects.document import State
from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.knowledge.lights import light_kinds
from cfgmigrate.machine.by_name import SO_MANY_MM
from cfgmigrate.machine.command_lines import EACH_OF_ANOTHER
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.perhaps import perhaps
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.words import split
from cfgmigrate.plan.codes_unexplained import codes_near
from cfgmigrate.plan.formulas_apart import formulas_apart, is_of_a_formula
from cfgmigrate.plan.formulas_that_follow import formulas_that_follow
from cfgmigrate.plan.model import Change
from cfgmigrate.rules.result import Result

RETRACTION_LENGTH = "retraction.length"
#: the values of lights
VALUES_OF_LIGHTS = frozenset(value.quantity for kind in light_kinds().kinds for value in kind.values)


def asked_beside(
    machine: Machine, changes: Sequence[Change] = (), right: Mapping[str, Result] = MappingProxyType({})
) -> dict[str, str]:
    """Places of lines that may be a retraction, or rows with a number for each axis that may have the drive's, or formulas of
    a value that none of the changes moves, or moves to another one than is `right`, or the highest z once more, or of codes that
    nobody explained, and of which none was read, where another one is: left old, they would be gone by in spite of what the
    light says is set."""
    read = {(each.place.file, each.place.line) for each in machine.every_reading}
    found: dict[str, str] = {}
    for doubt in machine.doubts:
        place = doubt.place
        asked = doubt.why.startswith("this may be ") and (place.file, place.line) not in read
        if asked and (doubt.about == RETRACTION_LENGTH or _in_row(machine, place)):
            found.setdefault(doubt.about, f"{place.file}:{place.line}")
    for doubt in _values_in_doubt(machine):
        found.setdefault(doubt.about, f"{doubt.place.file}:{doubt.place.line}")
    for quantity_, place in _named_alike(machine):
        found.setdefault(quantity_, f"{place.file}:{place.line}")
    for name, at in codes_near(machine, VALUES_OF_LIGHTS):
        found.setdefault(name, at)
    moved = {change.quantity for change in changes}
    for each in perhaps(machine):
        if each.beside is not None and (each.told or each.quantity in moved):
            found.setdefault(each.quantity, f"{each.unread.place.file}:{each.unread.place.line}")
    formulas = [each for each in machine.doubts if is_of_a_formula(each)]
    for apart in formulas_apart(machine, changes, right):
        found.setdefault(
            apart.quantity, f"{':'.join(map(str, apart.at))}, which comes to {apart.followed.comes_to} then,"
        )
    follow = formulas_that_follow(machine, changes) if formulas else ()
    following = {(each.document.path, each.setting.line) for each in follow}
    for doubt in formulas:
        place = doubt.place
        if not {(place.file, place.line)} & (read | following):
            found.setdefault(doubt.about, f"{place.file}:{place.line}")
    return found


def _values_in_doubt(machine: Machine) -> Iterator[Doubt]:
    """The doubts about lines whose words say what they are, and whose number or unit makes none that it can be, or of which
    nobody knows whose they are: beside another such line nobody knows which of them holds."""
    read = {(each.place.file, each.place.line, each.quantity) for each in machine.every_reading}
    for doubt in machine.doubts:
        at = (doubt.place.file, doubt.place.line, doubt.about)
        if doubt.about in VALUES_OF_LIGHTS and _is_of_its_value(doubt) and at not in read:
            yield doubt


def _is_of_its_value(doubt: Doubt) -> bool:
    """Whether it is known what a line is, and only its number, its unit or whose it is are in doubt."""
    return doubt.why.startswith(f"{quantity(doubt.about).label}: ") or doubt.why.endswith(EACH_OF_ANOTHER)


def _named_alike(machine: Machine) -> Iterator[tuple[str, Place]]:
    """The lines that were not read and end in the whole name of one that was: `LET nip.far 5.2` beside `[nip] far`; also where
    they say it of so many units, `nip steps_100mm` beside `[nip] steps_mm`."""
    whole = {
        tuple(split(f"{each.setting.section} {each.setting.key}")): each.quantity
        for each in machine.readings
        if each.setting.section and each.quantity in VALUES_OF_LIGHTS
    }
    for unread in machine.unread:
        name = split(f"{unread.setting.section} {unread.setting.key}")
        pieces = tuple(piece for piece in name if piece not in SO_MANY_MM)
        is_number = isinstance(read_value(unread.setting.value), Number)
        for length in range(2, len(pieces)) if unread.setting.state is State.ACTIVE and is_number else ():
            if (meant := whole.get(pieces[-length:])) is not None:
                yield meant, unread.place


def _in_row(machine: Machine, place: Place) -> bool:
    """Whether a line has more settings than one, where other lines have one."""
    document = machine.document(place.file)
    return (
        document.dialect in ("flat", "command") and sum(s.line == place.line for s in document.settings) > 1
    )
