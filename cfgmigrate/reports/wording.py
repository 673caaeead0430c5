"""Shares, counts and sentences as people write them. Numbers with units are told by `ground/number_text.py`."""

from __future__ import annotations

from collections.abc import Iterable

WORKED_OUT = 4
"""Significant digits of a number that was worked out and has no uncertainty of its own."""


def share(part: float) -> str:
    """An input's part of the variance, as whole per cent; nothing where it has none."""
    if part <= 0:
        return ""
    percent = 100 * part
    if percent < 1:
        return "<1 %"
    return ">99 %" if 99.5 <= percent < 99.9999 else f"{percent:.0f} %"


def count(many: int, one: str, more: str = "") -> str:
    """`1 change`, `3 changes`, `no changes`."""
    plural = more or f"{one}s"
    if many == 0:
        return f"no {plural}"
    return f"1 {one}" if many == 1 else f"{many:,} {plural}"


def in_a_row(texts: Iterable[str]) -> str:
    """`0.4, 0.6 and 1.2`."""
    *before, last = texts
    return f"{', '.join(before)} and {last}" if before else last


def capital(text: str) -> str:
    """The text with its first letter in upper case, the others as they are."""
    return text[:1].upper() + text[1:]


def stop(text: str) -> str:
    """The text with a full stop, unless it ends a sentence already."""
    trimmed = text.rstrip()
    return trimmed if not trimmed or trimmed.endswith((".", "!", "?", ":", "…")) else f"{trimmed}."


def sentence(text: str) -> str:
    """The text as a sentence: a capital first and a stop last. A name with a dot or digit in it keeps its letters."""
    first = text.split(" ", 1)[0]
    name = any(letter in first for letter in "._/=") or any(letter.isdigit() for letter in first)
    return stop(text if name else capital(text))
