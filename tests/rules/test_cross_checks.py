"""Ways that contradict each other: what is asked, and that nothing is written meanwhile."""

from __future__ import annotations

import pytest
from rulebench import work_out_given

from cfgmigrate.rules import cross_checks

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
    asked = [doubt for doubt in outcome.doubts if "for 16?" in doubt.remedy]
    assert asked and all(each.asks(cross_checks.ANOTHER_COUNT) for each in asked)


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


def test_what_rests_on_a_question_is_not_told_to_a_hand_either() -> None:
    given = {**HALF, "was.motor.quiet_below": "300", "was.feeder.steps_per_mm": "142", "old.microsteps": "32"}
    outcome = work_out_given(given)
    (silent,) = [each for each in outcome.silent if each.rule == "motor.quiet_below"]
    assert "rests on feeder steps per mm" in silent.why and outcome.result("motor.quiet_below") is None


@pytest.mark.parametrize(
    ("ratio", "said"),
    [(2.0, "twice"), (1.95, "twice"), (2.05, "twice"), (1.93, "1.9 times"), (4.0, "4 times"), (3.95, "4 times"), (3.2, "3.2 times")],
)  # fmt: skip
def test_how_many_times_one_is_the_other_is_said_whole_within_three_percent(ratio: float, said: str) -> None:
    assert cross_checks._times(ratio) == said


@pytest.mark.parametrize(
    ("base", "other", "apart"), [(2.0, 2.0, 0.0), (2.0, 3.0, 0.5), (2.0, 1.0, 0.5), (-2.0, -3.0, 0.5), (0.0, 1.0, 0.0)]
)  # fmt: skip
def test_two_ways_are_apart_as_a_share_of_the_one_that_is_taken(
    base: float, other: float, apart: float
) -> None:
    assert cross_checks._apart(base, other) == pytest.approx(apart)


@pytest.mark.parametrize(
    ("figure", "asked", "doubted"),
    [
        ("1402", False, False),
        ("1416", False, False),
        ("1446", False, True),
        ("1600", True, True),
        ("700", True, True),
    ],
)
def test_ways_that_are_further_apart_are_a_doubt_and_then_a_question(
    figure: str, asked: bool, doubted: bool
) -> None:
    outcome = work_out_given({**HALF, "new.steps_per_mm": f"{figure} 1/mm"})
    found = outcome.result("feeder.steps_per_mm")
    assert found is not None
    assert (bool(found.unsettled), bool(outcome.doubts)) == (asked, doubted)


@pytest.mark.parametrize(("figure", "counted"), [("701", True), ("1600", False)])
def test_only_what_another_count_of_microsteps_would_settle_is_one_question_with_others_like_it(
    figure: str, counted: bool
) -> None:
    outcome = work_out_given({**HALF, "new.steps_per_mm": f"{figure} 1/mm"})
    assert outcome.doubts
    assert [doubt.asks(cross_checks.ANOTHER_COUNT) for doubt in outcome.doubts] == [counted] * len(
        outcome.doubts
    )
