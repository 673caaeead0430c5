"""What follows from other values by a relation, how exactly, and when it can't be told."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects.document import Setting
from cfgmigrate.ground.findings import Place
from cfgmigrate.machine.model import Form, Reading
from cfgmigrate.machine.quantities import relations
from cfgmigrate.machine.relations import outcome_of, spread_of

(STEPS,) = (each for each in relations() if each.outcome.id == "feeder.steps_per_mm")


def reading(quantity: str, text: str, value: float | None = 0.0, ratio: bool = False) -> Reading:
    setting = Setting("", quantity, text, 0, len(text), 4, 1)
    number = float(text) if value == 0.0 and text.replace(".", "").isdigit() else value
    return Reading(quantity, number, text, Place("wren.ini", 4), 0, len(text), Form(ratio=ratio), setting)


def said(**values: str) -> dict[str, Reading]:
    return {f"feeder.{name}": reading(f"feeder.{name}", text) for name, text in values.items()}


@pytest.mark.parametrize(
    ("text", "spread"), [("7.5", 0.05 / 7.5), ("7.50", 0.005 / 7.5), ("12", 0), ("0.0", 0), ("-0.5", 0.1)]
)
def test_a_number_is_as_exact_as_half_its_last_decimal_and_a_whole_one_is_exact(
    text: str, spread: float
) -> None:
    assert spread_of(reading("feeder.feed_per_turn", text)) == pytest.approx(spread)


def test_a_ratio_of_teeth_and_a_text_are_exact() -> None:
    assert spread_of(reading("feeder.gear_ratio", "7.5", ratio=True)) == 0
    assert spread_of(reading("feeder.gear_ratio", "about", None)) == 0


def test_steps_follow_from_motor_gears_and_feed_and_a_ratio_that_nobody_says_is_one() -> None:
    found = outcome_of(STEPS, said(full_steps="200", microsteps="16", feed_per_turn="20.0"))
    assert found is not None
    assert (found.value, len(found.inputs)) == (160, 3)
    assert found.spread == pytest.approx(0.05 / 20)
    assert found.origin.startswith(f"{STEPS.formula}: ") and "20.0 (wren.ini:4)" in found.origin
    geared = outcome_of(
        STEPS, said(full_steps="200", microsteps="16", feed_per_turn="20.0", gear_ratio="3.5")
    )
    assert geared is not None and geared.value == pytest.approx(560)
    assert geared.spread == pytest.approx(0.05 / 20 + 0.05 / 3.5)


def test_what_stands_in_a_file_itself_needs_no_working_out() -> None:
    found = outcome_of(STEPS, said(steps_per_mm="96.5", full_steps="200"))
    assert found is not None
    assert (found.value, found.formula, found.origin) == (96.5, "", "wren.ini:4")
    assert found.spread == pytest.approx(0.05 / 96.5)


@pytest.mark.parametrize(
    "readings",
    [
        said(full_steps="200", microsteps="16"),
        {**said(full_steps="200", microsteps="16", feed_per_turn="0")},
        {
            **said(full_steps="200", microsteps="16", feed_per_turn="20"),
            "feeder.gear_ratio": reading("feeder.gear_ratio", "as built", None),
        },
        {"feeder.steps_per_mm": reading("feeder.steps_per_mm", "many", None)},
    ],
)
def test_without_one_of_the_numbers_nothing_follows(readings: dict[str, Reading]) -> None:
    assert outcome_of(STEPS, readings) is None
