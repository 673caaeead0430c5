"""The winding's temperature, against published values of copper and against solving the heat balance numerically.

Sources: winding temperature by resistance, IEC 60034-1 (k = 235 for copper, from memory) and other standards
(k = 234.5, second-hand): 80 Ω at 20 °C and 100 Ω hot are 83.63 °C with 234.5 (second-hand), a rise of 63.75 K with
235 (recomputed). α20 of copper = 1/(234.5 + 20) = 0.00393 /K, and the trap of using it from 25 °C. The rise of 80 K
at the rated current is common practice, no source. scipy.optimize.brentq as the independent solver.
"""

from __future__ import annotations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from rulebench import work_out_given
from scipy.optimize import brentq

ALPHA20 = 0.00393
"""Temperature coefficient of copper's resistance at 20 °C, per kelvin (handbook value)."""


def winding(air: float, resistance: float, thermal: float, current: float = 1.0, **more: str) -> float:
    """The rule's temperature for a winding of this resistance at 20 °C, in air, with so much thermal resistance."""
    result = work_out_given(
        {
            "motor.current": f"{current!r} A", "surroundings.air": f"{air!r} degC", "new.motor.winding_resistance": f"{resistance!r} ohm",
            "new.motor.thermal_resistance": f"{thermal!r} K/W", **{name.replace("__", "."): text for name, text in more.items()},
        }
    ).result("motor.winding_temperature")  # fmt: skip
    assert result is not None and result.value is not None
    return result.value


def test_eighty_ohms_that_have_become_a_hundred_are_at_83_63_degrees() -> None:
    """k = 234.5 (second-hand). Two phases of 0.1 A in 100 Ω are 2 W; with 63.63 K / 2 W the winding must stand there."""
    assert winding(20, 80, 63.625 / 2, 0.1) == pytest.approx(83.63, abs=0.006)
    assert pytest.approx(83.63, abs=0.006) == (100 - 80) / 80 * (234.5 + 20) + 20


def test_with_the_other_constant_the_same_is_a_rise_of_63_75_kelvin() -> None:
    """IEC 60034-1: rise = (R2 − R1) / R1 · (k + t1) + t1 − ta, k = 235 (from memory): recomputed 63.75 K."""
    found = winding(20, 80, 63.75 / 2, 0.1, const__copper_zero_resistance="-235 degC")
    assert found - 20 == pytest.approx(63.75, abs=1e-6)


def test_copper_s_coefficient_holds_from_twenty_degrees_only() -> None:
    """1.5 Ω at 25 °C are 1.847 Ω at 85 °C; the trap of counting α20 from 25 °C gives 1.854 Ω."""
    trap = 1.5 * (1 + ALPHA20 * 60)
    assert trap == pytest.approx(1.854, abs=5e-4)
    at_20 = 1.5 * (1 + ALPHA20 * 0) / (1 + ALPHA20 * 5)
    right = at_20 * (1 + ALPHA20 * 65)
    assert right == pytest.approx(1.847, abs=5e-4)
    # in air of 25 °C, 1 A in two phases of 1.847 Ω: 60 K / 3.694 W must give 85 °C again
    assert winding(25, at_20, 60 / (2 * right)) == pytest.approx(85, abs=0.02)
    assert winding(25, at_20, 60 / (2 * trap)) != pytest.approx(85, abs=0.1)


@settings(max_examples=30)
@given(
    air=st.floats(15, 70), resistance=st.floats(0.5, 30), thermal=st.floats(1, 20), current=st.floats(0.05, 1.5),
)  # fmt: skip
def test_the_closed_form_is_where_heat_in_and_heat_out_meet(
    air: float, resistance: float, thermal: float, current: float
) -> None:
    """R(T) = R20 · (1 + α20 · (T − 20)), T = T_air + R_th · 2 · I² · R(T): solved by brentq."""
    alpha = 1 / 254.5

    def surplus(temperature: float) -> float:
        return air + thermal * 2 * current**2 * resistance * (1 + alpha * (temperature - 20)) - temperature

    assume(thermal * 2 * current**2 * resistance * alpha < 0.9)
    found = winding(air, resistance, thermal, current)
    assert found == pytest.approx(brentq(surplus, -200, 1e6, xtol=1e-9, rtol=1e-14), rel=1e-9)


@settings(max_examples=20)
@given(share=st.floats(0.2, 1.0), air=st.floats(15, 70), rise=st.floats(40, 100))
def test_from_the_maker_s_rise_the_balance_closes_too(share: float, air: float, rise: float) -> None:
    """Heat at the rating: rise = c · R(25 °C + rise); at another current: T − air = c · share² · R(T). By brentq."""
    resistance = lambda temperature: (234.5 + temperature) / 254.5  # noqa: E731
    c = rise / resistance(25 + rise)
    expected = brentq(lambda t: air + c * share**2 * resistance(t) - t, -100, 1e5, xtol=1e-9)
    result = work_out_given(
        {
            "motor.current": f"{share!r} A", "new.motor.rated_current": "1 A", "new.motor.rated_rise": f"{rise!r} K",
            "surroundings.air": f"{air!r} degC", "const.rating_air": "25 degC",
        }
    ).result("motor.winding_temperature")  # fmt: skip
    assert result is not None and result.value == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize(("plastic", "stands"), [("ABS", True), ("PLA", False)])
@pytest.mark.parametrize("amperes", ["0.36", "0.40"])
def test_a_small_flat_motor_near_the_hot_end_is_for_abs_and_not_for_pla(
    plastic: str, stands: bool, amperes: str
) -> None:
    """Common practice, no source: 0.35 A raised to 0.40 A on a motor rated 1 A; a PLA mount softens by motor heat.

    With the book's own constants, and 45 °C beside the hot machine."""
    outcome = work_out_given(
        {
            "new.motor.measured_current": f"{amperes} A", "new.motor.rated_current": "1.0 A", "new.mount.material": plastic,
            "surroundings.air": "45 degC",
        }
    )  # fmt: skip
    case = outcome.result("motor.case_temperature")
    assert case is not None and case.value is not None
    assert bool(case.warnings) is not stands
    limit = outcome.result("motor.mount_limit")
    assert limit is not None and limit.value is not None
    if amperes == "0.40":
        assert (case.value < limit.value) is stands


def test_a_rise_to_0_40_amperes_is_within_every_limit_of_the_motor() -> None:
    outcome = work_out_given(
        {
            "new.motor.measured_current": "0.40 A",
            "new.motor.rated_current": "1.0 A",
            "surroundings.air": "45 degC",
        }
    )
    wanted = outcome.result("motor.wanted_current")
    assert wanted is not None and wanted.warnings == ()
    temperature = outcome.result("motor.winding_temperature")
    assert temperature is not None and temperature.value is not None and temperature.value < 70
