"""Units of formulas: like is added to like, and a result comes out in its rule's unit.

From outside: pint works random products out a second time.
"""

from __future__ import annotations

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cfgmigrate.ground.units import listed
from cfgmigrate.knowledge.tables import TABLE_OF, constants, table
from cfgmigrate.machine.quantities import all_quantities
from cfgmigrate.rules.dimensions import PLAIN, check_condition, dimension_of, unit
from cfgmigrate.rules.formula import FormulaError, evaluate, read_condition, read_expression
from cfgmigrate.sheet.schema import sheet_schema

REGISTRY = pint.UnitRegistry()
BASES = ("meter", "kilogram", "second", "ampere", "kelvin")
UNITS = {
    "new.length": "mm", "new.time": "s", "new.current": "A", "new.mass": "g", "new.force": "N", "new.torque": "N*cm",
    "new.resistance": "ohm", "new.air": "degC", "new.rise": "K", "new.angle": "deg", "new.ratio": "", "new.share": "%",
    "new.steps": "1/mm", "new.modulus": "GPa", "new.inductance": "mH", "new.voltage": "V", "new.inertia": "g*cm^2",
}  # fmt: skip


def test_every_unit_that_rules_can_meet_is_at_hand_without_pint() -> None:
    """pint's registry takes half a second to build; no run of the tool should need it for a rule."""
    used = {field.unit for field in sheet_schema().fields.values()} | {
        fact.unit for fact in constants().values()
    }
    used |= {found.unit for found in all_quantities()}
    for file in TABLE_OF.values():
        used |= {column.unit for column in table(file).columns.values()}
    assert all(listed(text) for text in used)


@pytest.mark.parametrize(
    ("text", "factor"), [("inch", 0.0254), ("lbf", 4.4482216152605), ("mm/min", 0.001 / 60)]
)
def test_any_other_unit_comes_from_pint(text: str, factor: float) -> None:
    assert unit(text).factor == pytest.approx(factor, rel=1e-12)


@pytest.mark.parametrize("text", ["furlongs of hope", "mm +", "mol", "candela", "§", "mm mm^"])
def test_what_is_no_unit_here_is_an_error(text: str) -> None:
    with pytest.raises(FormulaError):
        unit(text)


@pytest.mark.parametrize(
    ("formula", "like"),
    [
        ("new.length * 2", "mm"),
        ("pi * new.length / new.ratio", "mm"),
        ("new.length / new.time", "mm/s"),
        ("new.length^2 * pi / 4", "mm^2"),
        ("sqrt(new.length^2 + new.length^2)", "mm"),
        ("new.force * new.length / (new.modulus * new.length^2)", "mm"),
        ("new.torque / new.length", "N"),
        ("new.current^2 * new.resistance", "W"),
        ("new.current * new.resistance", "V"),
        ("new.air + new.rise", "degC"),
        ("new.air - new.air", "K"),
        ("new.angle * new.length", "mm"),
        ("new.share * new.length", "mm"),
        ("min(new.length, 2 * new.length)", "mm"),
        ("max(0, new.length)", "mm"),
        ("abs(-new.length)", "mm"),
        ("1 / new.steps", "mm"),
        ("new.length^-1", "1/mm"),
        ("exp(new.ratio) ^ new.ratio", ""),
        ("floor(new.length / new.length)", ""),
        ("new.voltage / (new.inductance * new.current)", "Hz"),
        ("new.force / (new.inertia * (2 * pi / new.length)^2)", "mm/s^2"),
    ],
)
def test_units_come_out_right_by_themselves(formula: str, like: str) -> None:
    assert dimension_of(read_expression(formula), UNITS) == unit(like).dimension


@pytest.mark.parametrize(
    "formula",
    [
        "new.length + new.time",
        "new.length - 1",
        "min(new.length, new.time)",
        "max(new.length, 1)",
        "exp(new.length)",
        "floor(new.length)",
        "ceil(new.time)",
        "2 ^ new.length",
        "new.length ^ new.ratio",
        "sqrt(new.length, new.length)",
        "abs(1, 2)",
        "new.air + new.length",
    ],
)
def test_unlike_things_are_neither_added_nor_compared(formula: str) -> None:
    with pytest.raises(FormulaError):
        dimension_of(read_expression(formula), UNITS)


@pytest.mark.parametrize(
    "text", ["new.length > new.time", "new.length > 1", "known new.length and new.force < new.mass"]
)
def test_a_condition_compares_like_with_like(text: str) -> None:
    with pytest.raises(FormulaError):
        check_condition(read_condition(text), UNITS)


@pytest.mark.parametrize(
    "text", ["new.length > 0", "new.length > 2 * new.length", 'known new.x or new.x is "word"']
)
def test_a_bare_zero_and_words_go_with_anything(text: str) -> None:
    check_condition(read_condition(text), UNITS)


def test_a_bare_zero_is_of_any_unit() -> None:
    assert dimension_of(read_expression("0"), UNITS) is None
    assert dimension_of(read_expression("1"), UNITS) == PLAIN


_names = st.sampled_from([name for name, text in UNITS.items() if text != "degC"])
_factors = st.lists(
    st.tuples(st.sampled_from("*/"), _names, st.sampled_from(["", "^2", "^-1", "^0.5"])),
    min_size=1,
    max_size=5,
)


@given(factors=_factors)
def test_products_have_the_unit_and_the_size_that_pint_gives_them(
    factors: list[tuple[str, str, str]],
) -> None:
    text = "1" + "".join(f" {sign} {name}{power}" for sign, name, power in factors)
    tree = read_expression(text)
    base = evaluate(tree, {name: unit(text).to_base(2.5) for name, text in UNITS.items()})
    quantity = REGISTRY.Quantity(1.0)
    for sign, name, power in factors:
        factor = REGISTRY.Quantity(2.5, UNITS[name] or "dimensionless") ** float(power[1:] or 1)
        quantity = quantity * factor if sign == "*" else quantity / factor
    other = quantity.to_base_units()
    assert base == pytest.approx(other.magnitude, rel=1e-9)
    powers = {str(part): float(power) for part, power in other.unit_items() if str(part) != "radian"}
    assert dimension_of(tree, UNITS) == pytest.approx(tuple(powers.get(part, 0.0) for part in BASES))
