"""Driver currents through the whole engine, against the tables and examples of the parts' data sheets.

Sources, each named at its test: A4988 (data sheet 4988-DS, second-hand), DRV8825 (data sheet SLVSA73C, "Current
Regulation", Eq. 1, read), TMC2209 (data sheet rev 1.03, chapter 8, read), TMC5160 (data sheet rev 1.14,
chapter 9, read). RMS = peak / √2 for sine microstepping. The nearest setting is held against trying all of them.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rulebench import work_out_given
from scipy.optimize import brentq

#: TMC2209, rev 1.03, chapter 8, IRUN = 31, vsense = 0: sense resistor in ohm → RMS in A, as printed
TMC2209 = {
    "1.00": "0.23", "0.82": "0.27", "0.75": "0.30", "0.68": "0.33", "0.50": "0.44", "0.47": "0.47", "0.39": "0.56",
    "0.33": "0.66", "0.27": "0.79", "0.22": "0.96", "0.18": "1.15", "0.15": "1.35", "0.12": "1.64", "0.10": "1.92",
    "0.075": "2.4",
}  # fmt: skip
#: TMC5160, rev 1.14, chapter 9: sense resistor in ohm → RMS and peak in A, as printed
TMC5160 = {
    "0.22": ("1.1", "1.5"), "0.15": ("1.6", "2.2"), "0.12": ("2.0", "2.8"), "0.10": ("2.3", "3.3"), "0.075": ("3.1", "4.4"),
    "0.066": ("3.5", "5.0"), "0.050": ("4.7", "6.6"), "0.033": ("7.1", "10.0"), "0.022": ("10.6", "15.0"),
}  # fmt: skip


def value(rule: str, **given: str) -> float:
    result = work_out_given({name.replace("__", "."): text for name, text in given.items()}).result(rule)
    assert result is not None and result.value is not None
    return result.value


def full_scale(part: str, resistor: str, rule: str = "motor.driver_range", **more: str) -> float:
    given = {"new.driver.part": part, "new.driver.sense_resistor": f"{resistor} ohm", **more}
    result = work_out_given(given).result(rule)
    assert result is not None and result.value is not None
    return result.value


def reference(part: str, resistor: str, peak: float) -> float:
    """The voltage that the screw is to be set to for this peak current."""
    return value(
        "motor.reference_voltage", new__driver__part=part, new__driver__set_by="screw",
        new__driver__sense_resistor=f"{resistor} ohm", new__motor__measured_current=f"{peak / math.sqrt(2)!r} A",
    )  # fmt: skip


def as_printed(found: float, printed: str) -> bool:
    return round(found, len(printed.partition(".")[2])) == float(printed)


@pytest.mark.parametrize(
    ("resistor", "peak", "volts"), [("0.2", 1.0, 1.6), ("0.1", 1.0, 0.8), ("0.05", 1.0, 0.40)]
)
def test_a4988_examples(resistor: str, peak: float, volts: float) -> None:
    """A4988 data sheet (4988-DS): I_trip,max = V_ref / (8 · R_s), a peak; several texts agree (second-hand)."""
    assert reference("A4988", resistor, peak) == pytest.approx(volts, rel=1e-9)


@pytest.mark.parametrize(("resistor", "peak", "volts"), [("0.25", 2.0, 2.5), ("0.2", 1.25, 1.25)])
def test_drv8825_examples(resistor: str, peak: float, volts: float) -> None:
    """DRV8825 data sheet (SLVSA73C), Current Regulation, Eq. 1: I_chop = V_ref / (5 · R_isense), a peak (2 A: read; 1.25 A: second-hand)."""
    assert reference("DRV8825", resistor, peak) == pytest.approx(volts, rel=1e-9)


def test_drv8825_s_step_rate_binds_before_its_pulses() -> None:
    """DRV8825 data sheet (SLVSA73C): 1.9 µs high and 1.9 µs low would be 263 kHz, and 250 kHz are allowed."""
    assert value("feeder.step_rate_limit", new__driver__part="DRV8825") == pytest.approx(250)
    assert pytest.approx(263e3, rel=1e-3) == 1 / (1.9e-6 + 1.9e-6)


def test_a4988_s_pulses_allow_half_a_million_steps() -> None:
    """A4988 data sheet (4988-DS): 1 µs high, 1 µs low (second-hand)."""
    assert value("feeder.step_rate_limit", new__driver__part="A4988") == pytest.approx(500)


@pytest.mark.parametrize(("resistor", "printed"), TMC2209.items())
def test_tmc2209_each_row(resistor: str, printed: str) -> None:
    """TMC2209 data sheet rev 1.03, chapter 8 (read)."""
    assert as_printed(full_scale("TMC2209", resistor), printed)


def test_tmc2209_s_inner_resistance_is_what_makes_the_rows_come_out() -> None:
    """Recomputed from the data sheet: without the 20 mΩ only the row of 1.00 Ω is left, as the figures are rounded.

    (Figures cut off instead of rounded would leave two others, 0.75 Ω and 0.68 Ω, and so 13 wrong ones.)"""
    wrong = [
        resistor for resistor, printed in TMC2209.items()
        if not as_printed(full_scale("TMC2209", resistor, **{"TMC2209:internal_resistance": "0 ohm"}), printed)
    ]  # fmt: skip
    assert set(TMC2209) - set(wrong) == {"1.00"}


def test_tmc2209_at_the_resistor_that_boards_have() -> None:
    """0.11 Ω: 1.7678 A and 0.9791 A in the two ranges; with 1.2 V at the reference pin 0.8485 A (recomputed)."""
    assert as_printed(full_scale("TMC2209", "0.11"), "1.7678")
    assert as_printed(full_scale("TMC2209", "0.11", "motor.driver_range_sensitive"), "0.9791")
    assert reference("TMC2209", "0.11", math.sqrt(2) * 0.8485) == pytest.approx(1.2, rel=1e-4)


@pytest.mark.parametrize(("resistor", "printed"), TMC5160.items())
def test_tmc5160_each_row_within_what_its_table_is_off(resistor: str, printed: tuple[str, str]) -> None:
    """TMC5160 data sheet rev 1.14, chapter 9 (read): the table fits 0.33 V, not the text's 0.325 V; 6 % are allowed."""
    rms, peak = map(float, printed)
    found = full_scale("TMC5160", resistor)
    assert found == pytest.approx(rms, rel=0.06)
    assert math.sqrt(2) * found == pytest.approx(peak, rel=0.06)


def test_tmc5160_s_rows_stand_in_the_ratio_of_the_resistors() -> None:
    """Rows of the table against its first: only the printed digits are left between them (half a digit of 1.1 is 4.5 %)."""
    first = full_scale("TMC5160", "0.22")
    for resistor, (rms, _) in TMC5160.items():
        assert full_scale("TMC5160", resistor) / first == pytest.approx(0.22 / float(resistor), rel=1e-9)
        printed = float(rms) / float(TMC5160["0.22"][0])
        assert full_scale("TMC5160", resistor) / first == pytest.approx(
            printed, rel=0.05 / 1.1 + 0.05 / float(rms)
        )


# --- the nearest setting, against all that there are ------------------------------------------------------------


def settings_of_tmc2209(resistor: float) -> dict[str, list[float]]:
    """Every current it can be set to, in each range (data sheet rev 1.03, chapter 8)."""
    return {
        name: [(scale + 1) / 32 * volts / (resistor + 0.02) / math.sqrt(2) for scale in range(32)]
        for name, volts in (("less sensitive", 0.325), ("more sensitive", 0.180))
    }


@settings(max_examples=25)
@given(wanted=st.integers(40, 1700), resistor=st.sampled_from(["0.11", "0.15", "0.075"]))
def test_tmc2209_is_set_to_the_last_step_below_what_is_wanted(wanted: int, resistor: str) -> None:
    """Resistors of E96 are good to 1 %, so a step up to 1 % over what is wanted counts as it; none below the first."""
    given = {
        "new.driver.part": "TMC2209", "new.driver.set_by": "serial", "new.driver.sense_resistor": f"{resistor} ohm",
        "was.motor.run_current": str(wanted / 1000), "motor.driver_limit": "9 A",
    }  # fmt: skip
    outcome = work_out_given(given)
    delivered = outcome.result("motor.driver_current")
    assert delivered is not None and delivered.value is not None
    ranges = settings_of_tmc2209(float(resistor))
    fine = wanted / 1000 <= max(ranges["more sensitive"])
    every = ranges["more sensitive" if fine else "less sensitive"]
    most = 1.01 * min(wanted / 1000, max(ranges["less sensitive"]))
    assert delivered.value <= max(most, every[0]) + 1e-9
    assert delivered.value > most - every[0] - 1e-9


@settings(max_examples=25)
@given(wanted=st.integers(50, 3000), resistor=st.sampled_from([0.075, 0.11, 0.05]))
def test_tmc5160_is_set_as_near_as_its_second_scale_allows(wanted: int, resistor: float) -> None:
    """Data sheet rev 1.14, chapter 9: I = global/256 · (scale + 1)/32 · 0.325 V / R / √2, global 32 … 256."""
    given = {
        "new.driver.part": "TMC5160", "new.driver.set_by": "serial", "new.driver.sense_resistor": f"{resistor} ohm",
        "was.motor.run_current": str(wanted / 1000), "motor.driver_limit": "20 A",
    }  # fmt: skip
    outcome = work_out_given(given)
    found = {name: outcome.result(f"motor.driver_{name}") for name in ("current", "scale", "global_scale")}
    delivered, scale, second = (found[name].value for name in found)  # type: ignore[union-attr]
    assert delivered is not None and scale is not None and second is not None
    full = 0.325 / resistor / math.sqrt(2)
    assert delivered == pytest.approx(second / 256 * (scale + 1) / 32 * full, rel=1e-9)
    step = full / 256 if second > 32 else full * 32 / 256 / 32
    assert abs(delivered - min(wanted / 1000, full)) <= step / 2 + 1e-9
    if wanted / 1000 > full * 32 / 256:
        assert scale == 31


@pytest.mark.parametrize(("part", "share"), [("A4988", "0.7071")])
def test_in_a_full_step_both_phases_carry_what_one_has_at_the_peak_over_the_root_of_two(
    part: str, share: str
) -> None:
    """A4988 data sheet (4988-DS): a full step runs at 70.71 % (second-hand); the same √2 stands between RMS and peak here."""
    rms = value("motor.driver_range", new__driver__part=part, new__driver__sense_resistor="0.1 ohm")
    peak = 4.0 / (8 * 0.1)
    assert as_printed(rms / peak, share)


# --- the speed up to which a motor keeps its torque -------------------------------------------------------------


@pytest.mark.parametrize(
    ("volts", "millihenry", "current", "torque", "steps", "travel"),
    [(24, 1.6, 0.4, 9, 200, 4.15), (12, 4.4, 0.7, 16, 200, 8.26), (24, 2.8, 1.1, 40, 400, 22.6)],
)
def test_corner_speed_is_where_the_phasor_of_the_voltages_reaches_the_supply(
    volts: float, millihenry: float, current: float, torque: float, steps: int, travel: float
) -> None:
    """Complex voltage of one phase, U = j·p·ω·L·Î + k·ω, solved for |U| = supply with scipy.optimize.brentq.

    k from the holding torque with both phases on, which is √2 of one phase's (Design News, 19 Feb 2009, second-hand)."""
    peak, one_phase = math.sqrt(2) * current, torque / 100 / math.sqrt(2)
    generator = one_phase / 1.0  # at a rated current of 1 A

    def over(omega: float) -> float:
        return abs(complex(generator * omega, steps / 4 * omega * millihenry / 1000 * peak)) - volts

    omega = brentq(over, 1e-3, 1e6, xtol=1e-12, rtol=1e-14)
    found = value(
        "feeder.corner_speed", motor__supply_voltage=f"{volts} V", new__motor__winding_inductance=f"{millihenry} mH",
        motor__current=f"{current} A", new__motor__holding_torque=f"{torque} N*cm", new__motor__rated_current="1 A",
        was__feeder__full_steps=str(steps), feeder__travel_per_motor_turn=f"{travel} mm",
    )  # fmt: skip
    assert found == pytest.approx(omega * travel / (2 * math.pi), rel=1e-9)
