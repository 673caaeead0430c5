"""Whether what a packet records is what works out again, and where two values differ, for people.

Two long texts often begin alike. So what is shown of each is the part where they differ, with a few words before it.

Nothing is judged here; what a difference means is the matter of `again.py`.
"""

from __future__ import annotations

import math
from contextlib import suppress
from typing import Any

#: as far as two processors may differ in the last digits of the same arithmetic (relative); all else is exact
LAST_DIGITS = 1e-12
#: letters of a value that are shown, and how many of them stand before the first that differs
_SHOWN, _BEFORE = 80, 30


def same_as_recorded(one: Any, other: Any) -> bool:
    """Whether two pieces of JSON are the same, numbers but for their last digits."""
    if isinstance(one, bool) or isinstance(other, bool):
        return one is other
    if isinstance(one, int | float) and isinstance(other, int | float):
        with suppress(OverflowError):  # a whole number, longer than any that was measured
            return math.isclose(one, other, rel_tol=LAST_DIGITS, abs_tol=LAST_DIGITS)
    return bool(one == other)


def told_apart(one: Any, other: Any) -> tuple[str, str]:
    """Two values that differ, each in ASCII and shortened to where they do."""
    texts = ascii(one), ascii(other)
    pairs = enumerate(zip(*texts, strict=False))
    alike = next((at for at, (mine, theirs) in pairs if mine != theirs), min(map(len, texts)))
    start = alike - _BEFORE if alike > _SHOWN - _BEFORE else 0
    return _part(texts[0], start), _part(texts[1], start)


def _part(text: str, start: int) -> str:
    end = start + _SHOWN - 3
    shown = text[start:] if len(text) <= start + _SHOWN else f"{text[start:end]}…"
    return f"…{shown}" if start else shown
