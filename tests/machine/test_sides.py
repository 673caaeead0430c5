"""A lone `l` or `r` at an end of a name is a side where several settings have a twin on the other one."""

from __future__ import annotations

import pytest

from cfgmigrate.machine.sides import sided, twins


def pieces(*names: str) -> list[tuple[str, ...]]:
    return [tuple(name.split("_")) for name in names]


@pytest.mark.parametrize(
    "names",
    [
        ("feed_accel_l", "feed_accel_r", "feed_speed_l", "feed_speed_r"),
        ("l_feed_accel", "r_feed_accel", "feed_speed_l", "feed_speed_r"),
        ("feed_accel_lh", "feed_accel_rh", "feed_speed_l", "feed_speed_r"),
        ("l", "r", "feed_speed_l", "feed_speed_r"),
    ],
)
def test_two_pairs_of_names_that_differ_in_the_letter_alone_are_sides(names: tuple[str, ...]) -> None:
    assert twins(pieces(*names))


@pytest.mark.parametrize(
    "names",
    [
        ("feed_accel_l", "feed_accel_r"),
        ("feed_accel_l", "feed_accel_r", "feed_speed_l", "fan_speed_r"),
        ("feed_accel_l", "feed_accel_r", "feed_l_speed", "feed_r_speed"),
        ("feed_accel_l", "feed_accel_r", "r_feed_speed", "feed_speed_l"),
        ("feed_accel_a", "feed_accel_b", "feed_speed_a", "feed_speed_b"),
        ("feed_accel_l", "feed_accel_r", "feed_speed_l", "feed_speed_l"),
        ("feed_accel_l", "feed_accel_r", ""),
    ],
)
def test_one_pair_is_chance_and_a_letter_within_or_of_another_name_is_no_twin(names: tuple[str, ...]) -> None:
    assert not twins(pieces(*names))


def test_a_name_without_pieces_has_no_side() -> None:
    assert not twins([(), ()])


@pytest.mark.parametrize(
    ("name", "read"),
    [
        ("feed_accel_l", "feed_left_accel"),
        ("feed_accel_r", "feed_right_accel"),
        ("r_feed_accel", "feed_right_accel"),
        ("max_feed_accel_rh", "max_feed_right_accel"),
        ("l_max_feed_r", "l_max_feed_right"),
        ("feeder_retract_l", "feeder_left_retract"),
        ("fan_speed_l", "fan_speed_l"),
        ("feed_l_accel", "feed_l_accel"),
        ("l", "l"),
    ],
)
def test_the_side_stands_as_a_word_behind_the_first_word_of_the_feed_path(name: str, read: str) -> None:
    assert "_".join(sided(tuple(name.split("_")))) == read
