"""Lines by which the files name the feeder's driver as another part than the sheet does.

Nobody reads such a line here, and nothing is written there, for a name is no value that follows from anything. But a board may work
the motor's current out by it, so a current that is right for the part of the sheet may be another one in the motor. Either the driver
has changed, and the line is changed by hand with it, or one of the two names is a slip: a person is asked.

Only a part that the table of drivers knows is taken for one, and only where the name of the line says that it is the feeder's and
nothing of an axis.

Where a screw sets the new driver, jumpers set its microsteps, and the same jumpers may mean others with another part. Until the sheet
says the new microsteps, what counts for them is held.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator

from cfgmigrate.dialects.document import State
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.knowledge.tables import drivers
from cfgmigrate.machine.model import Machine, Unread
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split
from cfgmigrate.sheet.model import Entries, SheetEntry

#: the new driver's part, in a sheet
PART, MICROSTEPS = "new.driver.part", "new.microsteps"
_AXES = frozenset("xyz")


def other_parts_named(machine: Machine, said: Iterable[Entries], swapped: Collection[int]) -> Iterator[Doubt]:
    """A doubt for each line that names the swapped feeder's driver, and names none that the sheet has for it."""
    entries = tuple(said)
    jumpers = any(_by_jumpers(each) for each in entries)
    for line, named, part in _others(machine, entries, swapped):
        yield _asked(line, named, part, jumpers=jumpers)


def other_jumpers(machine: Machine, said: Iterable[Entries], swapped: Collection[int]) -> str:
    """Why nothing is to be written that counts for microsteps, where the files name another driver than the sheet and jumpers that nobody
    tells of set the new one's; "" where nothing is in the way."""
    entries = tuple(said)
    if not any(_by_jumpers(each) for each in entries):
        return ""
    named = next((part for _, part, _ in _others(machine, entries, swapped)), "")
    return (
        f"the files name {named} as the driver, and what the same jumpers make with the new one is not known"
        if named
        else ""
    )


def _others(
    machine: Machine, said: Collection[Entries], swapped: Collection[int]
) -> Iterator[tuple[Unread, str, SheetEntry]]:
    """The lines that name the swapped feeder's driver and none of the sheet's, with that part and what the sheet says."""
    parts = {entry.word: entry for entries in said if (entry := entries.get(PART)) is not None}
    if not parts:
        return
    elsewhere = _of_others(machine, swapped)
    for each in (*machine.unread, *machine.said_nothing):
        named = _part(each.setting.value)
        if named and named not in parts and _is_the_feeders(each) and _section(each) not in elsewhere:
            yield each, named, next(iter(parts.values()))


def _by_jumpers(entries: Entries) -> bool:
    """Whether jumpers set the new driver's microsteps, and the sheet doesn't say to how many."""
    part, by = entries.get(PART), entries.get("new.driver.set_by")
    if part is None or MICROSTEPS in entries:
        return False
    row = drivers().get(part.word)
    usual = row.facts["set_by"].word if row is not None and "set_by" in row.facts else ""
    return (by.word if by is not None else usual) == "screw"


def _asked(line: Unread, named: str, said: SheetEntry, *, jumpers: bool) -> Doubt:
    more = (
        f", and write in the sheet as {MICROSTEPS} what its jumpers make as they are set: the same ones may make other microsteps with another part"
        if jumpers
        else ""
    )
    return Doubt(
        line.place,
        line.text,
        f"it names {named} as the feeder's driver, and the sheet says that the new one is {said.word}: the board may work the current out by it",
        f"read the print on the part: if it is {said.word}, write that here by hand, with whatever goes with it{more}; if it is {named}, put the sheet right "
        f"({PART}) and prepare again",
    )


def _part(value: str) -> str:
    """The part of the table of drivers that a value names, however it is written; "" where it names none, or several."""
    plain = _plain(value)
    found = [part for part in drivers() if _plain(part) in plain]
    return found[0] if len(found) == 1 else ""


def _plain(text: str) -> str:
    return "".join(sign for sign in text.casefold() if sign.isalnum())


def _is_the_feeders(line: Unread) -> bool:
    """Whether a line is in force, and its name has a word for the feeder and none for an axis."""
    words = frozenset(word for piece in split(line.setting.name) for word in ways_of(piece)[0])
    return (
        line.setting.state is not State.INACTIVE
        and "feeder" in vocabulary().names_in(words)
        and _AXES.isdisjoint(split(line.setting.name))
    )


def _of_others(machine: Machine, swapped: Collection[int]) -> frozenset[tuple[str, str]]:
    """The sections that are another feeder's alone, by what was read in them."""
    return frozenset(
        (each.place.file, each.setting.section)
        for each in machine.readings
        if each.setting.section and each.serves and set(swapped).isdisjoint(each.serves)
    )


def _section(line: Unread) -> tuple[str, str]:
    return line.place.file, line.setting.section
