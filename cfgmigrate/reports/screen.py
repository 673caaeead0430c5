"""Lines that fit a terminal: what a one-screen report is put together from.

No word is ever cut. A text too long for its lines ends, behind a whole word, in "…"; a row too wide for the screen
takes further lines; a path longer than the screen stands whole on a line of its own.

This module deliberately knows no plan.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache

from msgspec import Struct

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.reports.safe_text import PROSE_LIMIT, inert

MORE = "…"
LEAST = 16
"""A narrower column would hold a word a line."""
#: the letters and signs of western texts, an arrow and a minus among them, that take one column each
_NARROW = pattern("[ -~\u00a1-\u00ac\u00ae-\u02ff\u2010-\u2027\u2190-\u22ff]*")


class ScreenLine(Struct, frozen=True):
    """One line of a screen; `style` says nothing that the text does not say."""

    text: str
    style: str = ""


class ChangeRow(Struct, frozen=True):
    """One row of the table of changes: what, from what to what, and every place, each on a line of its own."""

    number: str
    what: str
    move: str
    places: tuple[str, ...]


def width_of(text: str) -> int:
    """How many columns a text takes in a terminal."""
    if (text.isascii() and text.isprintable()) or _NARROW.fullmatch(text):
        return len(text)
    from rich.cells import cell_len  # its tables take longer to load than a screen to be put together

    return cell_len(text)


def wrapped(text: str, width: int, first: str = "", others: str | None = None, most: int = 0) -> list[str]:
    """`text` in lines of at most `width` columns, broken between words; a word wider than a line keeps its own.

    `first` stands before the first line and `others` (blanks of the same width, if not given) before the rest. With
    `most` there are at most so many lines, and what is left out is told by "…"."""
    lines = _broken(text, width, first, " " * width_of(first) if others is None else others)
    return _shortened(lines, width, most) if most and len(lines) > most else list(lines)


@lru_cache(maxsize=1024)
def _broken(text: str, width: int, first: str, lead: str) -> tuple[str, ...]:
    """All lines of a text. A screen breaks it again for each brevity that is tried."""
    lines, line = [], first
    for word in inert(text.strip("\n"), PROSE_LIMIT).split():
        joined = line + word if line in (first, lead) else f"{line} {word}"
        if width_of(joined) <= width or line in (first, lead):
            line = joined
        else:
            lines.append(line)
            line = lead + word
    return (*lines, line)


def _shortened(lines: Sequence[str], width: int, most: int) -> list[str]:
    last = lines[most - 1]
    while width_of(f"{last} {MORE}") > width and " " in last.strip():
        last = last.rpartition(" ")[0]
    return [*lines[: most - 1], f"{last.rstrip(' ,;:')} {MORE}"]


def table(rows: Sequence[ChangeRow], width: int, indent: str = "  ") -> list[str]:
    """The rows under each other, each place on a line of its own: beside the value, or below it where that is shorter."""
    shown = [
        ChangeRow(row.number, inert(row.what), inert(row.move), tuple(map(inert, row.places))) for row in rows
    ]
    number = max((width_of(row.number) for row in shown), default=0)
    move = max((width_of(row.move) for row in shown), default=0)
    place = max((width_of(place) for row in shown for place in row.places), default=0)
    widest = max((width_of(row.what) for row in shown), default=0)
    room = width - len(indent) - number - 1 - 2 - move
    layouts = [(max(min(widest, room), LEAST), False)]
    if room - 2 - place >= LEAST:
        layouts.append((min(widest, room - 2 - place), True))
    made = [
        [
            line
            for row in shown
            for line in _row(row, width, f"{indent}{_padded(row.number, number)} ", what, move, beside)
        ]
        for what, beside in layouts
    ]
    return min(made, key=len)


def _row(row: ChangeRow, width: int, lead: str, what: int, move: int, beside: bool) -> Iterable[str]:
    below = " " * len(lead)
    told = wrapped(row.what, len(lead) + what, lead)
    first = f"{_padded(told[0], len(lead) + what)}  {row.move}"
    if width_of(told[0]) > len(lead) + what or width_of(first) > width:
        return [*told, *wrapped(row.move, width, below), *(f"{below}{place}" for place in row.places)]
    if not beside:
        return [first, *told[1:], *(f"{below}{place}" for place in row.places)]
    column = len(lead) + what + 2 + move + 2
    left = [first, *told[1:], *[""] * (len(row.places) - len(told))]
    right = [*row.places, *[""] * (len(left) - len(row.places))]
    return [f"{_padded(one, column)}{other}".rstrip() for one, other in zip(left, right, strict=True)]


def _padded(text: str, width: int) -> str:
    return text + " " * (width - width_of(text))
