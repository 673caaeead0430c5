"""Formulas of the rule book: from text to a tree, what names they use, and what they come to.

A formula is ordinary arithmetic (`grammars/formula.lark`). The tree is a handful of frozen nodes, each tagged
with its name so that a compiled rule can hold it, walked by plain functions: `names`, `evaluate`, `holds`. Numbers are whatever the caller passes in (floats, or
values with uncertainty from the `uncertainties` package): the walk only adds, multiplies and calls.

Units are checked in `dimensions.py`, text for people is made in `derivation.py`. There are no loops, no
assignments and no calls but the listed functions: a formula always ends.
"""

from __future__ import annotations

import ast
import math
import operator
from collections.abc import Callable, Iterator, Mapping
from functools import cache, lru_cache
from typing import Any

from msgspec import Struct

from cfgmigrate.dialects.grammar import grammar
from cfgmigrate.ground.pattern import pattern

#: what the condition of these words asks for. No formula can name it, since a name has no blank in it
IN_A_PROFILE = "in a profile"
#: longer formulas are refused: a derivation that long can't be reviewed
LONGEST_FORMULA = 2000


class FormulaError(ValueError):
    """A formula that can't be read or has no finite value. `column` counts from 1, 0 where unknown."""

    def __init__(self, what: str, column: int = 0) -> None:
        super().__init__(what)
        self.column = column


class Literal(Struct, frozen=True, tag=True, array_like=True):
    value: float
    text: str


class Variable(Struct, frozen=True, tag=True, array_like=True):
    name: str


class Operation(Struct, frozen=True, tag=True, array_like=True):
    """`symbol` is one of + - * / ^."""

    symbol: str
    left: Expression
    right: Expression


class Negation(Struct, frozen=True, tag=True, array_like=True):
    inner: Expression


class Call(Struct, frozen=True, tag=True, array_like=True):
    function: str
    arguments: tuple[Expression, ...]


Expression = Literal | Variable | Operation | Negation | Call


class Inequality(Struct, frozen=True, tag=True, array_like=True):
    left: Expression
    symbol: str
    right: Expression


class IsWord(Struct, frozen=True, tag=True, array_like=True):
    name: str
    word: str


class IsKnown(Struct, frozen=True, tag=True, array_like=True):
    name: str


class Junction(Struct, frozen=True, tag=True, array_like=True):
    """`both` says whether both sides must hold or one is enough."""

    both: bool
    left: Condition
    right: Condition


class Opposite(Struct, frozen=True, tag=True, array_like=True):
    inner: Condition


Condition = Inequality | IsWord | IsKnown | Junction | Opposite
Node = Expression | Condition

#: a text of nothing but the grammar's tokens (a tab or a line end would count for Python), and what only one of the two takes
_TOKENS = pattern(
    r"(?:(?:[a-z][a-z0-9_]*+(?:\.[a-z][a-z0-9_]*+)++|[a-z][a-z0-9]*+(?:_[a-z0-9]++)++|pi|min|max|sqrt|floor|ceil|exp|abs)(?![\w.])"
    r"|(?:0|[1-9][0-9]*+)(?:\.[0-9]++)?+(?:e[-+]?[0-9]++)?+(?![\w.])|[-+*/^(), ])++"
)
_NOT_BOTH = pattern(r"^ |\*\*|//|, *\)|\( *\)")
_OPERATORS: dict[type[ast.operator], str] = {
    ast.Add: "+", ast.Sub: "-", ast.Mult: "*", ast.Div: "/", ast.Pow: "^",
}  # fmt: skip
_SYMBOLS = {"add": "+", "subtract": "-", "multiply": "*", "divide": "/", "power": "^"}


def read_expression(text: str) -> Expression:
    """The tree of a formula. Raises FormulaError with a column."""
    found: Expression = _read(text, "expression")
    return found


def read_condition(text: str) -> Condition:
    """The tree of a condition. Raises FormulaError with a column."""
    found: Condition = _read(text, "condition")
    return found


@lru_cache(maxsize=1024)
def _read(text: str, start: str) -> Any:
    if len(text) > LONGEST_FORMULA:
        raise FormulaError(f"longer than {LONGEST_FORMULA} characters")
    if start == "expression" and (seen := read_as_python(text)) is not None:
        return seen
    return _parsed(text, start)


def _parsed(text: str, start: str) -> Any:
    from lark.exceptions import UnexpectedInput

    try:
        tree = grammar("formula").parse(text, start=start)
        return _node(tree)
    except UnexpectedInput as error:
        column = max(getattr(error, "column", 0) or 0, 0)
        ended = getattr(getattr(error, "token", None), "type", "") == "$END"
        left = "" if ended or not column else text[column - 1 :]
        kind = "formula" if start == "expression" else "condition"
        raise FormulaError(
            f"this is no {kind} from {left!r} on" if left else f"this {kind} ends too soon", column
        ) from None
    except RecursionError:
        raise FormulaError("is nested too deeply") from None


def read_as_python(text: str) -> Expression | None:
    """The tree of a formula that Python's own parser reads as the grammar does, which spares most runs the loading of the
    grammar; None for any other text."""
    if not _TOKENS.fullmatch(text) or _NOT_BOTH.search(text):
        return None
    spelled = text.replace("^", "**")
    try:
        return _of_python(ast.parse(spelled, mode="eval").body, spelled)
    except (SyntaxError, RecursionError, MemoryError):
        return None


def _of_python(node: ast.expr, text: str) -> Expression | None:
    written = text[node.col_offset : node.end_col_offset]
    match node:
        case ast.Constant():
            return Literal(float(written), written)
        case ast.Name(id="pi"):
            return Literal(math.pi, "pi")
        case ast.Name() | ast.Attribute() if written not in FUNCTIONS:
            return Variable(written)
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            inner = _of_python(operand, text)
            return inner and Negation(inner)
        case ast.BinOp(left=one, op=op, right=other) if type(op) in _OPERATORS:
            left, right = _of_python(one, text), _of_python(other, text)
            return left and right and Operation(_OPERATORS[type(op)], left, right)
        case ast.Call(func=ast.Name(id=function), args=[_, *_] as given, keywords=[]) if (
            function in FUNCTIONS
        ):
            arguments = [found for each in given if (found := _of_python(each, text))]
            return Call(function, tuple(arguments)) if len(arguments) == len(given) else None
    return None


def _node(tree: Any) -> Any:
    kind, parts = tree.data, tree.children
    if kind in _SYMBOLS:
        return Operation(_SYMBOLS[kind], _node(parts[0]), _node(parts[1]))
    match kind:
        case "number":
            return Literal(float(parts[0]), str(parts[0]))
        case "pi":
            return Literal(math.pi, "pi")
        case "name":
            return Variable(str(parts[0]))
        case "negate":
            return Negation(_node(parts[0]))
        case "call":
            return Call(str(parts[0]), tuple(_node(part) for part in parts[1:]))
        case "compare":
            return Inequality(_node(parts[0]), str(parts[1]), _node(parts[2]))
        case "is_word":
            return IsWord(str(parts[0]), str(parts[1])[1:-1])
        case "known":
            return IsKnown(str(parts[0]))
        case "in_a_profile":
            return IsKnown(IN_A_PROFILE)
        case "both" | "either":
            return Junction(kind == "both", _node(parts[0]), _node(parts[1]))
        case _:
            return Opposite(_node(parts[0]))


def names(node: Node) -> tuple[str, ...]:
    """The names a formula or condition uses, each once, in the order of their first use."""
    return tuple(dict.fromkeys(_names(node)))


def _names(node: Node) -> Iterator[str]:
    if isinstance(node, Variable | IsWord | IsKnown):
        yield node.name
    elif isinstance(node, Operation | Inequality | Junction):
        yield from _names(node.left)
        yield from _names(node.right)
    elif isinstance(node, Negation | Opposite):
        yield from _names(node.inner)
    elif isinstance(node, Call):
        for argument in node.arguments:
            yield from _names(argument)


def nominal(value: Any) -> float:
    """A value without its uncertainty."""
    return float(getattr(value, "nominal_value", value))


def _root(value: Any) -> Any:
    if isinstance(value, float | int):
        return math.sqrt(value)
    return _of_uncertain()["sqrt"](value)


def _exponential(value: Any) -> Any:
    if isinstance(value, float | int):
        return math.exp(value)
    return _of_uncertain()["exp"](value)


@cache
def _of_uncertain() -> dict[str, Callable[..., Any]]:
    """The two functions for values with uncertainty, by their derivatives. Those of `uncertainties.umath` come with all
    the others, which takes longer to make than a plan's values."""
    from uncertainties import wrap

    return {
        "sqrt": wrap(math.sqrt, [lambda value: 0.5 / math.sqrt(value)]),
        "exp": wrap(math.exp, [math.exp]),
    }


# A value a hair under a whole number because of binary fractions is that whole number.
_HAIR = 1e-9

FUNCTIONS: dict[str, Callable[..., Any]] = {
    "min": lambda *values: min(values, key=nominal),
    "max": lambda *values: max(values, key=nominal),
    "sqrt": _root,
    "exp": _exponential,
    "floor": lambda value: float(math.floor(nominal(value) + _HAIR)),
    "ceil": lambda value: float(math.ceil(nominal(value) - _HAIR)),
    "abs": lambda value: -value if nominal(value) < 0 else value,
}


def evaluate(node: Expression, values: Mapping[str, Any]) -> Any:
    """What the formula comes to, with `values` in any one consistent system of units.

    Raises FormulaError where there is no finite real value, KeyError where a name has none.
    """
    try:
        found = _evaluate(node, values)
    except ZeroDivisionError:
        raise FormulaError("divides by zero") from None
    except (OverflowError, ValueError):
        raise FormulaError("has no finite real value") from None
    if isinstance(found, complex) or not math.isfinite(nominal(found)):
        raise FormulaError("has no finite real value")
    return found


def _evaluate(node: Expression, values: Mapping[str, Any]) -> Any:
    """The kinds in the order in which they are met most: a plan comes to some thousands of nodes."""
    if isinstance(node, Variable):
        return values[node.name]
    if isinstance(node, Operation):
        return _operate(node.symbol, _evaluate(node.left, values), _evaluate(node.right, values))
    if isinstance(node, Literal):
        return node.value
    if isinstance(node, Negation):
        return -_evaluate(node.inner, values)
    return FUNCTIONS[node.function](*(_evaluate(argument, values) for argument in node.arguments))


def _operate(symbol: str, left: Any, right: Any) -> Any:
    match symbol:
        case "+":
            return left + right
        case "-":
            return left - right
        case "*":
            return left * right
        case "/":
            return left / right
        case _:
            return left**right


def holds(node: Condition, values: Mapping[str, Any], words: Mapping[str, str]) -> bool:
    """Whether a condition holds. What is said about an unknown name does not hold, nor does a comparison with what comes to
    no number: a file may say 0 (a retraction switched off) where a rule asks by how much it changes."""
    match node:
        case IsKnown(name):
            return name in values or name in words
        case IsWord(name, word):
            return words.get(name) == word
        case Opposite(inner):
            return not holds(inner, values, words)
        case Junction(both, left, right):
            first = holds(left, values, words)
            return first and holds(right, values, words) if both else first or holds(right, values, words)
        case Inequality(left, symbol, right):
            if any(name not in values for name in names(node)):
                return False
            try:
                return _compare(symbol, nominal(evaluate(left, values)), nominal(evaluate(right, values)))
            except FormulaError:
                return False


def _compare(symbol: str, left: float, right: float) -> bool:
    return _COMPARISONS[symbol](left, right)


_COMPARISONS: dict[str, Callable[[float, float], bool]] = {
    "<": operator.lt, "<=": operator.le, ">": operator.gt, ">=": operator.ge,
}  # fmt: skip
