"""The right-hand side of a setting: what kind of value it is, and where each number in it stands.

`read_value` parses one value text with `grammars/value.lark`. Spans are in characters of that text, so
that a single number within a list or a ratio can be edited by itself. What the grammar can't place is
`Text`: that is an answer, not an error. Arithmetic is text too; nothing is worked out here.

What most texts are (a number, two stages, numbers in a row, a word, prose) is seen without the parser, and most runs
never load it. The answer is the parser's; a test holds the two beside each other.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING, cast

from msgspec import Struct

from cfgmigrate.dialects.grammar import parse
from cfgmigrate.ground.pattern import pattern

if TYPE_CHECKING:
    from lark import Token, Tree

#: Past this many characters a value is a script or a table, not a number: it is `Text` without a look.
LONGEST_READ = 10_000
#: Lists within lists, no deeper than this.
DEEPEST_LIST = 8
_TRUTHS = {"true": True, "yes": True, "on": True, "false": False, "no": False, "off": False}
#: what C lets stand directly behind a number to say its type; no unit
_C_SUFFIXES = frozenset(
    ("f", "F", "u", "U", "l", "L", "ul", "UL", "uL", "Ul", "lu", "LU", "ll", "LL", "ull", "ULL")
)
_DECIMAL = r"[+-]?(?:[0-9]++(?:\.[0-9]*+)?+|\.[0-9]++)(?:[eE][+-]?[0-9]++)?+"
#: a number, perhaps with a unit (one that begins with x may be a hexadecimal number), two stages of gears, a list of numbers
_ONE = pattern(rf"({_DECIMAL})([ \t]*+(?:(?![xX])[A-Za-z]++(?:/[A-Za-z]++)?+|%))?+")
_STAGE = pattern(rf"({_DECIMAL})[ \t]*+:[ \t]*+({_DECIMAL})")
_ROW = pattern(rf"{_DECIMAL}(?:(?:[ \t]*+,[ \t]*+{_DECIMAL})++|(?:[ \t]++{_DECIMAL})++)")
_EACH = pattern(_DECIMAL)
_WORD = pattern(r"""[A-Za-z][^\x00-\x20,;:=()\[\]{}"'#]*+""")
_QUOTED = pattern(r'"[^"\\]*+(?:\\.[^"\\]*+)*+"' + "|" + r"'[^'\\]*+(?:\\.[^'\\]*+)*+'")
#: begins as no value does, or is an amount of which more is said
_PROSE = pattern(
    rf"[,;:=)\]}}#%*/°²³·]|{_DECIMAL}[ \t]*+(?:(?![xX])[A-Za-z]++(?:/[A-Za-z]++)?+|%)[ \t]++[A-Za-z]"
)


class Number(Struct, frozen=True):
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


class Ratio(Struct, frozen=True):
    """Gear stages such as `46:15`, or several (`46:15 x 3:1`, or a list of them); `value` is their product. The span is the whole text."""

    value: float
    stages: tuple[tuple[Number, Number], ...]
    start: int
    end: int


class Items(Struct, frozen=True):
    """A list: `88, 88, 640, 96`, `[1, 2]`, `{ 80, 80 }` or `1 2 3`. Each item carries its own span."""

    items: tuple[Value, ...]
    start: int
    end: int


class Truth(Struct, frozen=True):
    """true/false, yes/no, on/off, in any case."""

    value: bool
    start: int
    end: int


class Text(Struct, frozen=True):
    """Anything else: words, quoted strings, arithmetic, scripts."""

    text: str
    start: int
    end: int


Value = Number | Ratio | Items | Truth | Text


class _NoValue(Exception):
    """The text has the shape of a value but is none: a number past all bounds, a gear of no teeth."""


@lru_cache(maxsize=4096)
def read_value(text: str) -> Value:
    """The value that stands in `text`, without its surrounding blanks. Never raises.

    A quoted text is what stands between its quotes: a number in quotes is a number. A lone number in round
    brackets is that number. A letter suffix by which C types a number is not a unit. `a:b` is a ratio, and
    so is a list of nothing but ratios; its value is their product. Lists deeper than `DEEPEST_LIST`, values
    longer than `LONGEST_READ` characters and numbers too large to hold are `Text`.
    """
    return _read(text, 0)


def _read(text: str, shift: int) -> Value:
    """The value in `text`, which stands `shift` characters into the whole."""
    body = text.strip()
    start = shift + text.find(body)
    plain = Text(body, start, start + len(body))
    if not body or len(body) > LONGEST_READ:
        return plain
    try:
        return _seen(body, start) or _parsed(body, start) or plain
    except _NoValue:
        return plain


def _seen(body: str, start: int) -> Value | None:
    """The value of a text that needs no parser; None for any other."""
    end = start + len(body)
    if word := _WORD.match(body):
        behind = body[word.end() :].lstrip(" \t\r\n")
        if behind.startswith((",", "\\", "/*")):  # perhaps a list of words
            return None
        truth = _TRUTHS.get(body.lower())
        return Text(body, start, end) if truth is None else Truth(truth, start, end)
    if _QUOTED.fullmatch(body):
        return _inside_quotes(body, start)
    if one := _ONE.fullmatch(body):
        return _bare(one[1], start, _unit(one[2] or ""))
    if stage := _STAGE.fullmatch(body):
        return _stage(_bare(stage[1], start), _bare(stage[2], start + stage.start(2)))
    if _ROW.fullmatch(body):
        return Items(tuple(_bare(each[0], start + each.start()) for each in _EACH.finditer(body)), start, end)
    return Text(body, start, end) if _PROSE.match(body) else None


def _parsed(body: str, start: int) -> Value | None:
    tree = parse("value", body)
    return _value(tree, start, 0) if tree else None


def _value(tree: Tree[Token], shift: int, depth: int) -> Value:
    first = tree.children[0]
    if tree.data == "number":
        return _number(tree, shift)
    if tree.data == "ratio":
        return _ratio(tree, shift)
    if tree.data == "stages":
        return _product([_ratio(cast("Tree[Token]", stage), shift) for stage in tree.children])
    if tree.data == "word":
        return _word(cast("Token", first), shift)
    if tree.data == "quoted":
        return _inside_quotes(str(first), _start(cast("Token", first), shift))
    return _list(tree, shift, depth)


def _number(tree: Tree[Token], shift: int) -> Number:
    number, *behind = cast("list[Token]", tree.children)
    return _bare(str(number), _start(number, shift), _unit(str(behind[0]) if behind else ""))


def _start(token: Token, shift: int) -> int:
    return shift + (token.start_pos or 0)


def _unit(behind: str) -> str:
    return "" if behind in _C_SUFFIXES else behind.strip()


def _bare(text: str, start: int, unit: str = "") -> Number:
    try:
        value = float(int(text, 16)) if "x" in text.lower() else float(text)
    except OverflowError:
        value = math.inf
    if math.isinf(value):
        raise _NoValue
    return Number(value, text, start, start + len(text), unit)


def _ratio(tree: Tree[Token], shift: int) -> Ratio:
    pair = cast("list[Token]", tree.children)
    return _stage(*(_bare(str(number), _start(number, shift)) for number in pair))


def _stage(driven: Number, driving: Number) -> Ratio:
    if driving.value == 0:
        raise _NoValue
    return Ratio(driven.value / driving.value, ((driven, driving),), driven.start, driving.end)


def _product(stages: list[Ratio]) -> Ratio:
    pairs = tuple(pair for stage in stages for pair in stage.stages)
    return Ratio(math.prod(stage.value for stage in stages), pairs, stages[0].start, stages[-1].end)


def _word(word: Token, shift: int) -> Truth | Text:
    start = shift + (word.start_pos or 0)
    truth = _TRUTHS.get(word.lower())
    if truth is not None:
        return Truth(truth, start, start + len(word))
    return Text(str(word), start, start + len(word))


def _inside_quotes(quoted: str, start: int) -> Value:
    value = _read(quoted[1:-1], start + 1)
    return Text(quoted[1:-1], start + 1, start + len(quoted) - 1) if isinstance(value, Text) else value


def _list(tree: Tree[Token], shift: int, depth: int) -> Value:
    if depth > DEEPEST_LIST:
        raise _NoValue
    brackets = [child for child in tree.children if isinstance(child, str)]
    inside = [child for child in tree.children if not isinstance(child, str)]
    if brackets and len(inside) == 1 and inside[0].data in ("blanks", "commas"):
        inside = cast("list[Tree[Token]]", inside[0].children)
    items = tuple(_value(child, shift, depth + 1) for child in inside)
    if brackets:
        opened, closed = brackets
        if opened.startswith("(") and len(items) == 1 and isinstance(items[0], Number):
            return items[0]
        start, end = shift + (opened.start_pos or 0), shift + (closed.end_pos or 0)
    else:
        start, end = items[0].start, items[-1].end
    stages = [item for item in items if isinstance(item, Ratio)]
    if stages and len(stages) == len(items):
        pairs = tuple(pair for stage in stages for pair in stage.stages)
        return Ratio(math.prod(stage.value for stage in stages), pairs, start, end)
    return Items(items, start, end)
