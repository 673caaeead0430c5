"""The filament's path: a rod in compression, the slack in a bent tube, the lag of a spring before a nozzle.

Sources: Materials Science and Engineering, problem 6.6 (second-hand; 13.8 mm, recomputed 13.84):
a rod of 2.0 mm and 30 m under 300 N at 207 GPa; a 1.75 mm filament of PLA (3.6 GPa, data sheet of PLA grade 4043D, read) under 50 N; slack by geometry, here also
measured along polylines; first-order lag (Rapid Prototyping Journal 2019, doi 10.1108/RPJ-10-2018-0275; a preprint of 2023,
doi 10.21203/rs.3.rs-3443933/v1; abstracts read): 63.2 % at one time constant, simulated with scipy.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from rulebench import work_out_given
from scipy.integrate import solve_ivp


def value(rule: str, given: dict[str, str]) -> float:
    result = work_out_given(given).result(rule)
    assert result is not None and result.value is not None
    return result.value


def test_callister_s_rod_in_tension() -> None:
    """2.0 mm · 30 m, 300 N, 207 GPa: 13.84 mm. A sheet knows no tube of 30 m: ten of 3 m give a tenth each."""
    given = {
        "new.tube.length": "3 m",
        "path.force": "300 N",
        "path.filament_modulus": "207 GPa",
        "filament.diameter": "2.0 mm",
    }
    assert 10 * value("path.elastic_new", given) == pytest.approx(13.84, abs=0.005)


def test_a_filament_of_pla() -> None:
    """1.75 mm: A = 2.4053 mm²; 50 N, 400 mm, 3.6 GPa: 2.310 mm (recomputed)."""
    given = {
        "old.tube.length": "400 mm",
        "new.force_needed": "50 N",
        "filament.material": "PLA",
        "filament.diameter": "1.75 mm",
    }
    assert value("path.filament_area", given) == pytest.approx(2.4053, abs=5e-5)
    assert value("path.elastic_old", given) == pytest.approx(2.310, abs=5e-4)


@pytest.mark.parametrize(
    ("bend", "slack"),
    [("180 deg", 0.785), ("360 deg", 1.571), ("0.5 turn", 0.785), ("3.14159265 rad", 0.785)],
)
def test_slack_wall_to_wall(bend: str, slack: float) -> None:
    """2.0 mm bore, 1.75 mm filament: π → 0.785 mm, 2π → 1.571 mm (geometry)."""
    given = {
        "new.tube.length": "400 mm",
        "new.tube.bore": "2.0 mm",
        "new.tube.bend": bend,
        "filament.diameter": "1.75 mm",
    }
    assert value("path.slack_new", given) == pytest.approx(slack, abs=5e-4)


def walls(bends: list[tuple[float, float]], play: float) -> float:
    """Outer wall less inner wall, measured along polylines: each bend is (degrees, radius of its middle in mm).

    In each bend the pushed filament lies outside and the pulled one inside, `play` / 2 from the middle each."""

    def length(side: float) -> float:
        total = 0.0
        for degrees, radius in bends:
            angles = np.linspace(0, math.radians(degrees), 4000)
            points: NDArray[np.float64] = (radius + side * play / 2) * np.column_stack(
                [np.cos(angles), np.sin(angles)]
            )
            total += sum(math.dist(a, b) for a, b in pairwise(points.tolist()))
        return total

    return length(+1) - length(-1)


@settings(max_examples=10)
@given(
    bends=st.lists(st.tuples(st.floats(5, 180), st.floats(20, 200)), min_size=1, max_size=3),
    bore=st.floats(1.8, 3.0),
)  # fmt: skip
def test_slack_is_the_same_whatever_the_radius_of_the_bends(
    bends: list[tuple[float, float]], bore: float
) -> None:
    turned = sum(degrees for degrees, _ in bends)
    given = {
        "new.tube.length": "800 mm", "new.tube.bore": f"{bore!r} mm", "new.tube.bend": f"{turned!r} deg", "filament.diameter": "1.75 mm",
    }  # fmt: skip
    assert value("path.slack_new", given) == pytest.approx(walls(bends, bore - 1.75), rel=1e-4)


# --- lag ------------------------------------------------------------------------------------------------------------


def measured_lag(give_per_newton: float, newtons_per_speed: float) -> float:
    """The time in which the flow reaches 63.2 % of a step in feed, from a simulation.

    The filament is a spring that gives so many mm a newton; the nozzle resists in proportion to the flow."""

    def spring(_: float, compressed: NDArray[np.float64]) -> list[float]:
        flow = compressed[0] / give_per_newton / newtons_per_speed
        return [5.0 - flow]

    def reached(_: float, compressed: NDArray[np.float64]) -> float:
        return float(compressed[0] / give_per_newton / newtons_per_speed - 5.0 * (1 - math.exp(-1)))

    solved = solve_ivp(spring, (0, 20), [0.0], events=reached, rtol=1e-9, atol=1e-12)
    return float(solved.t_events[0][0])


@pytest.mark.parametrize("nozzle", [2.0, 8.0])
def test_the_lag_of_a_spring_before_a_nozzle_is_in_proportion_to_its_give(nozzle: float) -> None:
    """What the rule takes for granted: through the same nozzle, a path that gives a ninth lags a ninth as long.

    Springs one behind the other add, so that 0.2 mm of tube and 0.1 mm of hot end are 0.3 mm; the melt's own part and
    the rubbing of a long tube are no matter of this model, and are left out; so is how short a lag begins."""
    old, new = measured_lag(2.7 / 40, nozzle), measured_lag(0.3 / 40, nozzle)
    assert old == pytest.approx(2.7 / 40 * nozzle, rel=1e-4)
    given = {
        "was.lag.coefficient": repr(old), "new.tube.length": "38 mm", "path.elastic_old": "2.6 mm", "path.elastic_new": "0.2 mm",
        "path.give_hot_end": "0.1 mm", "const.lag_melt": "0 s", "const.tube_scaling": "1",
        "const.lag_short_start": "0 s",
    }  # fmt: skip
    assert value("lag.coefficient", given) == pytest.approx(new, rel=1e-3)


def test_no_lag_is_ever_given_without_one_that_was_measured() -> None:
    """No paper gives one constant (both papers named above): there is a range to measure, and no number."""
    outcome = work_out_given(
        {"new.drive": "on the carriage", "new.tube.length": "38 mm", "was.lag.coefficient": "0"}
    )
    assert outcome.result("lag.coefficient") is None
    item = outcome.result("lag.to_measure")
    assert item is not None and item.status == "by hand" and "thinner layers need more" in item.says


# --- common practice, no source -------------------------------------------------------------------------------------


@pytest.mark.parametrize("material", ["PLA", "ABS", "PETG"])
@pytest.mark.parametrize("bend", ["120 deg", "200 deg", "300 deg"])
@pytest.mark.parametrize("force", ["35 N", "40 N", "50 N", "60 N"])
def test_from_450_mm_of_tube_to_45_mm_leaves_what_compact_drives_need(
    material: str, bend: str, force: str
) -> None:
    """Common practice, no source: 5.5 mm through a 450 mm tube becomes 0.3 to 0.8 mm through 45 mm, straight."""
    given = {
        "was.retraction.length": "5.5", "old.tube.length": "450 mm", "old.tube.bore": "2.0 mm", "old.tube.bend": bend,
        "new.tube.length": "45 mm", "new.tube.bore": "2.0 mm", "new.tube.bend": "0 deg", "filament.material": material,
        "filament.diameter": "1.75 mm", "new.force_needed": force,
    }  # fmt: skip
    assert 0.3 <= value("retraction.length", given) <= 0.8


@pytest.mark.parametrize("length", ["0 mm", "5 mm", "20 mm", "45 mm"])
def test_however_short_the_tube_the_range_covers_what_compact_drives_need(length: str) -> None:
    """Common practice, no source: 0.3 to 0.8 mm; hot end and melt ask for theirs even where no tube is left."""
    given = {
        "was.retraction.length": "5.5", "old.tube.length": "450 mm", "old.tube.bore": "2.0 mm", "old.tube.bend": "200 deg",
        "new.tube.length": length, "new.tube.bore": "2.0 mm", "new.tube.bend": "0 deg", "filament.material": "PLA",
        "filament.diameter": "1.75 mm",
    }  # fmt: skip
    result = work_out_given(given).result("retraction.length")
    assert result is not None and result.value and result.low is not None and result.high
    assert result.low <= 0.3 and result.high >= 0.8
    assert result.value - 2 * result.uncertainty <= 0.3


@pytest.mark.parametrize("length", ["300 mm", "400 mm", "600 mm", "800 mm", "1200 mm"])
@pytest.mark.parametrize("old", ["0.3", "0.8", "1.2"])
def test_back_to_a_long_tube_nobody_is_told_to_set_more_than_is_ever_set(length: str, old: str) -> None:
    """Common practice, no source: 4 to 7 mm through 400 to 800 mm."""
    given = {
        "was.retraction.length": old, "old.tube.length": "40 mm", "old.tube.bore": "2.0 mm", "old.tube.bend": "0 deg",
        "new.tube.length": length, "new.tube.bore": "2.0 mm", "new.tube.bend": "220 deg", "filament.material": "PLA",
        "filament.diameter": "1.75 mm",
    }  # fmt: skip
    result = work_out_given(given).result("retraction.length")
    assert result is not None and result.value and result.high
    assert 3 <= result.value <= 7 and result.high <= 7
