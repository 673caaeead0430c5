"""The line by which a machine with several feeders takes one of them.

It is the tool word of RS-274 (T and a number; NISTIR 6556, 3.6.3), counted as the machine's own scripts or its site
file count. Where neither says it, it is not known, and a person states the line.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from cfgmigrate.dialects.moves import read_moves
from cfgmigrate.machine.model import Machine

_TOOL = re.compile(r"[Tt](\d{1,2})")
#: a line end written out, in scripts that stand in one line of a file
_END_WRITTEN_OUT = re.compile(r"(\\r)?\\n")


def tool_line(
    machine: Machine, number: int, known_as: Iterable[str] = (), counts_from: int | None = None
) -> str:
    """The line that takes feeder `number`, "" where nothing says it. `known_as` are the files' names of that feeder,
    `counts_from` the number of the first where the user said it."""
    for name in known_as:
        if found := _TOOL.fullmatch(name.strip()):
            return f"T{int(found[1])}"
    base = counts_from if counts_from is not None else _base(tools_called(machine))
    return "" if base is None else f"T{base + number - 1}"


def tools_called(machine: Machine) -> frozenset[int]:
    """The numbers of the tools that the machine's scripts take."""
    found = set()
    for reading in machine.readings:
        if reading.quantity.startswith("script."):
            for line in read_moves(_END_WRITTEN_OUT.sub("\n", reading.text)):
                word = line.words[0] if len(line.words) == 1 and not line.text else None
                if word is not None and word.letter == "T" and word.value is not None:
                    found.add(int(word.value))
    return frozenset(found)


def _base(called: frozenset[int]) -> int | None:
    """Where counting begins: 0 where there is a 0, 1 where there is a 2 and no 0; a 1 alone says nothing."""
    if 0 in called:
        return 0
    return 1 if called and max(called) > 1 else None
