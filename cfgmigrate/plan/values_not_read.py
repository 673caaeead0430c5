"""Lines whose name says in full what a swap changes, or comes near to the lag, and whose value was not read.

A unit beside such a number may be another one's, and a remark's word may have led elsewhere: then nothing was asked, and the
line would stay old while its packet says that there is none. A lag stays ten times too long so, and no light tells it. So each
is a question here, with the line of the site file that settles it.

Left out are lists and texts: what they are of is asked elsewhere; one weak word of nobody's drive where the drive's own line was
read; and what stands below a head for what an axis moves while the like line of another section was read: `steps a turn` below the
lift is another motor's.

Nothing is read by this, and no light is judged.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator

from cfgmigrate.dialects.document import State
from cfgmigrate.dialects.value import Items, Number, read_value
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.gear_pairs import teeth_of_one
from cfgmigrate.machine.model import Machine, Unread
from cfgmigrate.machine.nearest import said_in_full
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import read_name

_LAG = "lag.coefficient"
_OF_A_DRIVE = ("feeder.", "motor.")
#: what the motor of an axis moves, as the heads over it say
_OTHERS_MOTORS = frozenset(("lift", "screw", "leadscrew", "belt", "gantry", "spindle", "table"))
#: so many are told at most; `survey` has them all
_MOST = 5


def values_not_read(machine: Machine, moved: Collection[str], asked: Iterable[Doubt]) -> Iterator[Doubt]:
    """The questions. `moved` are the quantities that rules set; lines that are `asked` about already are left out."""
    places = {(each.place.file, each.place.line) for each in asked}
    found = 0
    others = of_other_sections(machine)
    read = frozenset(each.quantity for each in machine.every_reading)
    for unread in machine.unread:
        name = _meant(unread, moved)
        if name in read and _of_nobody(unread, name):
            continue
        if not name or unread in others or (unread.place.file, unread.place.line) in places or found == _MOST:
            continue
        found += 1
        label = quantity(name).label
        why = f"its name says {label}, and its value was not read as one: its unit or its remark may be those of something else; it stays as it is"
        line = name_line(unread.setting, name, quantity(name).unit)
        remedy = f"if it is, say so in cfgmigrate.yaml, under meanings: {line}, with its own unit; or change it by hand"
        if teeth_of_one(unread.setting):
            why = "this is the teeth of one of two gears, and whose they are is not said; it stays as it is"
            remedy = f"if they drive the feeder, say so of both gears' lines in cfgmigrate.yaml, under meanings: {line}; or change both by hand"
        yield Doubt(unread.place, f"{unread.setting.name} = {unread.setting.value}", why, remedy, name)


def of_other_sections(machine: Machine) -> frozenset[Unread]:
    """The lines below a head of their own whose key was read as a feeder's below another head of the same file, or asked
    about there: below the lift, `steps a turn` is of the motor that stands there."""
    asked = {
        (each.place.file, each.place.line) for each in machine.doubts if each.about.startswith(_OF_A_DRIVE)
    }
    settings = [
        (each.place.file, each.setting)
        for each in machine.every_reading
        if each.quantity.startswith(_OF_A_DRIVE)
    ]
    for document in machine.documents if asked else ():
        settings += [
            (document.path, each) for each in document.settings if (document.path, each.line) in asked
        ]
    read = {(file, each.key.casefold()): each.section for file, each in settings if each.section}
    keys = ((each, (each.place.file, each.setting.key.casefold())) for each in machine.unread)
    return frozenset(
        each
        for each, key in keys
        if read.get(key, each.setting.section) != each.setting.section
        and _moves_otherwise(each.setting.section)
    )


def _moves_otherwise(section: str) -> bool:
    """Whether a head says that what stands below it moves something else than filament."""
    words = read_name(section, "").words
    return not _OTHERS_MOTORS.isdisjoint(words) or any(map(vocabulary().foreign, words))


def _meant(unread: Unread, moved: Collection[str]) -> str:
    """The quantity that a line's name says in full, or near which the lag is; "" for none."""
    setting, value = unread.setting, read_value(unread.setting.value)
    if setting.state is not State.ACTIVE:
        return ""
    if _LAG in unread.nearest and _has_number(value):
        return _LAG
    if not isinstance(value, Number) or not value.value or value.unit:
        return ""
    name = read_name(setting.section, setting.key)
    # of a number to base 16, a row of a picture perhaps, only what it could be
    possible = moved if "x" not in value.text.lower() else frozenset(moved).intersection(unread.nearest)
    return next((each for each, over in said_in_full(name) if over == 0 and each in possible), "")


def _of_nobody(unread: Unread, quantity_id: str) -> bool:
    """Whether nothing in a line's name says that it is of what this quantity is of: `resolution = 0.012` of a slicing profile, where
    the feeder's steps were read."""
    name = read_name(unread.setting.section, unread.setting.key)
    present = vocabulary().names_in(frozenset(name.words))
    if len(name.key) > 1 or not vocabulary().names_in(frozenset(name.key)) <= vocabulary().weak:
        return False
    of = [entry.of for entry in vocabulary().entries if entry.quantity == quantity_id]
    return quantity_id.startswith(_OF_A_DRIVE) and all(each and present.isdisjoint(each) for each in of)


def _has_number(value: object) -> bool:
    items = value.items if isinstance(value, Items) else (value,)
    return any(isinstance(each, Number) and each.value for each in items)
