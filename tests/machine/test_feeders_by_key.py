"""Feeders that are told apart by the first words of their keys."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise

KEYS = ("steps_per_mm=141", "run_current_ma=610", "pull_back_mm=4.4")


@pytest.mark.parametrize(
    "one, two, keys, feeders",
    [
        ("inner_drive", "outer_drive", KEYS, {"feeder 1", "feeder 2"}),
        ("top_pusher", "bottom_pusher", KEYS, {"feeder 1", "feeder 2"}),
        ("first_feed", "second_feed", KEYS, {"feeder 1", "feeder 2"}),
        ("main_feeder", "second_feeder", KEYS[:2], {"feeder 1", "feeder 2"}),
        ("feed_one", "feed_two", KEYS[:2], {"feeder 1", "feeder 2"}),
        ("inner_drive", "outer_drive", KEYS[:2], set()),
        ("bed_drive", "arm_drive", KEYS, set()),
        ("upper_pusher", "lower_pusher", ("steps_per_mm=141", "speed=40", "acceleration=900"), set()),
    ],
)
def test_keys_that_begin_with_two_places_and_go_on_alike_are_of_two_feeders(
    one: str, two: str, keys: tuple[str, ...], feeders: set[str]
) -> None:
    text = "".join(f"{who}_{key}\n" for who in (one, two) for key in keys)
    found = recognise([read("knot.env", text.encode(), "flat")]).every_reading
    assert "retraction.speed" not in {each.quantity for each in found}, "a second feed is no time"
    of = {str(each.holder) for each in found if each.quantity == "feeder.steps_per_mm"}
    assert of == feeders
