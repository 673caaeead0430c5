"""What is left of a move that brought filament through a tube, or took it out, once the tube is gone.

A script that loads or unloads often does so in parts: a slow one at the gear, a fast one through the tube, a slow one in
the hot end. With the tube gone the slow ones alone may reach from bite to tip, and the fast one is not needed at all.
Numbers are added up as if each went on from where the filament stands; whether they do, the caller knows.

This says what a person may write; nothing is written by it.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

#: what comes to so many old paths was made for one
MADE_FOR = (0.9, 1.35)
#: what is left of a way may be so many times what is needed, as where something was added to it
_MUCH_MORE = 1.5
NO_LONGER_NEEDED = "Take this move out by hand, it is no longer needed"
"""How the advice begins where the other moves do."""


class FeedPlace(Struct, frozen=True):
    """The absolute place that a feed goes to: the letter and number that are written, mm per unit of it, the line, which
    zero it counts from, and whether a later feed still counts from that."""

    letter: str
    number: float
    scale: float
    line: int
    zero: int
    goes_on: bool


def comes_to(lengths: Sequence[float]) -> float:
    """How far the filament goes in the direction of the longest of these feeds, in mm."""
    longest = max(lengths, key=abs)
    return sum(lengths) if longest >= 0 else -sum(lengths)


def made_for_a_path(lengths: Sequence[float], old: float) -> bool:
    """Whether feeds without another move between come to about one old path."""
    return bool(lengths) and MADE_FOR[0] * old <= comes_to(lengths) <= MADE_FOR[1] * old


def what_is_left(lengths: Sequence[float], old: float, new: float, places: Sequence[FeedPlace] = ()) -> str:
    """What becomes of the longest of these feeds, which come to about the `old` path, now that it is `new`; all in mm.
    `places` are where the feeds go to, if they count in absolute places."""
    longest = max(lengths, key=abs)
    whole = comes_to(lengths)
    others, needed = whole - abs(longest), whole - (old - new)
    does = "feeds" if longest > 0 else "pulls"
    enough = f"The path is {new:g} mm now"
    if needed > new:
        enough += f"; with what was added to the old one, {needed:g} mm are enough"
    sign = -1 if longest < 0 else 1
    at = list(lengths).index(longest)
    if others >= new:
        if not places and (split := _of_split_moves(lengths, max(needed, new))):
            return f"{NO_LONGER_NEEDED}{split} {enough}."
        moved = _with_places(places, at, longest)
        behind = f" Write {' and '.join(moved[1:])}: these are places, not lengths." if moved[1:] else ""
        return (
            f"{NO_LONGER_NEEDED}: the other {does} of this stretch come to {others:g} mm.{behind} {enough}."
        )
    left = max(needed, new) - others
    with_others = f", and the other {does} of this stretch come to {others:g} mm" if others else ""
    if places:
        here, *behind_it = _with_places(places, at, longest - sign * left)
        rest = "".join(f", and {each}" for each in behind_it)
        write = f"Write {here} here by hand{rest}: these are places, not lengths"
    else:
        write = f"Write {'-' if sign < 0 else ''}{left:g} here by hand, for {longest:g}"
    return f"{write}. {enough}{with_others}."


def _of_split_moves(lengths: Sequence[float], enough: float) -> str:
    """What else becomes of a way that was split in several long moves, of which the longest is taken out: what would be left is still
    many times too much. "" where no other move is so long."""
    sign = 1 if max(lengths, key=abs) > 0 else -1
    longest, *rest = sorted((each * sign for each in lengths if each * sign > 0), reverse=True)
    left = comes_to(lengths) - longest
    out: list[float] = []
    for each in rest:
        if left <= _MUCH_MORE * enough:
            break
        if left - each < enough:
            stays = enough - (left - each)
            also = f", nor {'is' if len(out) == 1 else 'are'} {_listed(out)}" if out else ""
            minus = "-" if sign < 0 else ""
            return (
                f"{also}; and write {minus}{stays:g} for {minus}{each:g} in one of the others. The moves of this stretch then come to "
                f"{enough:g} mm."
            )
        out.append(each)
        left -= each
    if not out:
        return ""
    return f", nor {'is' if len(out) == 1 else 'are'} {_listed(out)}. The moves of this stretch then come to {left:g} mm."


def _listed(out: Sequence[float]) -> str:
    """`another one of 190 mm`, `2 others (190 mm, 180 mm)`."""
    if len(out) == 1:
        return f"another one of {out[0]:g} mm"
    return f"{len(out)} others ({', '.join(f'{each:g} mm' for each in out)})"


def _with_places(places: Sequence[FeedPlace], at: int, less: float) -> list[str]:
    """What is written for the place at which the feed `at` ends, and for those behind it that count from the same zero,
    once that feed is shorter by `less` mm (below 0 for a pull)."""
    mine = [each for each in places[at:] if each.zero == places[at].zero]
    said = [
        f"{each.letter}{each.number - less / each.scale:g} for {each.letter}{each.number:g}"
        + (f" in line {each.line}" if each.line != places[at].line else "")
        for each in mine
    ]
    if mine and mine[-1].goes_on:
        by = f"{-less / mine[-1].scale:+g}"
        said.append(f"all that stands behind them and counts from the same zero changed by {by} too")
    return said
