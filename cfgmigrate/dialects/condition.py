"""Whether the condition of an `#if` holds: yes, no, or not to be told from the files.

`grammars/condition.lark` is C's arithmetic over integers. The text comes with its names already put in
(`macros.py`); `@` stands for what is not known. Logic goes on in spite of it where C's own would: `0 && @`
is no, `1 || @` is yes.

This module deliberately does not wrap at 64 bits: a condition with numbers of that size is not decided.
"""

from __future__ import annotations

import operator
from collections.abc import Callable
from functools import lru_cache
from typing import TYPE_CHECKING

from cfgmigrate.dialects.grammar import parse

if TYPE_CHECKING:
    from lark import Token, Tree

#: A longer condition is not decided.
LONGEST_CONDITION = 4000
_BOUND = 2**63
_BINARY: dict[str, Callable[[int, int], int]] = {
    "|": operator.or_,
    "^": operator.xor,
    "&": operator.and_,
    "==": operator.eq,
    "!=": operator.ne,
    "<": operator.lt,
    "<=": operator.le,
    ">": operator.gt,
    ">=": operator.ge,
    "<<": operator.lshift,
    ">>": operator.rshift,
    "+": operator.add,
    "-": operator.sub,
    "*": operator.mul,
}


@lru_cache(maxsize=1024)
def holds(text: str) -> bool | None:
    """Whether a condition is true; None where that can't be told. Never raises."""
    if len(text) > LONGEST_CONDITION:
        return None
    try:
        tree = parse("condition", text)
        value = _value(tree) if tree else None
    except RecursionError:
        return None
    return None if value is None else value != 0


def _value(node: Tree[Token] | Token) -> int | None:
    """A subtree's integer, None where it is not known. Raises RecursionError on absurd nesting."""
    assert not isinstance(node, str), "a token stands only where its text is read"
    parts = node.children
    match node.data:
        case "integer":
            return _integer(str(parts[0]))
        case "character":
            return ord(str(parts[0])[1])
        case "unknown":
            return None
        case "unary":
            return _unary(str(parts[0]), _value(parts[1]))
        case "binary":
            return _binary(str(parts[1]), _value(parts[0]), _value(parts[2]))
        case "both":
            return _logic(_value(parts[0]), _value(parts[1]), settles=False)
        case "either":
            return _logic(_value(parts[0]), _value(parts[1]), settles=True)
    condition, then, otherwise = (_value(part) for part in parts)
    if condition is None:
        return then if then == otherwise else None
    return then if condition else otherwise


def _integer(text: str) -> int | None:
    digits = text.rstrip("uUlL")
    octal = len(digits) > 1 and digits.isdigit() and digits[0] == "0"
    try:
        return _bounded(int(digits, 8) if octal else int(digits, 0))
    except ValueError:
        return None


def _bounded(value: int) -> int | None:
    return value if -_BOUND <= value < _BOUND else None


def _unary(sign: str, value: int | None) -> int | None:
    if value is None:
        return None
    return {"!": int(not value), "~": ~value, "-": -value, "+": value}[sign]


def _binary(sign: str, left: int | None, right: int | None) -> int | None:
    if left is None or right is None:
        return None
    if sign in "/%":
        if right == 0:
            return None
        quotient = abs(left) // abs(right) * (1 if (left < 0) == (right < 0) else -1)
        return quotient if sign == "/" else left - quotient * right
    if sign in ("<<", ">>") and not 0 <= right < 63:
        return None
    return _bounded(int(_BINARY[sign](left, right)))


def _logic(left: int | None, right: int | None, *, settles: bool) -> int | None:
    """`&&` (settled by a no) or `||` (settled by a yes)."""
    if any(value is not None and bool(value) is settles for value in (left, right)):
        return int(settles)
    return None if left is None or right is None else int(not settles)
