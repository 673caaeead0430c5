"""A maker's figure as papers put it: with its microsteps, or without."""

from __future__ import annotations

import pytest

from cfgmigrate.ground.quantity_text import NotAQuantity
from cfgmigrate.sheet.answers import understood
from cfgmigrate.sheet.maker_figure import figure_at
from cfgmigrate.sheet.schema import sheet_schema

STEPS = sheet_schema().fields["new.steps_per_mm"]


@pytest.mark.parametrize(
    "said",
    [
        "701 steps/mm (1.8° motor, 16 fine steps)",
        "701 1/mm at 16 microsteps",
        "701 at 16",
        "701 @ 1/16",
        "701 steps per mm, 16 microsteps",
        "701 pulses/mm with 1/16 microstepping",
    ],
)
def test_a_figure_and_its_microsteps_are_one_answer(said: str) -> None:
    found = understood(STEPS, said)
    assert (found.text, found.entry.path) == ("701 1/mm", "new.steps_per_mm")
    assert [(each.entry.path, each.text) for each in found.also] == [("new.steps_per_mm_at", "16")]
    assert "for 16 fine steps" in found.note


@pytest.mark.parametrize("said", ["701", "701 1/mm", "701 steps/mm", "701 steps per mm", "701 pulses/mm"])
def test_a_figure_alone_says_nothing_of_microsteps(said: str) -> None:
    found = understood(STEPS, said)
    assert found.text == "701 1/mm" and not found.also


def test_a_motor_beside_the_figure_is_told() -> None:
    assert "motor of 0.9°" in understood(STEPS, "701 steps/mm (0.9° motor, 16 microsteps)").note


@pytest.mark.parametrize(
    "said", ["701 at 16 or at 32", "at 16", "701 at 16 mm", "701 with the 16 tooth wheel"]
)
def test_what_says_neither_or_more_is_refused(said: str) -> None:
    assert figure_at(said) is None or figure_at(said).figure != "701"  # type: ignore[union-attr]
    with pytest.raises(NotAQuantity):
        understood(STEPS, said)


def test_a_part_that_stays_is_told_that_its_name_is_asked() -> None:
    with pytest.raises(NotAQuantity) as refused:
        understood(sheet_schema().fields["new.driver.part"], "as before")
    assert "don't know is an answer" in refused.value.remedy
