"""Units of formulas: what a unit measures, and whether a formula adds like to like.

Every unit is held as a factor (and for degrees Celsius an offset) to SI base units, and a dimension as
exponents of the base units. The engine computes in base units throughout, so a formula needs no
conversion factors, and a result is brought into its rule's unit at the end. Units are defined by pint;
angles count as plain numbers, as in the SI.

The common units are listed here so that a run need not build pint's registry; a test holds each against
pint.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from cfgmigrate.rules.formula import (
    Call,
    Comparison,
    Condition,
    Expression,
    FormulaError,
    IsWord,
    Junction,
    Known,
    Name,
    Negation,
    Number,
    Operation,
    Opposite,
)

Dimension = tuple[float, float, float, float, float]
"""Exponents of metre, kilogram, second, ampere, kelvin."""

PLAIN: Dimension = (0, 0, 0, 0, 0)


@dataclass(frozen=True, slots=True)
class Unit:
    """base value = factor · written + offset; the offset is not zero only for temperatures in °C."""

    factor: float
    dimension: Dimension
    offset: float = 0.0

    def to_base(self, written: float) -> float:
        return written * self.factor + self.offset

    def from_base(self, base: float) -> float:
        return (base - self.offset) / self.factor


_RADIANS = 3.141592653589793 / 180
COMMON: dict[str, Unit] = {
    "": Unit(1.0, PLAIN),
    "%": Unit(0.01, PLAIN),
    "deg": Unit(_RADIANS, PLAIN),
    "mm": Unit(1e-3, (1, 0, 0, 0, 0)),
    "1/mm": Unit(1e3, (-1, 0, 0, 0, 0)),
    "mm^2": Unit(1e-6, (2, 0, 0, 0, 0)),
    "mm/s": Unit(1e-3, (1, 0, -1, 0, 0)),
    "mm/s^2": Unit(1e-3, (1, 0, -2, 0, 0)),
    "mm^3/s": Unit(1e-9, (3, 0, -1, 0, 0)),
    "s": Unit(1.0, (0, 0, 1, 0, 0)),
    "s/mm": Unit(1e3, (-1, 0, 1, 0, 0)),
    "us": Unit(1e-6, (0, 0, 1, 0, 0)),
    "Hz": Unit(1.0, (0, 0, -1, 0, 0)),
    "kHz": Unit(1e3, (0, 0, -1, 0, 0)),
    "A": Unit(1.0, (0, 0, 0, 1, 0)),
    "V": Unit(1.0, (2, 1, -3, -1, 0)),
    "ohm": Unit(1.0, (2, 1, -3, -2, 0)),
    "mH": Unit(1e-3, (2, 1, -2, -2, 0)),
    "W": Unit(1.0, (2, 1, -3, 0, 0)),
    "K": Unit(1.0, (0, 0, 0, 0, 1)),
    "1/K": Unit(1.0, (0, 0, 0, 0, -1)),
    "K/W": Unit(1.0, (-2, -1, 3, 0, 1)),
    "degC": Unit(1.0, (0, 0, 0, 0, 1), 273.15),
    "N": Unit(1.0, (1, 1, -2, 0, 0)),
    "N*cm": Unit(1e-2, (2, 1, -2, 0, 0)),
    "N*mm": Unit(1e-3, (2, 1, -2, 0, 0)),
    "g*cm^2": Unit(1e-7, (2, 1, 0, 0, 0)),
    "g": Unit(1e-3, (0, 1, 0, 0, 0)),
    "Pa": Unit(1.0, (-1, 1, -2, 0, 0)),
    "MPa": Unit(1e6, (-1, 1, -2, 0, 0)),
    "GPa": Unit(1e9, (-1, 1, -2, 0, 0)),
}


def unit(text: str) -> Unit:
    """The unit written as `text`. Raises FormulaError where there is no such unit."""
    return COMMON.get(text) or _from_pint(text)


@lru_cache(maxsize=256)
def _from_pint(text: str) -> Unit:
    import pint

    registry: Any = pint.UnitRegistry()
    try:
        parsed = registry.parse_units(text)
        base = registry.Quantity(1.0, parsed).to_base_units()
        zero = registry.Quantity(0.0, parsed).to_base_units()
    except Exception:  # pint raises many kinds of error for text that is no unit
        raise FormulaError(f"there is no unit {text!r}") from None
    exponents = {str(name): float(power) for name, power in base.unit_items()}
    if _counts_turns(registry, parsed):
        raise FormulaError(
            f"a radian or a turn is hidden in {text!r}, and 2π with it; of angles only deg is one"
        )
    order = ("meter", "kilogram", "second", "ampere", "kelvin")
    if set(exponents) - set(order):
        raise FormulaError(f"the unit {text!r} measures nothing that a rule uses")
    dimension = tuple(exponents.get(name, 0.0) for name in order)
    factor = base.magnitude - zero.magnitude
    return Unit(factor, dimension, zero.magnitude)  # type: ignore[arg-type]


def _counts_turns(registry: Any, parsed: Any) -> bool:
    """Whether an angle is part of the unit. An angle is a plain number to the SI, so that nothing else would
    tell 200 turns a minute from 200 radians a minute."""
    return any("radian" in str(registry.get_root_units(part)[1]) for part in parsed._units)


def dimension_of(node: Expression, units: dict[str, str]) -> Dimension | None:
    """The dimension of a formula; None for a bare 0, which goes with anything.

    `units` gives each name's unit. Raises FormulaError where unlike things are added or compared.
    """
    match node:
        case Number(value, _):
            return None if value == 0 else PLAIN
        case Name(name):
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
            return tuple(a + sign * b for a, b in pairs)  # type: ignore[return-value]
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
                return tuple(part / 2 for part in inner_dimension)  # type: ignore[return-value]
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
    if not isinstance(exponent, Number):
        raise FormulaError("what has a unit can only be raised to a number that stands in the formula")
    sign = -1 if isinstance(right, Negation) else 1
    return tuple(part * sign * exponent.value for part in base)  # type: ignore[return-value]


def _alike(first: Dimension | None, second: Dimension | None) -> Dimension | None:
    if first is None or second is None:
        return first or second
    if first != second:
        raise FormulaError("adds or compares values of unlike units")
    return first


def check_condition(node: Condition, units: dict[str, str]) -> None:
    """Raises FormulaError where a condition compares unlike things."""
    match node:
        case Comparison(left, _, right):
            _alike(dimension_of(left, units), dimension_of(right, units))
        case Junction(_, left, right):
            check_condition(left, units)
            check_condition(right, units)
        case Opposite(inner):
            check_condition(inner, units)
        case Known() | IsWord():
            return
