"""Formulas of the rule book as MathML (MathML Core, W3C), so that a page shows them typeset.

A dotted name becomes its last word with the others as a subscript, because that is how a person would
write it: `new.drive_gear.gear_ratio` is the gear ratio of the new drive gear, `was.motor.run_current` the run
current of the motor before. `typeset` shows the names,
`put_in` the same formula with numbers and units instead. Brackets are set only where the layout (fraction
bars, roots, powers) does not show the order already.

This module deliberately evaluates nothing. Its output holds no style and no script.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from html import escape

from cfgmigrate.ground import number_text
from cfgmigrate.reports import wording
from cfgmigrate.reports.safe_text import inert
from cfgmigrate.rules.formula import (
    Call,
    Expression,
    FormulaError,
    Literal,
    Negation,
    Operation,
    Variable,
    read_expression,
)
from cfgmigrate.rules.result import Input

# How tightly each operation binds; what binds less than its surroundings needs brackets.
SUM, SIGN, PRODUCT, QUANTITY, POWER, ATOM = 1, 2, 3, 4, 5, 6
_AGES = {"was": "before", "will": "after", "shared": "shared", "const": "usual"}
_BETWEEN = {"abs": ("|", "|"), "floor": ("⌊", "⌋"), "ceil": ("⌈", "⌉")}

Show = Callable[[str], "Box"]


class Box(tuple[str, int]):
    """A piece of MathML and how tightly it binds."""

    __slots__ = ()

    def __new__(cls, markup: str, binding: int = ATOM) -> Box:
        return super().__new__(cls, (markup, binding))


def typeset(formula: str) -> str:
    """The formula with its names, as the content of a `<math>` element; "" where it is no formula."""
    return _math(formula, _name)


def put_in(formula: str, inputs: Mapping[str, Input]) -> str:
    """The formula with each name's number and unit in its place; "" where it is no formula."""

    def show(name: str) -> Box:
        given = inputs.get(name)
        if given is None:
            return _name(name)
        if given.value is None:
            return Box(_text(given.word))
        return _measure(given)

    return _math(formula, show)


def spoken(formula: str) -> str:
    """The formula in words, for those who hear it: `a.b / c.d^2` as "a b over c d squared"."""
    said = {
        "*": " times ",
        "/": " over ",
        "+": " plus ",
        " - ": " minus ",
        "^2": " squared ",
        "^": " to the power of ",
    }
    for sign, words in said.items():
        formula = formula.replace(sign, words)
    formula = formula.replace("sqrt(", "square root of (")
    return " ".join(inert(formula.replace(".", " ").replace("_", " ")).split())


def _math(formula: str, show: Show) -> str:
    try:
        tree = read_expression(formula)
    except FormulaError:
        return ""
    return _walk(tree, show)[0]


def _walk(node: Expression, show: Show) -> Box:
    match node:
        case Literal(value, text):
            return Box("<mi>π</mi>" if text == "pi" else _number(number_text.number(value)))
        case Variable(name):
            return show(name)
        case Negation(inner):
            return Box(f"<mrow><mo>−</mo>{_within(_walk(inner, show), PRODUCT)}</mrow>", SIGN)
        case Call(function, arguments):
            return _call(function, [_walk(argument, show)[0] for argument in arguments])
        case Operation(symbol, left, right):
            return _operation(symbol, _walk(left, show), _walk(right, show))


def _operation(symbol: str, left: Box, right: Box) -> Box:
    match symbol:
        case "/":
            return Box(f"<mfrac>{_row(left[0])}{_row(right[0])}</mfrac>", POWER)
        case "^":
            return Box(f"<msup>{_within(left, ATOM)}{_row(right[0])}</msup>", POWER)
        case "*":
            return Box(f"<mrow>{_within(left, PRODUCT)}<mo>·</mo>{_within(right, PRODUCT)}</mrow>", PRODUCT)
        case "-":
            return Box(f"<mrow>{left[0]}<mo>−</mo>{_within(right, PRODUCT)}</mrow>", SUM)
        case _:
            added = _fenced(right[0]) if right[1] == SIGN else right[0]
            return Box(f"<mrow>{left[0]}<mo>+</mo>{added}</mrow>", SUM)


def _call(function: str, arguments: list[str]) -> Box:
    inner = "<mo>,</mo>".join(arguments)
    if function == "sqrt":
        return Box(f"<msqrt>{inner}</msqrt>")
    if function == "exp":
        return Box(f"<msup><mi>e</mi>{_row(inner)}</msup>", POWER)
    if function in _BETWEEN:
        opening, closing = _BETWEEN[function]
        return Box(_fenced(inner, opening, closing))
    return Box(f"<mrow><mi>{escape(function)}</mi>{_fenced(inner)}</mrow>")


def _within(box: Box, least: int) -> str:
    """The piece, in brackets where it binds less tightly than `least`."""
    return box[0] if box[1] >= least else _fenced(box[0])


def _fenced(inner: str, opening: str = "(", closing: str = ")") -> str:
    return f"<mrow><mo>{opening}</mo>{inner}<mo>{closing}</mo></mrow>"


def _row(inner: str) -> str:
    return f"<mrow>{inner}</mrow>"


def _name(name: str) -> Box:
    first, _, last = name.rpartition(".")
    base = f"<mi>{_words(last)}</mi>"
    age, _, owner = first.partition(".")
    if age in _AGES:
        first = f"{owner}, {_AGES[age]}" if owner else _AGES[age]
    return Box(f"<msub>{base}<mtext>{_words(first)}</mtext></msub>" if first else base)


def _measure(given: Input) -> Box:
    """A number with its unit, which a power puts into brackets."""
    assert given.value is not None
    digits = wording.WORKED_OUT if given.origin.startswith("rule ") else number_text.SIGNIFICANT
    number = number_text.number(given.value, given.uncertainty, digits)
    sign = number_text.sign(given.unit)
    negative = number.startswith(number_text.MINUS)
    if given.uncertainty > 0 and not negative:
        amount = _number(number_text.number(given.uncertainty, given.uncertainty))
        number_box = _fenced(f"{_number(number)}<mo>±</mo>{amount}")
    else:
        number_box = _number(number)
    if not sign:
        return Box(number_box, SIGN if negative else ATOM)
    gap = "" if number_text.with_unit("", given.unit) == sign else '<mspace width="0.2em"/>'
    return Box(f"<mrow>{number_box}{gap}<mtext>{escape(sign)}</mtext></mrow>", SIGN if negative else QUANTITY)


def _number(text: str) -> str:
    return f"<mn>{escape(text)}</mn>"


def _words(name: str) -> str:
    return escape(inert(name.replace("_", " ").replace(".", " ")))


def _text(text: str) -> str:
    return f"<mtext>{escape(inert(text))}</mtext>"
