"""Letters that a file's opening remark calls symbols are the measures that it says."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.symbol_legends import owners_told, symbols_told

_LIST = "# w steps per mm, v speed mm/s, a acceleration mm/s^2, I current A, d diameter mm\n# y and x axes, q the filament feeder, n nozzle\n"


def read_as(text: str) -> dict[str, float | None]:
    return {
        each.quantity: each.value for each in recognise([read("one.txt", text.encode(), "flat")]).readings
    }


def test_symbols_and_whose_they_are_are_read_together() -> None:
    text = f"{_LIST}w_x=80\nw_q=402.5\na_q_max=900\nI_q=0.6\nI_q_rest=0.3\nd_n=0.4\nv_y_max=120\n"
    assert read_as(text) == {
        "axis.x.steps_per_mm": 80, "feeder.steps_per_mm": 402.5, "feeder.max_acceleration": 900, "motor.run_current": 0.6,
        "motor.hold_current": 0.3, "nozzle.diameter": 0.4, "axis.y.max_speed": 120,
    }  # fmt: skip
    assert "feeder.steps_per_mm" not in read_as(text.removeprefix(_LIST))


@pytest.mark.parametrize(
    "opening",
    [
        "a nozzle of 0.4, a speed, a longer tube",
        "v speed mm/s, the rest is in mm",
        "v speed mm/s, v voltage V, w speed mm/s, k things",
    ],
)
def test_two_letters_and_articles_are_no_list(opening: str) -> None:
    assert symbols_told(opening) == {}


def test_letters_with_numbers_are_the_feeders_that_the_opening_counts() -> None:
    assert owners_told("two wire drives, g1 (left) and g2 (right)") == {"g": "feeder"}
    assert owners_told("two pumps, g1 and g2") == {}


@pytest.mark.parametrize(
    ("lines", "read"),
    [
        ("v_back = 40\nv_again = 25\nL_back = 4.5\n", {"retraction.speed": 40, "retraction.return_speed": 25, "retraction.length": 4.5}),
        ("v_back = 40\n", {}),  # it may be how filament comes back
    ],
)  # fmt: skip
def test_back_is_a_retraction_beside_again_and_asked_by_itself(lines: str, read: dict[str, float]) -> None:
    assert read_as(f"# v speed mm/s, L length mm, I current A\n{lines}") == read


_WITH_INDEX = (
    "# w steps per mm, v speed mm/s, mu microsteps, I_0 current at standstill A, s travel mm\n"
    "# x y axes, q the filament feeder, p the probe\n"
)


@pytest.mark.parametrize(
    ("line", "quantity"),
    [
        ("mu_q=16", "feeder.microsteps"),
        ("mu_x=32", "axis.x.microsteps"),
        ("I0_q=0.31", "motor.hold_current"),
        ("I_0_y=0.4", "axis.y.hold_current"),
        ("s_retract_q=1.3 mm", "retraction.length"),
        ("dx_p=-21.5", "probe.offset_x"),
    ],
)
def test_symbols_may_be_greek_have_an_index_or_stand_before_the_letter_of_a_part(
    line: str, quantity: str
) -> None:
    assert list(read_as(f"{_WITH_INDEX}w_q=402.5\n{line}\n")) == ["feeder.steps_per_mm", quantity]
    assert quantity not in read_as(f"w_q=402.5\n{line}\n") or line.startswith("s_")


def test_an_axis_with_an_index_is_no_symbol_and_a_letter_of_no_part_tells_nothing() -> None:
    assert "x1" not in symbols_told(f"{_WITH_INDEX[2:]} x1 position of the first corner, y1 position")
    assert "probe.offset_x" not in read_as(f"{_WITH_INDEX}w_q=402.5\ndx_c=-21.5\n")
