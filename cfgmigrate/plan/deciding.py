"""What becomes of each reading and of every result: decided once for each quantity and holder, whatever number of
lanes there are.

The readings come first (`votes.py`), then what no reading took (`loose.py`), then what is no good by halves
(`held_together.py`) and what is set by two kinds of profiles.
"""

from __future__ import annotations

from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.machine.model import Machine
from cfgmigrate.plan.decided import Decided
from cfgmigrate.plan.held_together import hold_together
from cfgmigrate.plan.loose import Loose
from cfgmigrate.plan.model import Change
from cfgmigrate.plan.naming import Naming
from cfgmigrate.plan.votes import Votes
from cfgmigrate.rules.book import Book
from cfgmigrate.rules.lanes import Worked


def decide(worked: Worked, naming: Naming, book: Book, machine: Machine) -> Decided:
    """What becomes of every reading and of every result."""
    found = Decided()
    votes, loose = Votes(worked, naming, book, machine, found), Loose(worked, naming, book, machine, found)
    for reading in machine.readings:
        votes.settle(reading)
    for lane in worked.lanes:
        loose.tell(lane)
    hold_together(found, worked, machine)
    _tell_twice_set(found)
    return found


def _tell_twice_set(found: Decided) -> None:
    """A doubt for what both a filament and a print set: each moves from its own old value."""
    kinds: dict[str, dict[str, Change]] = {}
    for change in found.changes:
        kinds.setdefault(change.quantity, {}).setdefault(change.holder.partition(" ")[0], change)
    for name, set_by in kinds.items():
        if {"filament", "print"} <= set_by.keys():
            edit = set_by["print"].edits[0]
            why = f"{name} is set by filaments and by prints; each is worked out from its own old value"
            settle = "Make sure which of the two the machine carries out."
            found.doubts.append(Doubt(Place(edit.file, edit.line, edit.column), name, why, settle))
