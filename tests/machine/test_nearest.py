"""What a setting that was not understood is nearest to: for people, and never more than three."""

from __future__ import annotations

import pytest

from cfgmigrate.machine.nearest import MOST_SUGGESTED, names_a_wheel, nearest, said_in_full
from cfgmigrate.machine.words import read_name


def near(section: str, key: str) -> tuple[str, ...]:
    return nearest(read_name(section, key))


@pytest.mark.parametrize(
    ("section", "key", "first"),
    [
        ("", "retraction lenght", "retraction.length"),
        ("", "retracton length", "retraction.length"),
        ("", "retractioon length", "retraction.length"),
        ("", "retraction legnth", "retraction.length"),
        ("axis x", "maximum speed zum", "axis.x.max_speed"),
    ],
)
def test_a_word_too_many_or_one_slip_points_at_what_it_is_near_to(section: str, key: str, first: str) -> None:
    assert near(section, key)[:1] == (first,)


@pytest.mark.parametrize(
    ("section", "key"),
    [
        ("", "zum klo"),
        ("", "retraction lxngxh"),
        ("fan", "steps per mm zum"),
        ("", "zum klo dub length"),
        ("", "motor volts for run current"),
        ("motor", "screw run current"),
        ("retraction", "zum"),
        ("", "retraction length zum"),
    ],
)
def test_what_has_few_words_in_common_or_names_another_thing_is_near_nothing(section: str, key: str) -> None:
    assert not {
        each
        for each in near(section, key)
        if each.startswith(("feeder", "retraction", "motor.run", "motor.hold"))
    }


def test_no_more_than_three_are_suggested_and_the_closest_first() -> None:
    assert MOST_SUGGESTED == 3
    for key in ("feeder speed zum", "axis speed maximum zum", "temperature zum", "filament feed length zum"):
        assert len(near("", key)) <= 3


@pytest.mark.parametrize(
    ("key", "said"),
    [
        ("retraction length", 0),
        ("retraction length zum", 1),
        ("retraction length zum klo", 2),
        ("the retraction length", 0),
        ("retraction zum", 1),
        ("fan retraction length", None),
    ],
)
def test_a_name_that_says_a_quantity_in_full_has_so_many_words_over(key: str, said: int | None) -> None:
    assert dict(said_in_full(read_name("", key))).get("retraction.length") == said


def test_what_is_said_with_fewest_words_over_stands_first() -> None:
    over = [left for _, left in said_in_full(read_name("feeder", "maximum speed steps per mm zum"))]
    assert over == sorted(over)


def test_the_width_of_a_wheel_is_not_offered_as_a_ratio() -> None:
    assert names_a_wheel(("roller", "mm")) and not names_a_wheel(("wheel", "teeth"))
