"""One screen out of several lists: each under its title, the longest shortened first, and told how many are left out.

This is how `survey`, `compare`, `revert` and `history` fit a terminal; `--full` prints all of it. An item is never cut in
two, no section disappears, and what stands last (what is next) stands whole.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from cfgmigrate.reports.screen import ScreenLine, wrapped

SCREENFUL = 40
LEAST_SHOWN = 2
"""So many items of a section are shown however long the others are."""


class Section(Struct, frozen=True):
    """A title ("" for none) and its items, each in one or more lines; a `whole` one is never shortened."""

    title: str
    items: tuple[tuple[str, ...], ...]
    style: str = ""
    whole: bool = False


def section(
    title: str,
    texts: Sequence[str],
    width: int,
    first: str = "  ",
    *,
    style: str = "",
    whole: bool = False,
    most: int = 0,
) -> Section:
    """A section of texts, each wrapped to the width behind `first`, in at most so many lines. What is sure to be left
    out of a screen is only counted."""
    seen = len(texts) if whole else SCREENFUL
    items = [tuple(wrapped(text, width, first, most=most)) for text in texts[:seen]]
    return Section(title, (*items, *((text,) for text in texts[seen:])), style, whole)


def one_screen(sections: Sequence[Section], lines: int = SCREENFUL) -> list[ScreenLine]:
    """The sections in so many lines where they can be shortened to it; empty ones are left out."""
    shown = [each for each in sections if each.items]
    counts = [len(each.items) if each.whole else min(len(each.items), SCREENFUL) for each in shown]
    while sum(map(_height, shown, counts)) > lines:
        able = [at for at, each in enumerate(shown) if not each.whole and counts[at] > LEAST_SHOWN]
        if not able:
            break
        counts[max(able, key=lambda at: _height(shown[at], counts[at]))] -= 1
    made: list[ScreenLine] = []
    for each, many in zip(shown, counts, strict=True):
        made += [ScreenLine(each.title, "bold")] if each.title else []
        made += [ScreenLine(line, each.style) for item in each.items[:many] for line in item]
        if many < len(each.items):
            made.append(ScreenLine(f"  and {len(each.items) - many:,} more: --full"))
    return made


def _height(each: Section, many: int) -> int:
    return bool(each.title) + sum(len(item) for item in each.items[:many]) + (many < len(each.items))
