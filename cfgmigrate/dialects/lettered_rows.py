"""Rows of a listing: what a row is of, and numbers behind letters, `rate X80 Y80 E412`.

A row has no place in any dialect; it stands in logs, in notes and in what a board was asked for. Which setting a row tells of is
said elsewhere; here it is only taken apart, and a number of it compared with the setting's own.
"""

from __future__ import annotations

from cfgmigrate.ground.pattern import pattern

#: a number within this part of what a setting has is near it (a guess)
NEAR_OF_ROWS = 0.25
_NUMBER = r"-?\d{1,9}(?:\.\d{1,6})?"
_ROW = pattern(rf"[ \t<>|:=*-]*([A-Za-z][A-Za-z_]{{1,20}})[ \t:=]+((?:[A-Z]{_NUMBER}(?:[ \t,;]+|$))+)")
_LETTERED = pattern(rf"([A-Z])({_NUMBER})")


def lettered_row(line: str) -> tuple[str, tuple[tuple[str, str], ...]] | None:
    """The word of a row, and its letters with their numbers as written; None of any other line."""
    found = _ROW.fullmatch(line)
    return (found[1], tuple(_LETTERED.findall(found[2]))) if found else None


def is_near(number: float, old: float) -> bool:
    """Whether a number of a row may be another value of a setting that has the old one."""
    return abs(number - old) <= NEAR_OF_ROWS * abs(old)
