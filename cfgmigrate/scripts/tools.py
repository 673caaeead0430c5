"""Which tools a machine's scripts take, and from which number they count them.

A tool is taken by the tool word of RS-274 (T and a number; NISTIR 6556, 3.6.3) in a line of its own. Behind another
code it is an argument and takes none.
"""

from __future__ import annotations

import re

from cfgmigrate.dialects.moves import read_moves
from cfgmigrate.machine.model import FlatMachine, Machine

#: a line end written out, in scripts that stand in one line of a file
_END_WRITTEN_OUT = re.compile(r"(\\r)?\\n")


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
