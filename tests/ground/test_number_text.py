"""Numbers and units are written as people write them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cfgmigrate.ground import number_text
from cfgmigrate.machine.quantities import all_quantities

FINITE = st.floats(allow_nan=False, allow_infinity=False, min_value=-1e12, max_value=1e12)


@pytest.mark.parametrize(
    ("value", "uncertainty", "shown"),
    [
        # JCGM 100:2008 (GUM) 7.2.2 and 7.2.6: m = 100,021 47 g with u = 0,35 mg; two digits of u
        (100.02147, 0.00035, "100.02147 ± 0.00035"),
        # GUM 7.2.6, its own example of a resistance: 10,057 62 Ω with u = 27 mΩ is written 10,058 Ω
        (10.05762, 0.027, "10.058 ± 0.027"),
        # GUM H.2, recomputed from its raw rows (sources.md)
        (127.732, 0.071, "127.732 ± 0.071"),
        (254.260, 0.236, "254.26 ± 0.24"),
        (4.145, 0.0996, "4.14 ± 0.10"),
        (1234.5, 230, "1230 ± 230"),
        (0.0, 0.02, "0.000 ± 0.020"),
    ],
)
def test_two_significant_digits_of_the_uncertainty_decide(
    value: float, uncertainty: float, shown: str
) -> None:
    assert number_text.plus_minus(value, uncertainty) == shown


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (0.1 + 0.2, "0.3"),
        (4.15, "4.15"),
        (1e-9, "1 × 10⁻⁹"),
        (123456789.0, "1.23457 × 10⁸"),
        (-3.5, "−3.5"),
        (0.0, "0"),
        (-0.0, "0"),
        (200.0, "200"),
        (1 / 3, "0.333333"),
        (math.inf, "∞"),
        (math.nan, "not a number"),
    ],
)
def test_a_number_without_uncertainty_has_no_noise_of_binary_fractions(value: float, shown: str) -> None:
    assert number_text.number(value) == shown


@given(FINITE, st.floats(min_value=1e-9, max_value=1e6))
def test_what_is_shown_is_within_half_a_step_of_the_value(value: float, uncertainty: float) -> None:
    shown = number_text.number(value, uncertainty)
    if "×" in shown:
        return
    step = 10.0 ** -min(number_text.decimals_of(uncertainty), number_text.MOST_SHOWN_DECIMALS)
    assert abs(float(shown.replace(number_text.MINUS, "-")) - value) <= 0.5 * step + 1e-9 * abs(value)


@given(FINITE)
def test_no_number_is_longer_than_a_person_can_read(value: float) -> None:
    assert len(number_text.number(value)) <= 20


@pytest.mark.parametrize(
    ("unit", "shown"),
    [
        ("mm/s^2", "mm/s²"),
        ("mm/s**2", "mm/s²"),
        ("ohm", "Ω"),
        ("degC", "°C"),
        ("N*cm", "N·cm"),
        ("1/mm", "per mm"),
        ("", ""),
        ("dimensionless", ""),
        ("mm^-1", "mm⁻¹"),
        ("K/W", "K/W"),
    ],
)
def test_units_get_their_proper_signs(unit: str, shown: str) -> None:
    assert number_text.sign(unit) == shown


def test_degrees_of_angle_stand_without_a_space_and_degrees_of_heat_with_one() -> None:
    """SI brochure, 9th edition, 5.4.3."""
    assert number_text.measure(200, name="deg") == "200°"
    assert number_text.measure(55, name="degC") == "55 °C"


@pytest.mark.parametrize("quantity", all_quantities(), ids=lambda quantity: quantity.id)
def test_every_quantity_has_a_unit_that_shows_no_programmers_spelling(quantity: object) -> None:
    shown = number_text.sign(quantity.unit)  # type: ignore[attr-defined]
    assert not set("*^_") & set(shown)
    assert not {"ohm", "degC", "deg"} & set(shown.split())


@pytest.mark.parametrize(
    ("value", "uncertainty", "unit", "text"),
    [
        (7.33, 0.06, "mm", "7.330 ± 0.060 mm"),  # two significant digits of u (GUM 7.2.6)
        (100.02147, 0.00035, "g", "100.02147 ± 0.00035 g"),  # GUM 7.2.2, its own example
        (40, 15, "N", "40 ± 15 N"),
        (412.3, 123.4, "mm", "410 ± 120 mm"),
        (0.0013, 0.0000062, "mm", "0.0013000 ± 0.0000062 mm"),
        (4.15, 0, "mm", "4.15 mm"),
        (22.619449, 0, "mm", "22.6194 mm"),
        (200, 0, "", "200"),
        (45, 0, "degC", "45 °C"),
        (180, 20, "deg", "180 ± 20°"),
        (-3.5, 0, "mm", "−3.5 mm"),
        (0.11, 0, "ohm", "0.11 Ω"),
        (9, 0, "N*cm", "9 N·cm"),
        (1234567, 0, "", "1234567"),
    ],
)
def test_a_number_is_written_with_no_more_digits_than_are_meant(
    value: float, uncertainty: float, unit: str, text: str
) -> None:
    assert number_text.measure(value, uncertainty, unit) == text


@given(value=st.floats(1e-3, 1e5), uncertainty=st.floats(1e-4, 99))
def test_a_written_number_is_within_half_a_digit_of_it(value: float, uncertainty: float) -> None:
    first, second = number_text.measure(value, uncertainty, "").split(" ± ")
    decimals = len(second.partition(".")[2])
    assert abs(float(first) - value) <= 0.5 * 10.0**-decimals * (1 + 1e-9)
    assert abs(float(second) - uncertainty) <= 0.5 * 10.0**-decimals * (1 + 1e-9)
    assert len(first.partition(".")[2]) == decimals
    if decimals:
        assert 9 < float(second) * 10**decimals < 101


@pytest.mark.parametrize(
    ("value", "shown"),
    [(69.33, "69"), (46.69, "46"), (0.389, "0.38"), (0.55, "0.55"), (1.096, "1.09"), (4.98, "4.9"), (154.2, "154"), (0.0, "0")],
)  # fmt: skip
def test_what_a_hand_sets_has_two_digits_and_stays_below_the_value(value: float, shown: str) -> None:
    assert number_text.for_hand(value) == shown


@pytest.mark.parametrize(
    ("value", "uncertainty", "shown"),
    [(155.0, 0.029, "155 mm"), (0.498, 0.14, "0.5 mm"), (774.93, 6.7, "774.9 mm"), (155.32, 0.029, "155.32 mm"), (1517.3, 40, "1517 mm"), (24.691, 0.0, "24.691 mm"), (280.0, 90.0, "280 mm")],
)  # fmt: skip
def test_what_a_person_is_to_write_stands_without_its_uncertainty(
    value: float, uncertainty: float, shown: str
) -> None:
    assert number_text.alone(value, uncertainty, "mm") == shown
