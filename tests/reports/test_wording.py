"""Numbers, units and shares are written as people write them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cfgmigrate.machine.quantities import all_quantities
from cfgmigrate.reports import wording
from cfgmigrate.rules.derivation import number_text

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
    assert wording.plus_minus(value, uncertainty) == shown


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
    assert wording.number(value) == shown


@given(FINITE, st.floats(min_value=1e-9, max_value=1e6))
def test_what_is_shown_is_within_half_a_step_of_the_value(value: float, uncertainty: float) -> None:
    shown = wording.number(value, uncertainty)
    if "×" in shown:
        return
    step = 10.0 ** -min(wording.decimals_of(uncertainty), wording.MOST_DECIMALS)
    assert abs(float(shown.replace(wording.MINUS, "-")) - value) <= 0.5 * step + 1e-9 * abs(value)


@given(FINITE)
def test_no_number_is_longer_than_a_person_can_read(value: float) -> None:
    assert len(wording.number(value)) <= 20


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
    assert wording.unit(unit) == shown


def test_degrees_of_angle_stand_without_a_space_and_degrees_of_heat_with_one() -> None:
    """SI brochure, 9th edition, 5.4.3."""
    assert wording.measure(200, name="deg") == "200°"
    assert wording.measure(55, name="degC") == "55 °C"


@pytest.mark.parametrize("quantity", all_quantities(), ids=lambda quantity: quantity.id)
def test_every_quantity_has_a_unit_that_shows_no_programmers_spelling(quantity: object) -> None:
    shown = wording.unit(quantity.unit)  # type: ignore[attr-defined]
    assert not set("*^_") & set(shown)
    assert not {"ohm", "degC", "deg"} & set(shown.split())


@given(st.floats(min_value=0, max_value=1))
def test_a_share_never_claims_more_than_it_is(part: float) -> None:
    shown = wording.share(part)
    assert (shown == "") == (part == 0)
    if part < 0.999:
        assert shown != "100 %"


def test_the_rules_own_texts_and_the_reports_agree_on_numbers() -> None:
    for value, uncertainty, unit in [(4.145, 0.034, "mm"), (59.005, 3.6, "degC"), (2.1, 0.05, "ohm")]:
        assert number_text(value, uncertainty, unit) == wording.measure(value, uncertainty, unit)


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("the old path", "The old path."),
        ("It ends.", "It ends."),
        ("path.give_new is not known", "path.give_new is not known."),
        ("", ""),
    ],
)
def test_a_sentence_begins_with_a_capital_and_ends_once(text: str, shown: str) -> None:
    assert wording.sentence(text) == shown
