"""Lines by which the files name the feeder's driver as another part than the sheet does.

Nobody reads such a line here, and nothing is written there, for a name is no value that follows from anything. But a board may work
the motor's current out by it, so a current that is right for the part of the sheet may be another one in the motor. Either the driver
has changed, and the line is changed by hand with it, or one of the two names is a slip: a person is asked.

Only a part that the table of drivers knows is taken for one, and only where the name of the line says that it is the feeder's and
nothing of an axis.
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
PART = "new.driver.part"
_AXES = frozenset("xyz")


def other_parts_named(machine: Machine, said: Iterable[Entries], swapped: Collection[int]) -> Iterator[Doubt]:
    """A doubt for each line that names the swapped feeder's driver, and names none that the sheet has for it."""
    parts = {entry.word: entry for entries in said if (entry := entries.get(PART)) is not None}
    if not parts:
        return
    elsewhere = _of_others(machine, swapped)
    for each in (*machine.unread, *machine.said_nothing):
        named = _part(each.setting.value)
        if named and named not in parts and _is_the_feeders(each) and _section(each) not in elsewhere:
            yield _asked(each, named, next(iter(parts.values())))


def _asked(line: Unread, named: str, said: SheetEntry) -> Doubt:
    return Doubt(
        line.place,
        line.text,
        f"it names {named} as the feeder's driver, and the sheet says that the new one is {said.word}: the board may work the current out by it",
        f"read the print on the part: if it is {said.word}, write that here by hand, with whatever goes with it; if it is {named}, put the sheet right "
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
