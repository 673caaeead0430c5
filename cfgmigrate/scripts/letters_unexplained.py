"""Moves of further axes in scripts of which nothing tells what they move: `G1 A560 F3600` beside a drive for each of A and B.

One letter moves the filament of all scripts (`feed_letter.py`). Any other letter of a further axis (RS-274: A, B, C, U, V, W)
may move it too, where each feeder has a letter of its own: then its lengths are those of the old path and no rule sees
them. So each such letter is a question that names its lines. A letter that is no axis at all there, `G1 P-20 F2400`, is one where a
straight move has it by itself: with X, Y or Z beside it, it may be anything, and a small whole number may choose something.

This module changes nothing.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator

from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import Machine, Reading
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.scripts.feed_letter import FURTHER_AXES, USUAL, feed_letter, moves_in

#: so many lines of a letter are named; the rest are counted
MOST_LINES_OF_A_LETTER = 12
#: letters that the standard gives no axis, and that a straight move has no use for
_NO_AXES = frozenset("DHIJKLPQR")
#: a move by less, forwards and in whole numbers, may be a choice
_FEWEST_MM = 2.0
_STRAIGHT = pattern(
    r"^[ \t]*(?:N\d+[ \t]*)?G0*[01](?![\d.])(?P<words>(?:[ \t]*[A-Z][ \t]*[-+]?(?:\d+\.?\d*|\.\d+))+)",
    re.IGNORECASE,
)
_WORD = pattern(r"([A-Z])[ \t]*([-+]?(?:\d+\.?\d*|\.\d+))", re.IGNORECASE)
_END = pattern(r"\r\n?|\n|\\n")


def letter_doubts(machine: Machine) -> Iterator[Doubt]:
    """A question for each letter, at the first of its lines."""
    feeds = feed_letter(machine)
    found: dict[str, list[tuple[Reading, int, str]]] = defaultdict(list)
    for reading, down, line in _lines(machine):
        for letter in sorted(moves_in(line) & FURTHER_AXES - {feeds}):
            found[letter].append((reading, down, line.strip()))
        for letter, _ in _moved_alone(line, feeds):
            found[letter].append((reading, down, line.strip()))
    for letter, lines in sorted(found.items()):
        yield _doubt(letter, lines, only=feeds == USUAL and found.keys() <= FURTHER_AXES and len(found) == 1)


def moved_alone(machine: Machine) -> Iterator[tuple[str, int, str, float]]:
    """File, line, letter and number of each straight move of a letter by itself of which nothing tells what it moves."""
    feeds = feed_letter(machine)
    for reading, down, line in _lines(machine):
        for letter, number in _moved_alone(line, feeds, FURTHER_AXES | _NO_AXES):
            yield reading.place.file, _line(reading, down), letter, number


def _lines(machine: Machine) -> Iterator[tuple[Reading, int, str]]:
    for reading in machine.readings:
        if quantity(reading.quantity).kind != "script" or machine.document(reading.place.file).own_words:
            continue
        for down, line in enumerate(_END.split(reading.text)):
            yield reading, down, line


def _moved_alone(line: str, feeds: str, letters: frozenset[str] = _NO_AXES) -> Iterator[tuple[str, float]]:
    """The letter of a straight move without another but the speed, with its number; nothing for any other line."""
    found = _STRAIGHT.match(line)
    words = (
        [(letter.upper(), float(number)) for letter, number in _WORD.findall(found["words"])] if found else []
    )
    words = [each for each in words if each[0] not in "FN"]
    if len(words) == 1:
        ((letter, number),) = words
        if letter in letters - {feeds} and (number < 0 or number >= _FEWEST_MM):
            yield letter, number


def _doubt(letter: str, lines: list[tuple[Reading, int, str]], only: bool) -> Doubt:
    reading, down, text = lines[0]
    named = ", ".join(dict.fromkeys(_at(each, below) for each, below, _ in lines[:MOST_LINES_OF_A_LETTER]))
    more = f" and {len(lines) - MOST_LINES_OF_A_LETTER} more" if len(lines) > MOST_LINES_OF_A_LETTER else ""
    why = (
        f"{letter} moves something here, and nothing says what. If it is a filament, its lengths and speeds are those of the old "
        f"path, and stay old at {named}{more}"
    )
    remedy = (
        "if it moves the filament of the drive that you swapped, change the lengths in these lines by hand"
    )
    if only:
        remedy += (
            f"; or say what it is in the file's first lines, and prepare again: `{letter} is the feeder`"
        )
    return Doubt(Place(reading.place.file, _line(reading, down), 1), text[:80], why, remedy)


def _at(reading: Reading, down: int) -> str:
    return f"{reading.place.file}:{_line(reading, down)}"


def _line(reading: Reading, down: int) -> int:
    """The line of the file, the first one of a value that is written on a single line."""
    return reading.place.line + (0 if "\\n" in reading.text else down)
