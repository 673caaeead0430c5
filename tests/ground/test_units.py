"""The one table of units, held against pint; whatever a file may write, a sheet may write too.

From outside: PyPI pint for every size, every zero and every dimension.
"""

from __future__ import annotations

from decimal import Decimal

import pint
import pytest

from cfgmigrate.ground.quantity_text import NotAQuantity, parse_quantity
from cfgmigrate.ground.units import (
    PLAIN,
    NoSuchUnit,
    Unit,
    file_units,
    formula_unit,
    listed,
    unit_written,
    units,
)

REGISTRY = pint.UnitRegistry()
REGISTRY.define("tenth_of_a_millimeter = 0.1 * millimeter")
REGISTRY.define("hundredth_of_a_millimeter = 0.01 * millimeter")  # pint takes no number in a unit's name
BASES = ("meter", "kilogram", "second", "ampere", "kelvin")
#: how pint writes what people write otherwise; a turn that is counted as 1 is left out
FOR_PINT = {
    "µm": "micrometer", "µA": "microampere", "µH": "microhenry", "µs": "microsecond", "mohm": "milliohm",
    "kohm": "kiloohm", "mm/turn": "mm", "1/turn": "dimensionless", "mm/100": "hundredth_of_a_millimeter", "mm/10": "tenth_of_a_millimeter", "rpm": "1/min", "steps/s": "1/s", "": "dimensionless", "%": "percent",
}  # fmt: skip
SPELLINGS = [(unit, spelling) for unit in units().values() for spelling in (unit.name, *unit.written)]
#: spellings that are something else to pint, whose kind tells them apart here
ELSE_TO_PINT = {"rpm", "RPM", "C", "v", "mm/m", "ma", '"'}
FIRST = {unit.of: unit.name for unit in reversed(units().values())}


@pytest.mark.parametrize("unit", units().values(), ids=lambda unit: unit.name)
def test_every_unit_is_what_pint_says(unit: Unit) -> None:
    there = FOR_PINT.get(unit.name, unit.name)
    assert there in REGISTRY, f"FOR_PINT has to say how pint writes {there}"
    one, none = (REGISTRY.Quantity(number, there).to_base_units() for number in (1.0, 0.0))
    assert float(unit.size) == pytest.approx(one.magnitude - none.magnitude, rel=1e-12)
    assert float(unit.zero) == pytest.approx(none.magnitude, abs=1e-9)
    powers = {str(name): float(power) for name, power in one.unit_items() if str(name) != "radian"}
    assert unit.dimension == tuple(powers.pop(base, 0.0) for base in BASES) and not powers


@pytest.mark.parametrize(("unit", "spelling"), SPELLINGS)
def test_a_spelling_that_pint_has_too_means_the_same_there(unit: Unit, spelling: str) -> None:
    if unit.turn:  # pint counts a turn as 2π, people as 1
        return
    try:
        one = REGISTRY.Quantity(1.0, spelling or "dimensionless").to(FOR_PINT.get(unit.name, unit.name))
    except Exception:  # pint raises many kinds of error for text that is no unit, and for another dimension
        return
    assert one.magnitude == pytest.approx(1.0) or spelling in ELSE_TO_PINT


@pytest.mark.parametrize(("unit", "spelling"), SPELLINGS)
def test_a_spelling_of_the_table_may_be_written_in_a_sheet(unit: Unit, spelling: str) -> None:
    target = units()[FIRST[unit.of]]
    found = parse_quantity(f"3 {spelling}", target.name)
    wanted = (3 * unit.size + unit.zero - target.zero) / target.size
    assert found.value == float(wanted)


@pytest.mark.parametrize(("unit", "spelling"), [pair for pair in SPELLINGS if pair[0].in_files])
@pytest.mark.parametrize("changed", [str.upper, str.lower, lambda text: text.replace("/", " / ")])
def test_a_file_may_have_its_spellings_in_any_case_and_spacing(
    unit: Unit, spelling: str, changed: object
) -> None:
    found = unit_written(changed(spelling))  # type: ignore[operator]
    assert found is not None and found.of == unit.of


@pytest.mark.parametrize(
    ("spelled", "name"),
    [
        ("mA", "mA"),
        ("MA", "mA"),
        ("mm / s", "mm/s"),
        ("mm/s²", "mm/s^2"),
        ("MM/MIN", "mm/min"),
        ("Ω", "ohm"),
        ("°C", "degC"),
    ],
)
def test_a_unit_is_known_in_any_case_and_spacing(spelled: str, name: str) -> None:
    found = unit_written(spelled)
    assert found is not None and found.name == name


def test_a_unit_that_files_do_not_have_is_not_looked_for_there() -> None:
    assert [unit_written(text) for text in ("N", "g", "turn", "%", "")] == [None] * 5
    lengths = {unit.name for unit in file_units("mm")}
    assert lengths >= {"mm", "µm", "cm", "m", "inch", "mm/turn"}
    assert {units()[name].of for name in lengths} == {"length"}
    assert file_units("MHz")[0] is units()["Hz"] and not file_units("no unit")


@pytest.mark.parametrize("text", ["5 Mm", "5 MA"])
def test_a_capital_that_may_be_a_million_is_asked_about(text: str) -> None:
    with pytest.raises(NotAQuantity) as caught:
        parse_quantity(text, "A" if text.endswith("A") else "mm")
    assert "may be" in caught.value.what


@pytest.mark.parametrize("text", ["5 MM", "5 Millimeter"])
def test_a_capital_that_can_be_nothing_else_is_read(text: str) -> None:
    assert parse_quantity(text, "mm").value == 5


@pytest.mark.parametrize("text", ["turn", "rad", "mm/turn", "rpm", "rad/s", "deg/s", "mm/rev", "turns"])
def test_a_formula_has_no_unit_with_a_hidden_turn(text: str) -> None:
    with pytest.raises(NoSuchUnit):
        formula_unit(text)


def test_a_formula_has_degrees_as_plain_numbers() -> None:
    assert formula_unit("deg").dimension == PLAIN
    assert formula_unit("deg").to_base(180) == pytest.approx(3.141592653589793)


def test_sizes_are_decimals_to_the_last_digit() -> None:
    turn, deg = units()["turn"], units()["deg"]
    assert float(turn.size / deg.size) == 360
    assert listed("mA") == units()["mA"] and units()["mA"].size == Decimal("0.001")
