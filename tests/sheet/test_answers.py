"""An answer is taken for what a person at a bench means by it, that is told, and what can't be is refused in a line."""

from __future__ import annotations

import math

import pytest

from cfgmigrate.ground.quantity_text import NotAQuantity
from cfgmigrate.sheet.answers import can_stay_so, understood, understood_together
from cfgmigrate.sheet.schema import sheet_schema

FIELDS = sheet_schema().fields
TUBE, RATIO, STEPS = "old.tube.length", "new.drive_gear.gear_ratio", "new.steps_per_mm"


@pytest.mark.parametrize(
    ("path", "answer", "value", "spread"),
    [
        (TUBE, "365", 365, 0.288675),
        (TUBE, "36,5 cm", 365, 0.288675),
        (TUBE, "36.5cm", 365, 0.288675),
        (STEPS, "about 655", 655, 32.75),
        (STEPS, "ca. 655 1/mm", 655, 32.75),
        (STEPS, "655 ± 3", 655, 3),
        (STEPS, "3 x 654 655 656 1/mm", 655, 1 / math.sqrt(3)),
        (RATIO, "56:11", 56 / 11, 0),
        (RATIO, "56/11", 56 / 11, 0),
        (RATIO, "5,09", 5.09, 0),
        ("new.motor.rated_current", "900 mA", 0.9, 0),
        ("new.microsteps", "16", 16, 0),
        ("carriage.nozzle_shift.y", "-4", -4, 0),
        ("surroundings.air", "41", 41, 0),
        ("new.motor.step_angle", "200 steps / turn", 1.8, 0),
        ("new.motor.step_angle", "400 full steps a turn", 0.9, 0),
    ],
)
def test_a_number_is_taken_as_people_write_it(path: str, answer: str, value: float, spread: float) -> None:
    found = understood(FIELDS[path], answer).entry
    assert found.value == pytest.approx(value)
    assert found.uncertainty == pytest.approx(spread, rel=0.02)


def test_repeats_are_their_mean_and_how_sure_it_is() -> None:
    # 36.4, 36.5, 36.5: mean 36.4667, standard deviation 0.0577, standard error 0.0333 (GUM 4.2.3)
    found = understood(FIELDS["new.tube.length"], "3 x 36.4 36.5 36.5")
    assert found.text == "36.467 ± 0.033 mm" and "the mean of 3" in found.note
    same = understood(FIELDS["new.tube.length"], "36.5 36.5").entry
    assert same.uncertainty == pytest.approx(0.0288675 / math.sqrt(2), rel=0.05)


def test_what_lies_between_two_is_their_middle() -> None:
    # a rectangle (GUM 4.3.7): half of 5 divided by the square root of 3
    found = understood(FIELDS["new.force_needed"], "40 to 45")
    assert found.entry.value == 42.5 and found.entry.uncertainty == pytest.approx(
        2.5 / math.sqrt(3), rel=0.05
    )


@pytest.mark.parametrize(
    ("path", "answer", "word"),
    [
        ("old.drive", "1", "tube-fed"),
        ("old.drive", "On the Carriage", "on the carriage"),
        ("new.gears_as_before", "y", "yes"),
        ("new.gears_as_before", "2", "no"),
        ("filament.material", "pla", "PLA"),
    ],
)
def test_a_choice_is_taken_by_number_or_by_word(path: str, answer: str, word: str) -> None:
    assert understood(FIELDS[path], answer).entry.word == word


def test_so_many_to_one_is_a_ratio() -> None:
    found = understood(FIELDS[RATIO], "3.5 to 1")
    assert (found.text, found.note) == ("3.5:1", "taken as 3.5:1")


def test_what_was_assumed_is_told() -> None:
    assert understood(FIELDS[TUBE], "365").note == "taken as 365 mm"
    assert not understood(FIELDS[TUBE], "365 mm").note
    assert "5 %" in understood(FIELDS[STEPS], "about 655").note


@pytest.mark.parametrize(
    ("path", "answer", "said"),
    [
        (TUBE, "365 s", "time"),
        (TUBE, "1,200", "1.200 or 1200"),
        (TUBE, "-3", "negative"),
        (TUBE, "a lot", "number"),
        (TUBE, "4 x 36.4 36.5", "4 x and 2"),
        ("new.motor.rated_current", "41", "can't be right"),
        ("old.drive", "7", "no choice 7"),
        *((RATIO, said, "such as 35:10; or one number alone") for said in ("35 to 10", "35-10", "35 10")),
        ("new.driver.part", "ABC1", "not one of its words"),
    ],
)
def test_what_can_t_be_is_refused_in_one_line(path: str, answer: str, said: str) -> None:
    with pytest.raises(NotAQuantity) as caught:
        understood(FIELDS[path], answer)
    assert said in f"{caught.value.what} {caught.value.remedy}"
    assert "\n" not in caught.value.what + caught.value.remedy


@pytest.mark.parametrize(
    ("path", "answer", "kept", "text"),
    [
        ("new.drive_gear.gear_ratio", "as before", "new.gears_as_before", "yes"),
        ("new.motor.step_angle", "same motor", "new.motor_as_before", "yes"),
        ("clearance.highest_z", "Same as before", "clearance.as_before", "yes"),
        ("new.tube.length", "82 mm to the tip", "new.path_length", "82 mm"),
        ("new.tube.length", "82 to the nozzle's tip", "new.path_length", "82 mm"),
        ("carriage.nozzle_shift.z", "as before", "carriage.nozzle_shift.z", "0 mm"),
        ("old.extra_on_return", "nothing", "old.extra_on_return", "0 mm"),
        ("new.tube.bend", "none", "new.tube.bend", "0 deg"),
    ],
)
def test_what_is_as_before_or_nothing_is_said_in_words(path: str, answer: str, kept: str, text: str) -> None:
    found = understood(FIELDS[path], answer)
    assert (found.entry.path, found.text) == (kept, text) and found.note


@pytest.mark.parametrize("answer", ["as before", "nothing"])
def test_words_that_say_no_number_there_are_refused(answer: str) -> None:
    with pytest.raises(NotAQuantity):
        understood(FIELDS["carriage.old_mass"], answer)


SHIFTS = [FIELDS[f"carriage.nozzle_shift.{axis}"] for axis in "xyz"]


@pytest.mark.parametrize(
    ("answer", "texts"),
    [
        ("0 -5 -9", ["0 mm", "-5 mm", "-9 mm"]),
        ("0, -5,5, 9 mm", ["0 mm", "-5.5 mm", "9 mm"]),
        ("x 0 y ? z -9", ["0 mm", None, "-9 mm"]),
        ("x 0 y don't know z -9", ["0 mm", None, "-9 mm"]),
        ("0.5 cm -5 mm -9", ["0.5 cm", "-5 mm", "-9 mm"]),
        ("z -9 y -5 x 0", ["0 mm", "-5 mm", "-9 mm"]),
        ("z: 3 X: 1 y=2 mm", ["1 mm", "2 mm", "3 mm"]),
        ("0 in x, -5 in y, 0 in z", ["0 mm", "-5 mm", "0 mm"]),
        ("-5 mm along the y-axis, 0 x and −9 in z", ["0 mm", "-5 mm", "-9 mm"]),
        ("0 −5 −9", ["0 mm", "-5 mm", "-9 mm"]),
        ("0 in 0.2 in 0 in", ["0 in", "0.2 in", "0 in"]),
        ("as before", ["0 mm", "0 mm", "0 mm"]),
        ("0", ["0 mm", "0 mm", "0 mm"]),
    ],
)
def test_a_shift_is_told_in_one_breath(answer: str, texts: list[str | None]) -> None:
    found = understood_together(SHIFTS, answer)
    assert [each.text if each is not None else None for each in found] == texts


@pytest.mark.parametrize(
    "answer",
    [
        "0 -5",
        "0 -5 -9 3",
        "? ? ?",
        "to the left",
        "0 -5 9000",
        "x 0 y -5 y 3",  # a letter twice
        "x 0 -5 z -9",  # a letter missing
        "x 0 -5 y -9 z",  # before and behind
        "0 ~5 -9",
        "0 5-9 3",  # a range, or two of them
        "left 0 -5 -9",
    ],
)
def test_a_breath_that_is_not_understood_whole_is_refused(answer: str) -> None:
    with pytest.raises(NotAQuantity):
        understood_together(SHIFTS, answer)


@pytest.mark.parametrize("answer", ["0 -6 0", "-6 6", "-5 -9", "3 x 0 -6 0"])
def test_several_shifts_are_no_measurements_of_one(answer: str) -> None:
    with pytest.raises(NotAQuantity):
        understood(FIELDS["carriage.nozzle_shift.y"], answer)


def test_two_usual_diameters_are_not_taken_for_their_mean() -> None:
    with pytest.raises(NotAQuantity, match="too far apart"):
        understood(FIELDS["filament.diameter"], "1.75 2.85")


@pytest.mark.parametrize(
    ("answer", "mean"), [("3 x -5.8 -6.1 -5.9", -5.93), ("0.0 0.2", 0.1), ("-5 -6", -5.5)]
)
def test_a_shift_measured_again_and_again_is_its_mean(answer: str, mean: float) -> None:
    found = understood(FIELDS["carriage.nozzle_shift.y"], answer).entry
    assert found.value == pytest.approx(mean, abs=0.05)
    assert found.uncertainty > 0


@pytest.mark.parametrize(
    "answer", ["1", "tube-fed, on the carriage", "tube-fed to on the carriage", "Tube-fed -> on the carriage"]
)
def test_words_are_told_in_one_breath_by_number_or_in_words(answer: str) -> None:
    found = understood_together([FIELDS["old.drive"], FIELDS["new.drive"]], answer)
    assert [each.entry.word for each in found if each is not None] == ["tube-fed", "on the carriage"]


@pytest.mark.parametrize("path", sorted(FIELDS))
def test_every_field_takes_its_own_example(path: str) -> None:
    assert understood(FIELDS[path], FIELDS[path].example).entry.path == path


@pytest.mark.parametrize("said", ["25.6 mm a turn", "25.6 mm per turn", "25.6 mm/turn", "25.6 mm per rev"])
def test_what_one_turn_moves_is_no_diameter(said: str) -> None:
    gear = "new.drive_gear.effective_diameter"
    with pytest.raises(NotAQuantity) as refused:
        understood(FIELDS[gear], said)
    assert "8.149 mm" in refused.value.remedy  # 25.6 / π
    with pytest.raises(NotAQuantity):
        understood(FIELDS[TUBE], said)
    assert understood(FIELDS["new.feed_per_turn"], said).entry.value == 25.6


@pytest.mark.parametrize("path", [each.path for each in FIELDS.values() if each.numeric])
def test_as_before_is_offered_where_it_is_an_answer(path: str) -> None:
    if can_stay_so(FIELDS[path]):
        assert understood(FIELDS[path], "as before").text in ("yes", "0", f"0 {FIELDS[path].unit}".strip())
    else:
        with pytest.raises(NotAQuantity):
            understood(FIELDS[path], "as before")


@pytest.mark.parametrize("path", ["new.tube.length", "new.drive", "new.drive_gear.gear_ratio"])
def test_an_answer_without_end_is_refused_before_it_is_looked_through(path: str) -> None:
    field, endless = sheet_schema().fields[path], "9" * 100_000
    with pytest.raises(NotAQuantity, match="too long for an answer"):
        understood(field, endless)
    with pytest.raises(NotAQuantity, match="too long for an answer"):
        understood_together([field, field], endless)


def test_a_raised_digit_is_no_number_of_a_choice() -> None:
    with pytest.raises(NotAQuantity):
        understood(sheet_schema().fields["new.drive"], "²")


@pytest.mark.parametrize("path", ["old.tube.length", "new.tube.length", "new.path_length"])
def test_a_number_alone_that_would_be_a_very_short_way_is_asked_back_and_taken_with_its_unit(
    path: str,
) -> None:
    field = sheet_schema().fields[path]
    with pytest.raises(NotAQuantity, match="1 mm would be very short"):
        understood(field, "1")
    for said in ("about 1", "1.1 1.2", "1 to 2", "0.5 + 0.6"):
        with pytest.raises(NotAQuantity, match="very short"):
            understood(field, said)
    assert understood(field, "1 mm").entry.value == understood(field, "about 1 mm").entry.value == 1.0
    assert understood(field, "58").entry.value == 58.0
    assert understood(field, "0").entry.value == 0.0


@pytest.mark.parametrize(
    ("path", "text"),
    [
        ("carriage.hot_end_changed", "no"),
        ("carriage.fan_shroud_changed", "no"),
        ("clearance.as_before", "yes"),
        ("new.gears_as_before", "yes"),
    ],
)
def test_as_before_says_of_what_has_changed_that_it_has_not(path: str, text: str) -> None:
    assert understood(FIELDS[path], "as before").text == text


def test_as_before_is_neither_yes_nor_no_where_nothing_is_compared() -> None:
    with pytest.raises(NotAQuantity, match="neither yes nor no"):
        understood(FIELDS["surroundings.enclosed"], "as before")


def test_how_much_less_far_up_the_carriage_gets_is_an_answer_to_how_far_it_gets() -> None:
    found = understood(sheet_schema().fields["clearance.highest_z"], "20 mm earlier")
    assert (found.entry.path, found.entry.value) == ("clearance.less_at_high_z", 20.0)


def test_a_shift_far_beyond_what_is_usual_is_asked_back_and_taken_with_its_unit() -> None:
    with pytest.raises(NotAQuantity, match="very far"):
        understood(FIELDS["carriage.nozzle_shift.y"], "-127")
    assert understood(FIELDS["carriage.nozzle_shift.y"], "-127 mm").entry.value == -127
    assert understood(FIELDS["carriage.nozzle_shift.y"], "\u22121.5").entry.value == -1.5
