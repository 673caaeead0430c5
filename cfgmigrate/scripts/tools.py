"""Which tools a machine's scripts take, and from which number they count them.

A tool is taken by the tool word of RS-274 (T and a number; NISTIR 6556, 3.6.3) in a line of its own. Behind another
code it is an argument and takes none. By a feeder's name a tool is taken as told in `named_tools.py`.

Where each feeder has a tip of its own, places count from one of them, and mean another place with another tip on. A file
may say which that is, by the word reference; else it is the first tool, where tools go by numbers (common practice, no
source).
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from cfgmigrate.dialects.moves import read_moves
from cfgmigrate.ground.once import once
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import FlatMachine, Machine
from cfgmigrate.machine.reference_tip import reference_tip
from cfgmigrate.scripts.number_change import Script
from cfgmigrate.scripts.reading import Move
from cfgmigrate.sheet.model import Sheet

#: a line end written out, in scripts that stand in one line of a file
_END_WRITTEN_OUT = pattern(r"(\\r)?\\n")


@once
def tools_called(machine: Machine | FlatMachine) -> frozenset[int]:
    """The numbers of the tools that the scripts take."""
    found = set()
    for reading in machine.readings:
        if reading.quantity.startswith("script."):
            for line in read_moves(_END_WRITTEN_OUT.sub("\n", reading.text)):
                word = line.words[0] if len(line.words) == 1 and not line.text else None
                if word is not None and word.letter == "T" and word.value is not None:
                    found.add(int(word.value))
    return frozenset(found)


def first_tool(machine: Machine | FlatMachine) -> int | None:
    """The number of the first feeder's tool: 0 where there is a 0, 1 where there is a 2 and no 0. A 1 alone says
    nothing, and neither do scripts that take no tool."""
    called = tools_called(machine)
    if 0 in called:
        return 0
    return 1 if called and max(called) > 1 else None


class Tips(Struct, frozen=True):
    """From which tip places count: `first` is the number of the first tool, `reference` the feeder whose tip it is (None:
    not known). `own` says that each feeder has its own tip, or may have, `certain` that it has; `taken` that scripts take
    tools at all."""

    own: bool = False
    certain: bool = False
    taken: bool = False
    first: int | None = None
    reference: int | None = None

    def another(self, script: Script, move: Move) -> str:
        """Why a place in a move may count from another tip than a limit does, "" where it doesn't."""
        if not self.own or not self.taken:
            return ""
        known = move.feeder is not None or (move.tool is not None and self.first is not None)
        if not known:
            return "nothing in the script says which tip is on" if self.certain else ""
        feeders = script.feeders_at(move, self.first)
        if self.reference is None:
            return "whether limits count from the tip that is on is not known"
        return "" if feeders == (self.reference,) else "another tip is on than the one that limits count from"


def tips_of(machine: Machine, scripts: Sequence[Script], sheet: Sheet) -> Tips:
    """What is known of a machine's tips."""
    said = sheet.get("carriage.one_nozzle")
    if len(machine.feeders) < 2 or (said is not None and said.word == "yes"):
        return Tips()
    first = first_tool(machine)
    by_name = any(move.feeder is not None for script in scripts for move in script.moves)
    reference = reference_tip(machine) or (None if by_name or first is None else machine.feeders[0])
    return Tips(True, said is not None, by_name or bool(tools_called(machine)), first, reference)
