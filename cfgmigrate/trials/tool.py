"""The line by which a machine with several feeders takes one of them.

It is the tool word, counted as the site file or the machine's own scripts count. Where neither says it, it is not
known, and a person states the line.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import Machine
from cfgmigrate.scripts.tools import first_tool

_TOOL = pattern(r"[Tt](\d{1,2})")


def tool_line(
    machine: Machine, number: int, known_as: Iterable[str] = (), counts_from: Mapping[str, int] | None = None
) -> str:
    """The line that takes feeder `number`, "" where nothing says it. `known_as` are the files' names of that feeder,
    `counts_from` what the user said of where counting begins, by the word before a number."""
    for name in known_as:
        if found := _TOOL.fullmatch(name.strip()):
            return f"T{int(found[1])}"
    told = list((counts_from or {}).values())
    first = told[0] if told else first_tool(machine)
    return "" if first is None else f"T{first + number - 1}"
