"""What a list of letters says of one of them, and which headings and remarks are about something else."""

from __future__ import annotations

import pytest

from cfgmigrate.machine.code_legends import Listed
from cfgmigrate.machine.context import Spoken
from cfgmigrate.machine.listed_letters import (
    clear_fit,
    explains,
    is_feeder_alone,
    joined_with,
    names_a_thing,
    names_another,
    of_list,
    plain,
    said_otherwise,
    speaks_of,
    understood,
)
from cfgmigrate.machine.words import names_of


def listed(subject: str, **letters: str) -> Listed:
    return Listed(subject, letters)


RETRACTION = {"L": "length mm", "F": "speed"}


def meant(of: Listed, letter: str, *about: str, rates: bool = False) -> tuple[str, str]:
    found = of_list(of, letter, about, rates)
    fit = clear_fit(found)
    return (fit.quantity if fit else "", found.unit.name if found.unit else "")


@pytest.mark.parametrize(
    ("of", "letter", "about", "quantity", "unit"),
    [
        (listed("retraction", **RETRACTION), "L", (), "retraction.length", "mm"),
        (listed("retraction", **RETRACTION), "F", (), "retraction.speed", "mm/min"),
        (listed("", **RETRACTION), "L", ("retraction",), "retraction.length", "mm"),
        (listed("", **RETRACTION), "L", (), "", "mm"),
        (listed("", **RETRACTION), "L", ("fan",), "", "mm"),
        (listed("", **RETRACTION), "L", ("zum", "retraction"), "", "mm"),
        (
            listed("", **RETRACTION),
            "L",
            ("what all of this is about", "retraction"),
            "retraction.length",
            "mm",
        ),
        (listed("retraction", L="length", F="speed, mm/s"), "F", (), "retraction.speed", "mm/s"),
        (listed("retraction", L="length", R="lift, mm"), "L", (), "retraction.length", "mm"),
        (listed("retraction", L="length in cm", R="lift, mm"), "L", (), "retraction.length", "cm"),
        (listed("retraction", F="feed", R="return feed"), "R", (), "retraction.return_speed", "mm/min"),
        (listed("retraction", F="feed mm/s", R="return feed"), "R", (), "retraction.return_speed", "mm/s"),
    ],
)
def test_a_letter_of_a_list_is_what_its_words_say_below_the_subject_or_the_heading(
    of: Listed, letter: str, about: tuple[str, ...], quantity: str, unit: str
) -> None:
    assert meant(of, letter, *about) == (quantity, unit)


def test_a_rate_without_a_unit_is_in_mm_a_minute_unless_the_file_states_its_speeds() -> None:
    of = listed("retraction", F="feed", R="return feed")
    assert meant(of, "F")[1] == "mm/min" and meant(of, "F", rates=True)[1] == ""
    assert meant(listed("retraction", L="length", R="return feed"), "R")[1] == ""


@pytest.mark.parametrize(
    ("of", "letter", "quantity"),
    [
        (listed("retraction", F="feed out", R="feed back in"), "F", "retraction.speed"),
        (listed("retraction", F="feed out", R="feed back in"), "R", "retraction.return_speed"),
        (listed("retraction", F="speed back", R="speed forward"), "F", "retraction.speed"),
        (listed("retraction", F="speed back", R="speed forward"), "R", "retraction.return_speed"),
    ],
)
def test_of_two_ways_of_a_retraction_one_is_its_own_and_the_other_its_return_s(
    of: Listed, letter: str, quantity: str
) -> None:
    assert meant(of, letter)[0] == quantity


def test_pulling_out_and_pushing_in_are_no_change_of_filament_in_a_list_of_a_retraction() -> None:
    of = listed("retraction", L="pull out", R="push in")
    load = clear_fit(Spoken(names_of((), ("load", "length"))))
    pull = clear_fit(Spoken(names_of((), ("retraction", "length"))))
    speed = clear_fit(Spoken(names_of((), ("retraction", "speed"))))
    assert load and pull and speed
    assert said_otherwise(of, "L", load) and not said_otherwise(of, "Q", load)
    assert not said_otherwise(listed("loading", L="pull out"), "L", load)
    assert said_otherwise(of, "R", pull) and not said_otherwise(of, "L", pull)
    assert not said_otherwise(listed("retraction", R="push in"), "R", pull)
    assert not said_otherwise(of, "R", speed)


@pytest.mark.parametrize(
    ("words", "letter", "alone"),
    [("filament motor", "E", True), ("the feeder's axis", "E", False), ("filament", "E", True), ("filament speed", "E", False),
     ("filament motor", "X", False)],
)  # fmt: skip
def test_a_letter_may_be_said_to_be_the_feeder_s_and_nothing_more(
    words: str, letter: str, alone: bool
) -> None:
    assert is_feeder_alone(listed("", **{letter: words}), letter) is alone


@pytest.mark.parametrize(
    ("text", "is_plain", "all_known"),
    [("feeder", True, True), ("retraction speeds", True, True), ("fan", False, True), ("zum", False, False), ("x 2", False, True)],
)  # fmt: skip
def test_a_heading_of_the_machine_s_own_parts_is_plain(text: str, is_plain: bool, all_known: bool) -> None:
    assert plain(text.split()) is is_plain and understood(text.split()) is all_known


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("retraction length", True),
        ("mm", False),
        ("zum klo", False),
        ("the", False),
        ("speed mm/s", True),
        ("", False),
    ],
)
def test_an_explanation_has_a_word_of_the_trade_beside_a_unit(text: str, says: bool) -> None:
    assert explains(text) is says


def test_a_remark_names_a_thing_or_another_device_than_its_legend() -> None:
    assert names_a_thing("the probe") and not names_a_thing("mm") and not names_a_thing("")
    assert speaks_of("retraction length", "retraction") and not speaks_of("length", "retraction")
    assert names_another("retraction", "the winch") and not names_another("winch", "the winch")
    assert not names_another("retraction", "", "the drive") and names_another("retraction", "", "the winch")


SPEED, CURRENT = names_of((), ("retraction", "speed")), names_of((), ("feeder", "run", "current"))


def test_what_a_line_and_its_legend_say_together_is_what_either_says_and_nothing_where_they_differ() -> None:
    from cfgmigrate.ground.units import units

    slow, fast = units()["mm/min"], units()["mm/s"]
    nothing = Spoken((), remark="so")
    assert joined_with(Spoken(SPEED, slow), nothing, "x") == Spoken(SPEED, slow)
    assert joined_with(nothing, Spoken((), fast), "") == Spoken((), fast)
    assert joined_with(nothing, Spoken((), fast), "so") == nothing
    assert joined_with(nothing, Spoken(SPEED, fast), "so").unit is fast
    assert joined_with(Spoken((), slow), Spoken(SPEED), "mm/min").unit is slow
    assert joined_with(Spoken((), slow), Spoken(SPEED), "so in mm/min").unit is None
    assert joined_with(Spoken((), slow), Spoken(SPEED, fast), "mm/min").names == ()
    assert joined_with(Spoken(SPEED), Spoken(CURRENT), "x").names == ()
    assert joined_with(Spoken(SPEED), Spoken(SPEED, fast), "x").unit is fast
    assert joined_with(nothing, Spoken(SPEED), "40 %") == nothing
