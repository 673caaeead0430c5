"""The engine's uncertainty, against the GUM's own example, an independent library, and Monte Carlo.

Sources: GUM, JCGM 100:2008, 5.1.2 Eq. (10) and example H.2 (read; recomputed from its five raw rows: R 127.732(0.071) Ω,
X 219.847(0.296) Ω, Z 254.260(0.236) Ω); the quotient 6.67(23) Ω of the documentation of PyPI `GTC` (read). PyPI `GTC`
works every result of a whole swap out a second time, numpy draws it at random (GUM supplement 1, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from typing import Any

import GTC
import numpy as np
import pint
import pytest
from rulebench import machine_of, own_rules, sheet_of, work_out_given
from uncertainties import correlated_values_norm, ufloat, umath

from cfgmigrate.rules import library
from cfgmigrate.rules.book import book_from
from cfgmigrate.rules.engine import Outcome
from cfgmigrate.rules.lanes import work_out
from cfgmigrate.rules.result import Input, Result
from cfgmigrate.rules.scope import NamedValue

REGISTRY = pint.UnitRegistry()
#: GUM H.2: five rows of voltage in V, current in mA, phase in rad
ROWS = np.array(
    [
        [5.007, 19.663, 1.0456], [4.994, 19.639, 1.0438], [5.005, 19.640, 1.0468], [4.990, 19.685, 1.0428], [4.999, 19.678, 1.0433],
    ]
)  # fmt: skip


def impedance_rule(formula: str, needs: str) -> str:
    return (
        f"label: impedance\nunit: ohm\nsays: GUM H.2.\nways:\n  - {{way: ratio, needs: [{needs}], formula: '{formula}',"
        " status: measured, source: 'GUM H.2'}\nverify: See there.\n"
    )


def through_the_engine(rules: Mapping[str, str], values: Mapping[str, Any]) -> Outcome:
    book = book_from({f"{name}.yaml": text.encode() for name, text in rules.items()}, library.vocabulary())
    tables = {
        name: NamedValue(name, name, unit, "GUM H.2", base=base) for name, (base, unit) in values.items()
    }
    return work_out(book, machine_of({}), sheet_of({}), tables)


def test_gum_h_2_with_its_correlations() -> None:
    """V, I and φ measured together, r(V,I) = −0.36, r(V,φ) = 0.86, r(I,φ) = −0.65 (read); from the raw rows here."""
    means = ROWS.mean(axis=0)
    spread = ROWS.std(axis=0, ddof=1) / math.sqrt(len(ROWS))
    correlation = np.corrcoef(ROWS.T)
    assert [round(float(correlation[i][j]), 2) for i, j in ((0, 1), (0, 2), (1, 2))] == pytest.approx(
        [-0.36, 0.86, -0.65], abs=0.006
    )
    assert (means[0], spread[0]) == (pytest.approx(4.999), pytest.approx(0.0032, abs=5e-5))
    assert (means[1], spread[1]) == (pytest.approx(19.661), pytest.approx(0.0095, abs=5e-5))
    volts, milliamps, phase = correlated_values_norm(list(zip(means, spread, strict=True)), correlation)
    values = {
        "new.driver.reference_voltage": (volts, "V"), "new.motor.measured_current": (milliamps / 1000, "A"),
        "new.drive_gear.efficiency": (umath.cos(phase), ""), "filament.friction": (umath.sin(phase), ""),
    }  # fmt: skip
    quotient, needs = (
        "new.driver.reference_voltage / new.motor.measured_current",
        "new.driver.reference_voltage, new.motor.measured_current",
    )
    outcome = through_the_engine(
        {
            "gum.r": impedance_rule(f"{quotient} * new.drive_gear.efficiency", f"{needs}, new.drive_gear.efficiency"),
            "gum.x": impedance_rule(f"{quotient} * filament.friction", f"{needs}, filament.friction"),
            "gum.z": impedance_rule(quotient, needs),
        },
        values,
    )  # fmt: skip
    expected = {"gum.r": (127.732, 0.071), "gum.x": (219.847, 0.296), "gum.z": (254.260, 0.236)}
    for name, (value, uncertainty) in expected.items():
        result = outcome.result(name)
        assert result is not None and result.value is not None
        assert (round(result.value, 3), round(result.uncertainty, 3)) == (value, uncertainty)


def test_the_quotient_of_gtc_s_documentation() -> None:
    """0.1 V (1 mV) / 15 mA (0.5 mA) = 6.67(23) Ω (read)."""
    rule = impedance_rule(
        "new.driver.reference_voltage / new.motor.measured_current",
        "new.driver.reference_voltage, new.motor.measured_current",
    )
    book = book_from({"gtc.r.yaml": rule.encode()}, library.vocabulary())
    given = {"new.driver.reference_voltage": "0.1 V ± 1 mV", "new.motor.measured_current": "15.0 ± 0.5 mA"}
    result = work_out_given(given, book).result("gtc.r")
    assert result is not None and result.value is not None
    assert (round(result.value, 2), round(result.uncertainty, 2)) == (6.67, 0.23)
    other = GTC.ureal(0.1, 0.001) / GTC.ureal(0.015, 0.0005)
    assert (result.value, result.uncertainty) == (
        pytest.approx(GTC.value(other)),
        pytest.approx(GTC.uncertainty(other)),
    )


# --- every result of a whole swap, by two other ways -----------------------------------------------------------------

SWAP = {
    "old.drive": "tube-fed", "new.drive": "on the carriage", "old.drive_gear.external_meshes": "0",
    "old.tube.length": "420 ± 2 mm", "old.tube.bore": "2.0 ± 0.05 mm", "old.tube.bend": "200 ± 20 deg",
    "new.tube.length": "38 ± 0.5 mm", "new.tube.bore": "2.0 ± 0.05 mm", "new.tube.bend": "10 ± 3 deg",
    "new.drive_gear.effective_diameter": "7.33 ± 0.06 mm", "new.drive_gear.gear_ratio": "50:9", "new.drive_gear.external_meshes": "1",
    "new.motor.rated_current": "1.0 ± 0.02 A", "new.motor.measured_current": "0.42 ± 0.01 A", "new.motor.step_angle": "1.8 deg",
    "new.motor.holding_torque": "12 ± 0.5 N*cm", "new.motor.winding_resistance": "2.1 ± 0.05 ohm",
    "new.motor.thermal_resistance": "9.5 ± 0.8 K/W", "new.motor.winding_inductance": "1.6 ± 0.1 mH", "new.motor.rotor_inertia": "12 ± 2 g*cm^2",
    "new.driver.part": "TMC5160", "new.driver.set_by": "serial", "new.driver.sense_resistor": "0.075 ± 0.001 ohm",
    "new.driver.supply_voltage": "24 ± 0.2 V", "new.mount.material": "ABS", "filament.material": "PLA", "filament.diameter": "1.75 ± 0.02 mm",
    "surroundings.air": "45 ± 2 degC", "clearance.highest_z": "188.5 ± 0.3 mm", "clearance.keep_clear": "2 mm",
    "new.force_needed": "30 ± 3 N",
    "was.feeder.feed_per_turn": "22.9", "was.feeder.microsteps": "16", "was.feeder.max_speed": "60", "was.feeder.max_acceleration": "8000",
    "was.feeder.load_length": "500", "was.motor.run_current": "0.7", "was.motor.hold_current": "0.35", "was.retraction.length": "5.4",
    "was.lag.coefficient": "0.55", "was.retraction.speed": "45", "was.axis.z.max": "200",
}  # fmt: skip


def in_base(value: float, unit: str) -> float:
    return float(REGISTRY.Quantity(value, unit or "dimensionless").to_base_units().magnitude)


def size(unit: str) -> float:
    """How many base units one of this unit is, the zero of a temperature left out."""
    return in_base(1.0, unit) - in_base(0.0, unit)


class SecondWay:
    """The recorded formulas of an outcome worked out again with other numbers than the engine's.

    `number` makes a number of (value, standard uncertainty) in base units, once for each name; the formulas go
    through Python's own `eval` with the given functions."""

    def __init__(
        self, outcome: Outcome, number: Callable[[float, float], Any], functions: Mapping[str, Any]
    ) -> None:
        self.results = {result.rule: result for result in outcome.results}
        self.number, self.functions = number, dict(functions)
        self.known: dict[str, Any] = {}

    def of(self, result: Result) -> Any:
        names = {item.name: self._input(item) for item in result.derivation.inputs}
        text = result.derivation.formula.replace("^", "**")
        for index, name in enumerate(sorted(names, key=len, reverse=True)):
            text = text.replace(name, f"_{index}_")
        short = {f"_{index}_": names[name] for index, name in enumerate(sorted(names, key=len, reverse=True))}
        return eval(text, {"__builtins__": {}}, {**self.functions, **short, "pi": math.pi})

    def _input(self, item: Input) -> Any:
        # a name's own path is the same for `will.…` and the rule that gives it
        key = item.origin if item.origin.startswith("rule ") else item.name
        if key not in self.known:
            behind = (
                self.results.get(item.origin.removeprefix("rule "))
                if item.origin.startswith("rule ")
                else None
            )
            if behind is not None:
                self.known[key] = self.of(behind)
            else:
                assert item.value is not None
                self.known[key] = self.number(
                    in_base(item.value, item.unit), item.uncertainty * size(item.unit)
                )
        return self.known[key]


def numeric_results() -> tuple[Outcome, list[Result]]:
    outcome = work_out_given(SWAP)
    return outcome, [result for result in outcome.results if result.value is not None]


def by_value(choose: Callable[..., Any]) -> Callable[..., Any]:
    return lambda *values: choose(values, key=lambda value: float(GTC.value(value)))


GTC_FUNCTIONS = {
    "min": by_value(min), "max": by_value(max), "sqrt": GTC.sqrt, "exp": GTC.exp, "abs": lambda x: -x if GTC.value(x) < 0 else x,
    "floor": lambda x: math.floor(GTC.value(x) + 1e-9), "ceil": lambda x: math.ceil(GTC.value(x) - 1e-9),
}  # fmt: skip


def each_result() -> Iterator[Any]:
    for result in numeric_results()[1]:
        yield pytest.param(result.rule, id=result.rule)


@pytest.mark.parametrize("rule", list(each_result()))
def test_an_independent_library_comes_to_the_same_value_and_uncertainty(rule: str) -> None:
    """PyPI `GTC`: GUM 5.1.2 Eq. (10), what two inputs have in common counted once."""
    outcome, _ = numeric_results()
    result = outcome.result(rule)
    assert result is not None and result.value is not None
    found = SecondWay(
        outcome, lambda value, spread: GTC.ureal(value, spread) if spread else value, GTC_FUNCTIONS
    ).of(result)
    zero = in_base(0.0, result.unit)
    assert (GTC.value(found) - zero) / size(result.unit) == pytest.approx(result.value, rel=1e-9, abs=1e-12)
    assert GTC.uncertainty(found) / size(result.unit) == pytest.approx(
        result.uncertainty, rel=1e-6, abs=1e-9 * abs(result.value) + 1e-15
    )


def test_most_results_of_the_swap_carry_an_uncertainty() -> None:
    """So that the comparison above compares something."""
    _, results = numeric_results()
    assert len(results) > 30 and sum(result.uncertainty > 0 for result in results) > 20


DRAWS = 40_000
NUMPY_FUNCTIONS = {
    "min": lambda *values: np.minimum.reduce(np.broadcast_arrays(*values)), "sqrt": np.sqrt, "exp": np.exp, "abs": np.abs,
    "max": lambda *values: np.maximum.reduce(np.broadcast_arrays(*values)),
    "floor": lambda x: np.floor(np.asarray(x) + 1e-9), "ceil": lambda x: np.ceil(np.asarray(x) - 1e-9),
}  # fmt: skip
#: what turns over within its own uncertainty (a whole number, the lesser of two near ones) has no slope to propagate
NOT_SMOOTH = {
    "motor.driver_global_scale",
    "motor.driver_scale",
    "motor.driver_full_scale",
    "motor.driver_current",
    "motor.driver_error",
    "feeder.max_acceleration",
}


@pytest.mark.parametrize("rule", [case for case in each_result() if case.values[0] not in NOT_SMOOTH])
def test_drawn_at_random_the_results_spread_as_much(rule: str) -> None:
    """Monte Carlo: every input normally distributed, 40,000 draws, for all that is nearly straight within its spread."""
    outcome, _ = numeric_results()
    result = outcome.result(rule)
    assert result is not None and result.value is not None
    random = np.random.default_rng(20260101)
    way = SecondWay(
        outcome,
        lambda value, spread: random.normal(value, spread, DRAWS) if spread else value,
        NUMPY_FUNCTIONS,
    )
    drawn = (np.asarray(way.of(result)) - in_base(0.0, result.unit)) / size(result.unit)
    # the second order of curved formulas is left out by the GUM's first; a tenth of u covers it here
    assert float(np.mean(drawn)) == pytest.approx(
        result.value, abs=0.1 * result.uncertainty + 1e-9 * abs(result.value) + 1e-12
    )
    assert float(np.std(drawn)) == pytest.approx(
        result.uncertainty, rel=0.06, abs=1e-9 * abs(result.value) + 1e-12
    )


def test_a_correlation_between_two_inputs_is_kept_through_several_rules() -> None:
    """Force and modulus stand in both gives; GUM 5.2: taken as independent, they would make u larger."""
    outcome, _ = numeric_results()
    old, new, length = (
        outcome.result(name) for name in ("path.give_old", "path.give_new", "retraction.length")
    )
    assert old is not None and new is not None and length is not None
    assert old.value and new.value and length.value
    ratio = ufloat(new.value, new.uncertainty) / ufloat(old.value, old.uncertainty)
    apart = 5.1 * ratio * (0.7 + 0.3 * ratio)  # the tube's part of 5.4 mm
    shared = [
        part.share
        for part in length.derivation.contributions
        if part.name in ("new.force_needed", "PLA:modulus")
    ]
    assert len(shared) == 2
    assert math.sqrt(sum(shared)) * length.uncertainty < 0.75 * apart.std_dev


def test_the_book_s_constants_are_all_there_for_the_swap() -> None:
    assert {result.rule for result in numeric_results()[1]} <= {rule.name for rule in own_rules().rules}
