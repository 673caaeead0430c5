"""Values that a person was told to store at the board's console, and that a listing in the folder does not show yet.

A listing is paper: it keeps saying the old value after the new one was stored. What was measured since was measured with the
new one, and a measured sheet says so by the value in force while it was measured. Where that is a value that a packet told to
store, starting from what the listing says, it is taken as stored, which is told. Where it is none of them, nobody
knows whether it was stored, and that is asked.

A value is never taken as stored because it was told alone. Which packets told what is the history's matter.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.dialects.decimal_commas import number_in_points
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.listings import is_listed
from cfgmigrate.machine.model import Machine, Reading
from cfgmigrate.plan.basis import ToldToStore
from cfgmigrate.sheet.model import Sheet, SheetEntry
from cfgmigrate.sheet.schema import measured_schema

#: a value this near to another one (share of it) is the same; a rule that compares with what the files have takes the same share
SAME_IN_FORCE = 5e-4
_NOT_STORED = (
    "If it was not, measure again with what the board has, and write that into the measured sheet. To be sure, have "
    "the board list what it keeps and put that in place of the listing"
)
_ASK = "Have the board list what it keeps, put that in place of the listing, and tune again"


class Stored(Struct, frozen=True):
    """The machine with what was stored in place of what its listings say, what of the told was taken so, and what is to be
    said or asked of it."""

    machine: Machine
    taken: tuple[ToldToStore, ...] = ()
    doubts: tuple[Doubt, ...] = ()


def as_stored(machine: Machine, told: Sequence[ToldToStore], measured: Sheet, feeder: int) -> Stored:
    """The machine as it was while `feeder` was measured; `told` oldest first."""
    taken: list[ToldToStore] = []
    doubts: list[Doubt] = []
    now: dict[int, Reading] = {}
    for reading, entry in _listed(machine, measured, feeder):
        if entry.value is None or _same(reading.value, entry.value):
            several = told_of(reading, told)
            if several and entry.value is not None:
                doubts.append(_perhaps_not(reading, several[-1], entry))
            continue
        found = next(
            (each for each in told_of(reading, told) if _same(value_of(reading, each), entry.value)), None
        )
        if found is None:
            doubts.append(_neither(reading, entry))
            continue
        now[id(reading)] = replace(reading, text=found.text, value=value_of(reading, found))
        taken += [each for each in told_of(reading, told) if each not in taken]
        doubts.append(_so_taken(reading, found, entry))
    if not now:
        return Stored(machine, (), tuple(doubts))
    readings = tuple(now.get(id(reading), reading) for reading in machine.readings)
    return Stored(replace(machine, readings=readings), tuple(taken), tuple(doubts))


def told_of(reading: Reading, told: Sequence[ToldToStore]) -> list[ToldToStore]:
    """What was told to store in place of what a listing says, one after the other: each starts from what the listing says or
    from one before it."""
    found: list[ToldToStore] = []
    stands = {reading.text}
    mine = reading.place.file, reading.setting.name.casefold()
    for each in told:
        if (each.file, each.name.casefold()) == mine and each.was in stands:
            stands.add(each.text)
            found.append(each)
    return found


def last_told(readings: Iterable[Reading], told: Sequence[ToldToStore]) -> dict[str, tuple[float, str]]:
    """For each quantity that a listing has and that was to be stored: the value told last, in its unit, and the question whether
    it was stored."""
    found: dict[str, tuple[float, str]] = {}
    for reading in readings:
        several = told_of(reading, told) if is_listed(reading) else []
        value = value_of(reading, several[-1]) if several else None
        if value is not None:
            last, name, place = (
                several[-1],
                reading.setting.name,
                f"{reading.place.file}:{reading.place.line}",
            )
            found[reading.quantity] = (
                value,
                f"Has {name} been stored at the console as {last.text}, as {_by(last)} told you to? Then this is what was in "
                f"force. If not, write what the listing has: {reading.text} ({place}).",
            )
    return found


def value_of(reading: Reading, told: ToldToStore) -> float | None:
    """The value that was told, in the quantity's unit; None where it is no number."""
    try:
        return reading.form.to_value(float(number_in_points(told.text)))
    except (ValueError, ZeroDivisionError):
        return None


def _listed(machine: Machine, measured: Sheet, feeder: int) -> Iterator[tuple[Reading, SheetEntry]]:
    """The readings of listings whose value in force the measured sheet says."""
    by_quantity = {field.reads: path for path, field in measured_schema().fields.items() if field.reads}
    for reading in machine.readings:
        entry = measured.get(by_quantity.get(reading.quantity, ""))
        if entry is not None and is_listed(reading) and feeder in reading.serves:
            yield reading, entry


def _so_taken(reading: Reading, found: ToldToStore, entry: SheetEntry) -> Doubt:
    name = reading.setting.name
    return Doubt(
        reading.place,
        f"{name} {reading.text}",
        f"{name} is taken as stored at the console as {found.text}: {_by(found)} told you to, and the measured sheet "
        f"(line {entry.place.line}) has it in force while it was measured. The listing still says {reading.text}",
        _NOT_STORED,
    )


def _perhaps_not(reading: Reading, last: ToldToStore, entry: SheetEntry) -> Doubt:
    return Doubt(
        entry.place,
        entry.text,
        f"Has {reading.setting.name} been stored at the console as {last.text}, as {_by(last)} told you to? The measured "
        f"sheet says what the old listing says, {reading.text} ({reading.place.file}:{reading.place.line})",
        f"If it was stored before you measured, write {last.text} here, in the unit of the listing, and tune again",
    )


def _neither(reading: Reading, entry: SheetEntry) -> Doubt:
    return Doubt(
        entry.place,
        entry.text,
        f"the listing of what the board keeps says {reading.text} ({reading.place.file}:{reading.place.line}), and no packet "
        f"told you to store {entry.text} in its place",
        _ASK,
    )


def _by(told: ToldToStore) -> str:
    return f"packet {told.entry.packet[:12]} (entry {told.entry.number} of the history)"


def _same(one: float | None, other: float | None) -> bool:
    return one is not None and other is not None and math.isclose(one, other, rel_tol=SAME_IN_FORCE)
