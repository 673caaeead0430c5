"""The right-hand side of a setting: what kind of value it is, and where each number in it stands.

`read_value` parses one value text with `grammars/value.lark`. Spans are in characters of that text, so
that a single number within a list or a ratio can be edited by itself. What the grammar can't place is
`Text`: that is an answer, not an error.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Number:
    """A plain number, perhaps with a unit written behind it. `text` is the number as written, without
    the unit; `start` and `end` span `text` within the value. `unit` is as written, "" where there is
    none; "%" is a unit too."""

    value: float
    text: str
    start: int
    end: int
    unit: str = ""

    @property
    def decimals(self) -> int:
        """How many digits stand after the point."""
        mantissa = self.text.lower().split("e")[0]
        return len(mantissa.partition(".")[2])


@dataclass(frozen=True, slots=True)
class Ratio:
    """Gear stages such as `50:17` or `50:17, 3:1`; `value` is their product. The span is the whole text."""

    value: float
    stages: tuple[tuple[Number, Number], ...]
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Items:
    """A list: `80, 80, 400, 93`, `[1, 2]`, `{ 80, 80 }` or `1 2 3`. Each item carries its own span."""

    items: tuple[Value, ...]
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Truth:
    """true/false, yes/no, on/off, in any case."""

    value: bool
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Text:
    """Anything else: words, quoted strings, arithmetic, scripts."""

    text: str
    start: int
    end: int


Value = Number | Ratio | Items | Truth | Text
