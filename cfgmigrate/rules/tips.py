"""Whose tip a shift is of: what counts from one of several tips is not moved by the shift of another.

A sheet says once how far the nozzle has moved. With one feeder, or one nozzle that all feeders share, or with all of
them swapped, that is the tip from which the files count. Where one feeder of several is swapped, each may have a tip of
its own; a probe's offset or a limit then counts from one of them, and the files rarely say from which. So until the
sheet says `carriage.one_nozzle: yes`, every way to such a value is shut. Where a file names the tip that is the
reference, it is known: one that has not moved shuts the ways by the shift alone, and one that has shuts none.

A tip that has not moved shuts nothing, and neither does a probe's own shift: it is the same seen from every tip. Nor does
how much less far the carriage gets: whichever tip a limit counts from, it is less by that. Where the tip loses at the same
end, the limit that is written is the one that holds for every tip: half of it would be wrong for the one that has moved.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.reference_tip import reference_tip
from cfgmigrate.rules.age import Age, Told
from cfgmigrate.rules.book import Book
from cfgmigrate.rules.rule import Rule, Way
from cfgmigrate.sheet.model import Sheet

ONE_NOZZLE = "carriage.one_nozzle"
#: how far the tip has moved: it counts unless it is 0
SHIFTS = tuple(f"carriage.nozzle_shift.{axis}" for axis in "xyz")
#: where the tip may stand, whichever tip that is; and what says the same of the carriage
PLACES = {
    f"clearance.{end}est_{axis}": f"clearance.less_at_{end}_{axis}"
    for end in ("low", "high")
    for axis in "xy"
}
#: how much less far the carriage gets, whichever tip its limits count from
_UP = "clearance.less_at_high_z"
_CARRIAGES = frozenset((*PLACES.values(), _UP))
#: a shift, how much less far the carriage gets at one end, and the sign of a shift by which a tip loses there as well
_LOSSES = (
    (SHIFTS[2], _UP, -1),
    *((f"carriage.nozzle_shift.{axis}", f"clearance.less_at_low_{axis}", 1) for axis in "xy"),
    *((f"carriage.nozzle_shift.{axis}", f"clearance.less_at_high_{axis}", -1) for axis in "xy"),
)
#: the limits beside an end stop, which go by hand with it, and how far a tip that has moved gets beyond others
_BY_A_SHIFT = frozenset(
    f"axis.{axis}.{end}_{kind}"
    for axis in "xy"
    for end in ("low", "high")
    for kind in ("by_hand", "gain", "until")
)


def ways_shut(
    book: Book, machine: Machine, sheet: Sheet, swapped: Sequence[int]
) -> dict[tuple[str, str], Told]:
    """The ways that count from a tip of which it is not known whether it is the one that has moved, each by its rule's
    and its own name, with the reason."""
    why = _why(machine, sheet, swapped)
    moved = frozenset(_moved(sheet) if why else ())
    is_open = reference_tip(machine) is None
    return {
        (rule.name, way.name): Told(Age.UNKNOWN, why)
        for rule in book.rules
        if moved and _of_a_tip(rule)
        for way in rule.ways
        if not moved.isdisjoint(_counted(rule, way)) and not _within_all(way, sheet, is_open)
    }


def _within_all(way: Way, sheet: Sheet, is_open: bool) -> bool:
    """Whether a way takes off a limit both what the carriage gets less far and what a tip that has moved away from that end
    loses: that is within what any of the tips reaches. To the sides only where nobody says which tip counts (`is_open`)."""
    for shift, less, towards in _LOSSES:
        if shift in way.needs and less in way.needs:
            moved, lost = sheet.get(shift), sheet.get(less)
            loses = moved is not None and (moved.value or 0.0) * towards > 0
            return loses and (less == _UP or (is_open and lost is not None and (lost.value or 0.0) > 0))
    return False


def _counted(rule: Rule, way: Way) -> Iterator[str]:
    """What a way rests on: its inputs, and the shifts that its rule asks about, unless it takes the carriage's word."""
    yield from way.needs
    if _CARRIAGES.isdisjoint(way.needs):
        yield from (name for name in SHIFTS if name in rule.uses)


def doubts_of_tips(machine: Machine, sheet: Sheet, swapped: Sequence[int]) -> Iterator[Doubt]:
    """What is to be settled before the values that count from a tip can be written: one question, however many of the
    sheet's fields rest on it."""
    why = _why(machine, sheet, swapped)
    unsaid = sheet.get(ONE_NOZZLE) is None
    held = [field for field in _moved(sheet) if unsaid or field in PLACES] if why else []
    entries = [entry for field in held if (entry := sheet.get(field)) is not None]
    if entries:
        settle = f"Say {ONE_NOZZLE}: yes, if all feeders share one nozzle; no, if each has its own.{_instead(held)}"
        rests = ", ".join(entry.text for entry in entries)
        yield Doubt(
            entries[0].place, ", ".join(held), f"what rests on {rests} here is not written: {why}", settle
        )


def _instead(held: Sequence[str]) -> str:
    """By which fields the sheet says of the carriage what it says of a tip's place, "" where it says none of a place."""
    said = [field for field in held if field in PLACES]
    if not said:
        return ""
    alone = len(held) == 1
    what = "in its place" if alone else f"in place of {', '.join(said)}"
    return f" If each has its own, say {', '.join(PLACES[field] for field in said)} {what}."


def _why(machine: Machine, sheet: Sheet, swapped: Sequence[int]) -> str:
    """Why a value that counts from a tip is not written, "" where it may be."""
    said, many = sheet.get(ONE_NOZZLE), len(machine.feeders)
    if many < 2 or (said is not None and said.word == "yes"):
        return ""
    reference = reference_tip(machine)
    if reference in swapped:
        return ""
    if reference is not None:
        return f"this value counts from the tip of feeder {reference}, the reference, and that has not moved"
    if said is not None:
        return f"this machine has {many} feeders, each with a tip of its own, and this value counts from one of them"
    if {*machine.feeders} <= {*swapped}:
        return ""
    return (
        f"this machine has {many} feeders; if each has a tip of its own, this value counts from one of them"
    )


def _moved(sheet: Sheet) -> Iterator[str]:
    for field in (*SHIFTS, *PLACES):
        entry = sheet.get(field)
        if entry is not None and (entry.value or field in PLACES):
            yield field


def _of_a_tip(rule: Rule) -> bool:
    """Whether a rule gives a value that counts from a tip, for a file or for hands. What only says that something is to
    be found out, or set lower first, holds for any tip."""
    return bool(rule.sets) or rule.name.startswith("protected.end_stop_") or rule.name in _BY_A_SHIFT
