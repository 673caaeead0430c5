"""What is left of a move that brought filament through a tube, or took it out, once the tube is gone.

A script that loads or unloads often does so in parts: a slow one at the gear, a fast one through the tube, a slow one in
the hot end. With the tube gone the slow ones alone may reach from bite to tip, and the fast one is not needed at all.
Numbers are added up as if each went on from where the filament stands; whether they do, the caller knows.

This says what a person may write; nothing is written by it.
"""

from __future__ import annotations

from collections.abc import Sequence

#: what comes to so many old paths was made for one
MADE_FOR = (0.9, 1.35)
NO_LONGER_NEEDED = "Take this move out by hand, it is no longer needed"
"""How the advice begins where the other moves do."""


def comes_to(lengths: Sequence[float]) -> float:
    """How far the filament goes in the direction of the longest of these feeds, in mm."""
    longest = max(lengths, key=abs)
    return sum(lengths) if longest >= 0 else -sum(lengths)


def made_for_a_path(lengths: Sequence[float], old: float) -> bool:
    """Whether feeds without another move between come to about one old path."""
    return bool(lengths) and MADE_FOR[0] * old <= comes_to(lengths) <= MADE_FOR[1] * old


def what_is_left(lengths: Sequence[float], old: float, new: float) -> str:
    """What becomes of the longest of these feeds, which come to about the `old` path, now that it is `new`; all in mm."""
    longest = max(lengths, key=abs)
    whole = comes_to(lengths)
    others, needed = whole - abs(longest), whole - (old - new)
    does = "feeds" if longest > 0 else "pulls"
    enough = f"The path is {new:g} mm now"
    if needed > new:
        enough += f"; with what was added to the old one, {needed:g} mm are enough"
    if others >= new:
        return f"{NO_LONGER_NEEDED}: the other {does} of this stretch come to {others:g} mm. {enough}."
    left = f"{'-' if longest < 0 else ''}{max(needed, new) - others:g}"
    with_others = f", and the other {does} of this stretch come to {others:g} mm" if others else ""
    return f"Write {left} here by hand, for {longest:g}. {enough}{with_others}."
