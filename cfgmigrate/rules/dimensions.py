"""Units of formulas: what a unit measures, and whether a formula adds like to like.

The engine computes in SI base units throughout, so a formula needs no conversion factors, and a result is brought
into its rule's unit at the end. The units themselves are those of `ground/units.py`.
"""

from __future__ import annotations

from cfgmigrate.ground.units import PLAIN, Dimension, NoSuchUnit, Unit, formula_unit
from cfgmigrate.rules.formula import (
    Call,
    Condition,
    Expression,
    FormulaError,
    Inequality,
    IsKnown,
    IsWord,
    Junction,
    Literal,
    Negation,
    Operation,
    Opposite,
    Variable,
)


def unit(text: str) -> Unit:
    """The unit written as `text`. Raises FormulaError where there is no such unit."""
    try:
        return formula_unit(text)
    except NoSuchUnit as error:
        raise FormulaError(str(error)) from None


def dimension_of(node: Expression, units: dict[str, str]) -> Dimension | None:
    """The dimension of a formula; None for a bare 0, which goes with anything.

    `units` gives each name's unit. Raises FormulaError where unlike things are added or compared.
    """
    match node:
        case Literal(value, _):
            return None if value == 0 else PLAIN
        case Variable(name):
            return unit(units[name]).dimension
        case Negation(inner):
            return dimension_of(inner, units)
        case Operation("^", left, right):
            return _power(left, right, units)
        case Operation(symbol, left, right):
            first, second = dimension_of(left, units), dimension_of(right, units)
            if symbol in "+-":
                return _alike(first, second)
            sign = 1 if symbol == "*" else -1
            pairs = zip(first or PLAIN, second or PLAIN, strict=True)
            return tuple(a + sign * b for a, b in pairs)
        case Call("min" | "max", arguments):
            found = dimension_of(arguments[0], units)
            for argument in arguments[1:]:
                found = _alike(found, dimension_of(argument, units))
            return found
        case Call(function, arguments):
            if len(arguments) != 1:
                raise FormulaError(f"{function} takes one value")
            inner_dimension = dimension_of(arguments[0], units) or PLAIN
            if function == "sqrt":
                return tuple(part / 2 for part in inner_dimension)
            if function != "abs" and inner_dimension != PLAIN:
                raise FormulaError(f"{function} takes a plain number, not one with a unit")
            return inner_dimension


def _power(left: Expression, right: Expression, units: dict[str, str]) -> Dimension:
    base = dimension_of(left, units) or PLAIN
    if (dimension_of(right, units) or PLAIN) != PLAIN:
        raise FormulaError("an exponent must be a plain number")
    if base == PLAIN:
        return PLAIN
    exponent = right.inner if isinstance(right, Negation) else right
    if not isinstance(exponent, Literal):
        raise FormulaError("what has a unit can only be raised to a number that stands in the formula")
    sign = -1 if isinstance(right, Negation) else 1
    return tuple(part * sign * exponent.value for part in base)


def _alike(first: Dimension | None, second: Dimension | None) -> Dimension | None:
    if first is None or second is None:
        return first or second
    if first != second:
        raise FormulaError("adds or compares values of unlike units")
    return first


def check_condition(node: Condition, units: dict[str, str]) -> None:
    """Raises FormulaError where a condition compares unlike things."""
    match node:
        case Inequality(left, _, right):
            _alike(dimension_of(left, units), dimension_of(right, units))
        case Junction(_, left, right):
            check_condition(left, units)
            check_condition(right, units)
        case Opposite(inner):
            check_condition(inner, units)
        case IsKnown() | IsWord():
            return
