"""Quantities as people write them.

From outside: pint 0.24+ for units that are not listed (`test_units.py` has the others); the GUM (JCGM 100:2008, 7.2.2, from memory: a mass of 100.02147(35) g
is the same as (100.02147 ± 0.00035) g); 6.67(23) ohm from the documentation of PyPI `GTC` (read).
"""

from __future__ import annotations

import math
from decimal import Decimal
from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cfgmigrate.ground.quantity_text import (
    Amount,
    NotAQuantity,
    parse_count,
    parse_quantity,
    parse_ratio,
)
from cfgmigrate.ground.units import units
from cfgmigrate.sheet.schema import sheet_schema

REGISTRY = pint.UnitRegistry()
KINDS = {
    kind: [unit for unit in units().values() if unit.of == kind]
    for kind in dict.fromkeys(unit.of for unit in units().values())
}
#: those that convert by a factor, two of a kind
PAIRS = [
    (unit, target)
    for kind in KINDS
    for unit in KINDS[kind]
    for target in KINDS[kind]
    if kind != "temperature"
]
TEMPERATURES = ("degC", "degF", "K")
numbers = st.decimals(min_value=-10_000, max_value=10_000, places=4)


def as_pint(number: float, unit: str, target: str) -> float:
    return float(REGISTRY.Quantity(number, unit).to(target).magnitude)


@given(numbers, st.sampled_from(sorted(TEMPERATURES)))
def test_temperatures_have_the_offset_that_pint_gives_them(number: Decimal, unit: str) -> None:
    expected = REGISTRY.Quantity(float(number), unit).to("degC").magnitude
    assert parse_quantity(f"{number:f} {unit}", "degC").value == pytest.approx(expected, rel=1e-9, abs=1e-9)


@given(
    numbers,
    st.sampled_from(
        [(unit.name, target.name) for unit, target in PAIRS if "%" not in (unit.name, target.name)]
    ),
)
def test_a_quantity_taken_to_another_unit_and_back_is_the_same(
    number: Decimal, pair: tuple[str, str]
) -> None:
    unit, target = pair
    there = parse_quantity(f"{number:f} {unit}", target).value
    back = parse_quantity(f"{Decimal(there):f}"[:90] + f" {target}", unit).value
    assert back == pytest.approx(float(number), rel=1e-9, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "unit"),
    [("1 ft", "mm"), ("3 thou", "mm"), ("1 kgf*cm", "N*cm"), ("12 ozf*in", "N*cm"), ("2 lbf", "N"), ("2 oz", "g"), ("50 kpsi", "GPa"), ("90 mN m", "N*cm"), ("9.5 mK/mW", "K/W"), ("2 m/min", "mm/s")],
)  # fmt: skip
def test_units_that_are_not_listed_are_left_to_pint(text: str, unit: str) -> None:
    number, _, written = text.partition(" ")
    assert parse_quantity(text, unit).value == pytest.approx(as_pint(float(number), written, unit), rel=1e-12)


@pytest.mark.parametrize(
    ("text", "value", "uncertainty"),
    [
        ("7.33 ± 0.06 mm", 7.33, 0.06),
        ("7.33 +/- 0.06 mm", 7.33, 0.06),
        ("7.33+-0.06mm", 7.33, 0.06),
        ("(7.33 ± 0.06) mm", 7.33, 0.06),
        ("7.33 mm ± 0.06 mm", 7.33, 0.06),
        ("7.33 mm ± 60 µm", 7.33, 0.06),
        ("0.733 cm ± 60 um", 7.33, 0.06),
        ("7.33(6) mm", 7.33, 0.06),
        ("7.33(0.06) mm", 7.33, 0.06),
        ("7.33(12)e1 mm", 73.3, 1.2),
        ("733(6)e-2 mm", 7.33, 0.06),
        ("7(1) mm", 7.0, 1.0),
        ("7.33 ± 0 mm", 7.33, 0.0),
        ("50 mm ± 2 %", 50.0, 1.0),
        ("−3.5 mm ± 10 %", -3.5, 0.35),
    ],
)
def test_an_uncertainty_may_be_written_in_any_usual_form(text: str, value: float, uncertainty: float) -> None:
    found = parse_quantity(text, "mm")
    assert (found.value, found.uncertainty) == (pytest.approx(value), pytest.approx(uncertainty))


def test_the_short_form_of_the_gum_is_read_as_the_gum_says() -> None:
    assert parse_quantity("100.02147(35) g", "g") == parse_quantity("(100.02147 ± 0.00035) g", "g")
    assert parse_quantity("6.67(23) ohm", "ohm") == Amount(6.67, 0.23, "ohm")


def test_an_uncertainty_of_a_temperature_is_a_difference() -> None:
    assert parse_quantity("45 degC ± 2 K", "degC") == Amount(45.0, 2.0, "degC")
    found = parse_quantity("113 ± 3.6 degF", "degC")
    assert (found.value, found.uncertainty) == (pytest.approx(45.0), pytest.approx(2.0))


def test_decimal_numbers_come_out_to_the_last_bit() -> None:
    assert [parse_quantity(text, "A").value for text in ("350 mA", "450 mA", "0.7 A")] == [0.35, 0.45, 0.7]
    assert parse_quantity("0.11 Ω", "ohm").value == 0.11
    assert parse_quantity("93 ± 3 %", "") == Amount(0.93, 0.03, "")


@pytest.mark.parametrize(
    "unit", sorted({field.unit for field in sheet_schema().fields.values() if field.unit})
)
def test_a_number_without_a_unit_is_refused_with_the_unit_to_write(unit: str) -> None:
    with pytest.raises(NotAQuantity) as caught:
        parse_quantity("4.2", unit)
    assert "has no unit" in caught.value.what
    assert f"4.2 {unit}" in caught.value.remedy


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_a_unit_of_another_kind_is_refused(kind: str) -> None:
    target = KINDS[kind][0].name
    for other in KINDS:
        if {other, kind} == {"temperature", "temperature difference"} or other == kind:
            continue
        for unit in KINDS[other]:
            with pytest.raises(NotAQuantity):
                parse_quantity(f"4.2 {unit.name}", target)


@pytest.mark.parametrize(
    ("text", "unit", "said"),
    [
        ("80 degC", "K", "Write it in K"),
        ("45 degC ± 5 %", "degC", "in K"),
        ("3 %", "deg", "angle"),
        ("5 rad/s", "kHz", "frequency"),
        ("5 rad*mm", "mm", "no unit of length"),
        ("200 rpm", "kHz", "frequency"),
        ("7,33 mm", "mm", "7.33 mm"),
        ("0.3-0.5 mm", "mm", "0.4 ± 0.1 mm"),
        ("0.3 to 0.5", "mm", "0.4 ± 0.1 mm"),
        ("5 ± -1 mm", "mm", "below 0"),
        ("nan mm", "mm", "finite"),
        ("inf mm", "mm", "finite"),
        ("5 ± nan mm", "mm", "finite"),
        ("1e999 mm", "mm", "finite"),
        ("5 ± 1e999 mm", "mm", "finite"),
        ("5 ± 1 ± 2 mm", "mm", "no unit"),
        ("5 mm mm", "mm", "no unit"),
        ("5 furlongish", "mm", "furlongish"),
        ("5 mm^99", "mm", "mm^99"),
        ("1 ft + 2 in", "mm", "ft + 2 in"),
        ("", "mm", "no number"),
        ("mm", "mm", "no number"),
        ("٣ mm", "mm", "no number"),
        ("4 mm" + " " * 200, "mm", "too long"),
    ],
)
def test_what_is_no_such_quantity_is_refused_with_what_to_do(text: str, unit: str, said: str) -> None:
    with pytest.raises(NotAQuantity) as caught:
        parse_quantity(text, unit)
    assert said in f"{caught.value.what} {caught.value.remedy}"


@given(st.text(max_size=60), st.sampled_from([found[0].name for found in KINDS.values()]))
def test_any_text_is_a_finite_quantity_or_refused(text: str, unit: str) -> None:
    try:
        found = parse_quantity(text, unit)
    except NotAQuantity as refusal:
        assert refusal.what
    else:
        assert math.isfinite(found.value) and found.uncertainty >= 0 and found.unit == unit


@given(
    st.lists(st.tuples(st.integers(1, 200), st.integers(1, 200)), min_size=1, max_size=4),
    st.sampled_from([", ", " x ", "x", " × "]),
)
def test_gear_stages_multiply(stages: list[tuple[int, int]], between: str) -> None:
    expected = Fraction(1)
    for driven, driving in stages:
        expected *= Fraction(driven, driving)
    text = between.join(f"{driven}:{driving}" for driven, driving in stages)
    assert parse_ratio(text).value == pytest.approx(float(expected), rel=1e-15)


@pytest.mark.parametrize(
    "text",
    [
        "big 52, small 15",
        "15 small, 52 big",
        "pinion 15 / wheel 52",
        "15 on motor : 52 on wheel",
        "small wheel 15 and large wheel 52",
        "52 teeth on 15",
        "52 teeth against a 15",
    ],
)
def test_two_gears_in_words_are_a_stage_whichever_comes_first(text: str) -> None:
    assert parse_ratio(text).value == pytest.approx(52 / 15, rel=1e-15)


def test_a_gear_ratio_may_be_one_number() -> None:
    assert parse_ratio("5.56 ± 0.02") == Amount(5.56, 0.02, "")


@pytest.mark.parametrize(
    "text",
    [
        "50/9",
        "50:0",
        "0:9",
        "a:b",
        "46:15 3:1",
        "46:15,",
        "46:15 x",
        ":",
        "-50:9",
        "50:9 mm",
        "",
        "big 17, small 50",
        "big 50, big 17",
        "big 50, small 17.5",
        "50 and 17",
        "17 teeth on 50",
    ],
)
def test_what_is_no_gear_ratio_is_refused(text: str) -> None:
    with pytest.raises(NotAQuantity):
        parse_ratio(text)


@pytest.mark.parametrize("text", ["1.5", "-1", "one", "1 mm", "", "²", "1e3", "9999999999"])
def test_a_count_is_a_whole_number(text: str) -> None:
    assert parse_count("16").value == 16.0
    with pytest.raises(NotAQuantity):
        parse_count(text)


@pytest.mark.parametrize(
    ("text", "amps"),
    [
        ("1.0 A peak", 0.5**0.5),
        ("1000 mA peak", 0.5**0.5),
        ("1 A pk", 0.5**0.5),
        ("1.0 A rms", 1),
        ("1 A RMS", 1),
    ],
)
def test_a_current_may_be_said_as_the_peak_of_its_sine(text: str, amps: float) -> None:
    """The RMS of a sine is its peak divided by the root of 2: the mean of a squared sine is a half."""
    assert parse_quantity(text, "A").value == pytest.approx(amps, rel=1e-12)
    assert parse_quantity(text.replace(" A", " ± 0.1 A"), "A").uncertainty == pytest.approx(
        0.1 * amps if " A" in text else 0, rel=1e-9
    )
