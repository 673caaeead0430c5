"""Old values that can't simply stand in the new files are a question, each for its own reason."""

from __future__ import annotations

import pytest
from rulebench import machine_of

from cfgmigrate.machine.quantities import all_quantities, facts
from cfgmigrate.rules.carry_open import counted_for, mixed, of_the_board, other_way_round, signs_differ

STEPS, TWOS, TURN = "axis.x.steps_per_mm", "axis.x.microsteps", "axis.x.travel_per_turn"


def files(**said: str) -> dict[str, str]:
    return {f"was.axis.x.{name}": text for name, text in said.items()}


@pytest.mark.parametrize(
    ("values", "target", "named"),
    [
        ({TWOS: 16.0}, files(steps_per_mm="80", microsteps="32"), {TWOS}),
        ({TWOS: 16.0, TURN: 40.0}, files(steps_per_mm="80", microsteps="32", travel_per_turn="30"), {TWOS, TURN}),
        ({TWOS: 16.0}, files(steps_per_mm="80", microsteps="16"), set()),
        ({TWOS: 16.0 * (1 + 1e-7)}, files(steps_per_mm="80", microsteps="16"), set()),
        ({TWOS: 16.0}, files(steps_per_mm="80"), set()),
        ({TWOS: 16.0}, files(microsteps="32"), set()),
        ({TWOS: 16.0, STEPS: 90.0}, files(steps_per_mm="80", microsteps="32"), set()),
        ({}, files(steps_per_mm="80", microsteps="32"), set()),
    ],
)  # fmt: skip
def test_a_part_of_the_steps_is_not_carried_beside_steps_of_the_new_files(
    values: dict[str, float], target: dict[str, str], named: set[str]
) -> None:
    found = mixed(values, machine_of(target))
    assert set(found) == named
    assert all("which is 80 at machine.conf:1 and does not follow" in why for why in found.values())


WIRED = next(each.id for each in all_quantities() if facts(each.id).wired and each.kind == "number")


def test_what_the_board_decides_is_not_carried_over_another_value() -> None:
    (value,) = (each.value for each in machine_of({f"was.{WIRED}": "0.11"}).readings)
    assert value is not None
    assert not of_the_board({WIRED: value}, machine_of({f"was.{WIRED}": "0.11"}))
    assert (
        "how this board is made"
        in of_the_board({WIRED: value * 2}, machine_of({f"was.{WIRED}": "0.11"}))[WIRED]
    )
    assert not of_the_board({WIRED: value}, machine_of({}))
    assert not of_the_board({TWOS: 16.0}, machine_of(files(microsteps="32")))


@pytest.mark.parametrize(
    ("name", "value", "stands", "differ", "asked"),
    [
        ("probe.offset_x", -28.0, "30", True, True),
        ("probe.offset_x", -28.0, "28", True, False),
        ("probe.offset_x", 28.0, "30", False, False),
        ("probe.offset_x", 28.0, "0", False, False),
        ("probe.offset_x", 0.0, "-4", False, False),
        ("axis.x.min", -4.0, "4", None, None),
        ("probe.offset_x", -28.0, None, False, False),
    ],
)
def test_a_place_whose_sign_differs_is_a_question_unless_it_is_the_same_the_other_way_round(
    name: str, value: float, stands: str | None, differ: bool | None, asked: bool | None
) -> None:
    target = machine_of({f"was.{name}": stands} if stands else {})
    about = facts(name).quantity
    both_ways = about.low is not None and about.high is not None and about.low == -about.high
    assert signs_differ(name, value, target) is (both_ways if differ is None else differ)
    assert (name in other_way_round({name: value}, target)) is (both_ways if asked is None else asked)


@pytest.mark.parametrize(
    ("source", "target", "asked"),
    [
        (files(steps_per_mm="80"), files(microsteps="32"), True),
        (files(steps_per_mm="80", microsteps="16"), files(microsteps="32"), False),
        (files(steps_per_mm="80"), {}, False),
    ],
)
def test_steps_that_only_the_new_files_say_the_microsteps_of_are_told(
    source: dict[str, str], target: dict[str, str], asked: bool
) -> None:
    found = counted_for(machine_of(source), machine_of(target), {STEPS: 80.0})
    assert (STEPS in found) is asked
    assert not counted_for(machine_of(source), machine_of(target), {})
    if asked:
        assert "the new ones have 32 at machine.conf:1" in found[STEPS]
