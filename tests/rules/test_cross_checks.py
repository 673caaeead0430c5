"""Ways that contradict each other: what is asked, and that nothing is written meanwhile."""

from __future__ import annotations

import pytest
from rulebench import work_out_given

HALF = {
    "new.steps_per_mm": "701 1/mm",
    "new.microsteps": "32",
    "new.motor.step_angle": "1.8 deg",
    "new.drive_gear.gear_ratio": "5:1",
    "new.drive_gear.effective_diameter": "7.26 mm",
}


def test_a_figure_that_is_half_of_what_the_gears_say_is_a_question_and_names_its_microsteps() -> None:
    outcome = work_out_given(HALF)
    found = outcome.result("feeder.steps_per_mm")
    assert found is not None and "not written" in found.unsettled
    assert "701 per mm" in found.unsettled and "geometry is twice" in found.unsettled
    assert "makes 32 fine steps" in found.unsettled and "701 per mm for 16?" in found.unsettled
    assert any("for 16?" in doubt.remedy for doubt in outcome.doubts)


@pytest.mark.parametrize(("count", "figure"), [("8", "350.5"), ("64", "2804"), ("2", "87.6")])
def test_the_microsteps_that_are_asked_for_are_those_with_which_the_ways_agree(
    count: str, figure: str
) -> None:
    found = work_out_given({**HALF, "new.steps_per_mm": f"{figure} 1/mm"}).result("feeder.steps_per_mm")
    assert found is not None and f"for {count}?" in found.unsettled


def test_a_feed_per_turn_from_such_a_figure_asks_for_the_same_microsteps() -> None:
    found = work_out_given(HALF).result("feeder.feed_per_turn")
    assert found is not None and "for 16?" in found.unsettled


def test_a_figure_with_its_microsteps_is_no_question() -> None:
    outcome = work_out_given({**HALF, "new.steps_per_mm_at": "16"})
    found = outcome.result("feeder.steps_per_mm")
    assert found is not None and found.value == pytest.approx(1402) and not found.unsettled
    assert not outcome.doubts


def test_what_the_uncertainty_of_a_measurement_explains_is_a_doubt_and_no_question() -> None:
    given = {**HALF, "new.steps_per_mm": "1500 1/mm"}
    rough = work_out_given({**given, "new.drive_gear.effective_diameter": "7.26 ± 0.4 mm"})
    fine = work_out_given(given)
    for outcome, unsettled in ((rough, False), (fine, True)):
        found = outcome.result("feeder.steps_per_mm")
        assert found is not None and bool(found.unsettled) is unsettled
        assert any("maker's figure" in doubt.why for doubt in outcome.doubts)


def test_what_rests_on_a_question_is_not_written_either() -> None:
    given = {**HALF, "was.motor.quiet_below": "300", "was.feeder.steps_per_mm": "142", "old.microsteps": "32"}
    found = work_out_given(given).result("motor.quiet_below")
    assert found is not None and "rests on feeder steps per mm" in found.unsettled
