"""A maker's figure for steps per mm, as its papers put it: with the number of microsteps for which it holds, the unit in
words, and often the motor's step angle beside it.

`674 steps/mm (1.8° motor, 16 fine steps)`, `674 1/mm at 16 microsteps` and `674 @ 1/16` say the same. A figure without its
number of microsteps is no less a figure, but only half of what has to be known; whoever asks asks for the rest.

This module reads no value and knows no field.
"""

from __future__ import annotations

import re

from msgspec import Struct

from cfgmigrate.ground.pattern import pattern

_FINE = r"(?:fine|micro|µ|μ|u|sub)[ -]?step(?:s|ping)?"
_COUNT = pattern(
    rf"(?:\b(?:at|for|with)\b|@)\s*(?:1/)?(?P<at>\d{{1,3}})\b(?!\.\d|\s*(?:°|deg|mm))(?:\s*{_FINE})?"
    rf"|\b(?:1/)?(?P<before>\d{{1,3}})\s*{_FINE}"
    rf"|\b{_FINE}\s*(?:of|:|=)?\s*(?:1/)?(?P<after>\d{{1,3}})\b",
    re.IGNORECASE,
)
_MOTOR = pattern(
    r"(?P<angle>\d(?:\.\d{1,2})?\s*(?:°|deg(?:rees?)?))(?:\s*(?:step|motor|stepper)){0,2}", re.IGNORECASE
)
_IN_WORDS = pattern(rf"(?:{_FINE}|steps?|pulses?)\s*(?:/|per|a)\s*(?:mm|millimet(?:er|re))\b", re.IGNORECASE)
_PER_MM = pattern(r"(?<!1)(?:/|\bper)\s*mm\b", re.IGNORECASE)
_LEFT_OVER = pattern(r"[\s(),;]+|\band\b", re.IGNORECASE)


class FigureAt(Struct, frozen=True):
    """A figure as a sheet takes it, the count for which it holds, and the step angle that stands beside it ("" for none)."""

    figure: str
    count: str
    motor: str = ""


def figure_at(said: str) -> FigureAt | None:
    """A figure and its count; None where the answer has not one of each, or says anything besides."""
    text = plain_steps(said)
    counts = list(_COUNT.finditer(text))
    if len(counts) != 1:
        return None
    (found,) = counts
    text = f"{text[: found.start()]} {text[found.end() :]}"
    motor = _MOTOR.search(text)
    if motor:
        text = f"{text[: motor.start()]} {text[motor.end() :]}"
    figure = " ".join(_LEFT_OVER.sub(" ", text).split())
    count = found["at"] or found["before"] or found["after"]
    return FigureAt(figure, count, motor["angle"] if motor else "") if figure else None


def plain_steps(said: str) -> str:
    """The unit of steps per mm, in whatever words, as 1/mm."""
    return " ".join(_PER_MM.sub(" 1/mm", _IN_WORDS.sub(" 1/mm", said)).split())
