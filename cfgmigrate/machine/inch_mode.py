"""Settings of word-address lines behind `G20`, which says that lengths are inches from there on.

ISO 6983 has G20 and G21 for lengths of moves. Whether what a line sets (so many steps for a length, a limit, a speed)
follows them as well differs from machine to machine, so behind `G20` no such number is taken: each is a question.

This module deliberately leaves the moves of scripts alone; those are read with their own lengths (`scripts/`).
"""

from __future__ import annotations

from bisect import bisect_right

from cfgmigrate.dialects.document import Document
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.collection import Collected, Collection, line_of
from cfgmigrate.machine.quantities import quantity

_REMARK = pattern(rb"\([^)\r\n]*\)?|;[^\r\n]*")
_SWITCH = pattern(rb"(?<![A-Za-z0-9.])[Gg]0*2([01])(?![0-9.])")
_LINE = pattern(rb"[^\r\n]*(?:\r\n?|\n)|[^\r\n]+\Z")


def ask_what_is_in_inches(found: Collection, document: Document, first: int) -> None:
    """Turns the readings of a file, from the number `first` of the collection on, into questions where lengths are
    inches."""
    if b"20" not in document.data:
        return
    lines, inches = [0], [False]
    for number, line in enumerate(_LINE.findall(document.data), 1):
        for switch in _SWITCH.findall(_REMARK.sub(b" ", line)):
            lines.append(number)
            inches.append(switch == b"0")
    kept = []
    for each in found.readings[first:]:
        at = bisect_right(lines, each.reading.place.line) - 1
        if inches[at] and "mm" in quantity(each.reading.quantity).unit:
            found.doubts.append(_asked(each, lines[at]))
        else:
            kept.append(each)
    found.readings[first:] = kept


def _asked(each: Collected, line: int) -> Doubt:
    reading = each.reading
    why = (
        f"line {line} says that lengths are inches from there on (G20), and whether this one is, is not said"
    )
    remedy = "convert the file to mm (G21), or set this one by hand"
    return Doubt(reading.place, line_of(reading.setting), why, remedy, about=reading.quantity)
