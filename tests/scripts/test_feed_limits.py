"""Feeds of scripts that are longer or faster than the feeder may are told."""

from __future__ import annotations

from scriptbench import FRAME, result, swap


def test_a_feed_longer_than_the_machine_will_allow_is_in_doubt() -> None:
    frame = FRAME + "\n[feeder]\nlongest feed move = 520\n"
    found = swap("M83\nG1 E150\nG1 E90\n", result("feeder.max_feed_length", 120), frame=frame)
    assert [doubt.split(":")[0] for doubt in found.doubts()] == ["4"]


def test_a_long_feed_of_which_nothing_says_how_it_counts_is_in_doubt_too() -> None:
    """A number that is counted from the start of a print (M82) may be any; one that may be a length may not."""
    frame = FRAME + "\n[feeder]\nlongest feed move = 520\n"
    longest = result("feeder.max_feed_length", 120)
    (doubt,) = swap("G1 E150 F300\nG1 E90\n", longest, frame=frame).plan.doubts
    assert "nothing in the script says M82 or M83" in doubt.why and doubt.text == "G1 E150 F300"
    assert not swap("M82\nG1 E150\n", longest, frame=frame).plan.doubts


def test_a_feed_faster_than_the_feeder_may_turn_from_now_on_is_told() -> None:
    """F stays in force for the lines after it: 2700 mm/min are 45 mm/s, 240 mm/min are 4 mm/s. What feeds nothing is not fast."""
    frame = FRAME + "\n[feeder]\nmax speed = 70 mm/s\n"
    script = "M83\nG1 E-4 F2700\nG1 E4\nG1 E9 F240\nG1 X20 E1 F3000\nG1 E0 F9000"
    found = swap(script, result("feeder.max_speed", 24, unit="mm/s"), frame=frame)
    told = [doubt for doubt in found.doubts() if "the feeder may turn at 24 mm/s" in doubt]
    (both,) = told
    assert both.startswith("4:") and "likewise line 5" in both and "45 mm/s" in both


def test_a_feed_faster_than_a_drive_on_the_carriage_usually_draws_back_is_a_question_once_a_script() -> None:
    """3200 mm/min are 53.3 mm/s, at 5 mm a turn 10.7 turns of the motor a second; 2400 are 40 mm/s, which is usual."""
    drives = "old: {drive: tube-fed}\nnew: {drive: on the carriage}\n"
    turn = result("", 5, "feeder.travel_per_motor_turn")
    script = "M83\nG1 E40 F3200\nG1 E-9 F2400\nG1 E9 F3000\nG1 X20 E1 F6000"
    usual = result("", 40.0, "retraction.fastest", unit="mm/s")
    (told,) = swap(script, turn, usual, sheet=drives).doubts()
    assert (
        told.startswith("4: this feeds at 53.3 mm/s (10.7 motor turns a second)")
        and "likewise line 6" in told
    )
    assert "usually feeds at 40 mm/s at most" in told
    assert not swap(script, turn, usual, sheet=drives.replace("tube-fed", "on the carriage")).doubts()
    assert not swap(
        script, turn, usual, sheet=drives.replace("carriage}", "carriage, recommended_feed_speed: 60 mm/s}")
    ).doubts()


def test_a_speed_that_follows_from_the_motor_s_torque_is_told_as_that() -> None:
    drives = "old: {drive: tube-fed}\nnew: {drive: on the carriage}\n"
    speeds = [result("", 5.46, rule, unit="mm/s") for rule in ("feeder.corner_speed", "retraction.fastest")]
    (told,) = swap("M83\nG1 E40 F600", *speeds, sheet=drives).doubts()
    assert "its motor keeps its torque up to 5.4 mm/s, by the sheet's figures" in told
    assert "not checked" not in told


def test_where_the_feeder_keeps_its_speed_no_script_is_too_fast() -> None:
    assert swap("M83\nG1 E-4 F2700").doubts() == []
