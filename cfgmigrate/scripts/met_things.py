"""What a move of a script goes to meet: a lip or a brush at the edge, as the words on its line and above it have it.

A move to a bare place may stop short of it. One that wipes or drops does its work nowhere else, so where the place is out of
reach the thing itself has to be moved. It is told by words alone, and only by those that mean a thing on the machine.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from cfgmigrate.dialects.document import readable
from cfgmigrate.dialects.remark_marks import LINE_MARK
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.scripts.number_change import Script
from cfgmigrate.scripts.reading import Move

#: so many lines above a move are looked at, and so many characters of each
LINES_ABOVE, LONGEST_ABOVE = 8, 200
_THINGS = "lip|brush|felt|wiper|scraper|pad|sponge|bucket|bin|chute|tray|needle|cutter|blade|knife"
_MET = pattern(
    rf"(?<![^\W\d_])({_THINGS.replace('pad', '(?:cleaning |rubber |silicone |wiping )?pad')})(?:e?s)?(?![^\W\d_])",
    re.IGNORECASE,
    needs=tuple(_THINGS.split("|")),
)
#: at the bed's own height, whatever the tip's on the carriage
_OF_THE_BED = frozenset(("lip",))
_MOVE = pattern(r"[ \t\"']*(?:N\d+[ \t]+)?G0*[0-3](?![\d.])[^;(]*", re.IGNORECASE)
_PLACE = pattern(r"[XY]-?\d+(?:\.\d+)?", re.IGNORECASE)
_BEGINS, _REMARK = pattern(r"[ \t]*\["), pattern(rf"[ \t]*{LINE_MARK}")


def what_is_met(script: Script, move: Move) -> str:
    """The thing that a move's line speaks of, or a line above it within the same part, or a remark right above the part's
    heading; "" where none does. Another move's line speaks for this one only where both go to one place."""
    before = script.source.data[: move.end].replace(b"\r", b"\n").split(b"\n")
    own = _places(readable(before[-1][:LONGEST_ABOVE]))
    headed = False
    for raw in reversed(before[-LINES_ABOVE - 1 :]):
        line = readable(raw[:LONGEST_ABOVE])
        if headed and not _REMARK.match(line):
            return ""
        there = _places(line)
        if (found := _MET.search(line)) and (not there or own & there):
            return found[1].lower()
        headed = headed or bool(_BEGINS.match(line))
    return ""


def _places(line: str) -> frozenset[str]:
    """The words of a move along the bed, without its remark."""
    move = _MOVE.match(line)
    return frozenset(_PLACE.findall(move[0])) if move else frozenset()


def lines_that_meet(script: Script) -> Iterator[tuple[int, str, str, float | None]]:
    """The moves along the bed whose own line speaks of a thing that stands at a height of its own, or else the first move
    below a line that does: the line, its text, the thing, and the z (mm) to which the script has gone for it, None where it
    says none. Each thing is told once a line."""
    told: set[str] = set()
    height: float | None = None
    for move in script.moves:
        for target in move.targets:
            if target.axis == "z":
                height = target.value if target.absolute and target.shift == 0.0 else None
        if not any(target.axis in "xy" for target in move.targets):
            continue
        text = script.text(move)
        own = _MET.search(text[:LONGEST_ABOVE])
        thing = own[1].lower() if own else what_is_met(script, move)
        if thing and thing not in _OF_THE_BED and (own or thing not in told):
            told.add(thing)
            yield script.line(move.start), " ".join(text.split())[:LONGEST_ABOVE], thing, height
