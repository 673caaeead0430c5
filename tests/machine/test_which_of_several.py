"""Of several quantities that the words fit a setting is the one that its number can be, else a question."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.which_of_several import WHICH_QUANTITY


def machine(lines: str) -> Machine:
    return recognise([read("one.ini", (lines.replace("|", "\n") + "\n").encode(), "sectioned")])


@pytest.mark.parametrize(
    ("lines", "quantity", "editable"),
    [
        ("[feeder]|max feed = 60 mm/s", "feeder.max_speed", True),
        ("[feeder]|most feed = 600", "feeder.max_feed_length", False),
    ],
)
def test_a_number_that_only_one_of_them_can_be_is_that_and_is_edited_where_its_unit_says_so(
    lines: str, quantity: str, editable: bool
) -> None:
    assert [(each.quantity, each.editable) for each in machine(lines).readings] == [(quantity, editable)]


def test_a_number_that_both_can_be_is_asked_about_and_not_read() -> None:
    found = machine("[feeder]|max feed = 60")
    assert not found.readings and not found.unread
    (doubt,) = found.doubts
    assert "the words fit maximum feed speed and longest single feed" in doubt.why and doubt.asks(
        WHICH_QUANTITY
    )


@pytest.mark.parametrize(("said", "asked"), [("n", 0), ("true", 0), ("0", 1)])
def test_a_truth_that_is_said_in_a_word_is_no_way_per_turn_and_asks_nothing(said: str, asked: int) -> None:
    found = machine(f"[feeder]|rev = {said}")
    assert [(each.quantity, each.editable) for each in found.readings] == [("feeder.direction", False)]
    assert len(found.doubts) == asked


def test_the_letter_of_one_of_two_feeders_is_no_article_and_a_push_is_told_by_the_pull_beside() -> None:
    keys = ("ustp=16", "rev=y", "pull_mm=5", "pull_mm_s=40", "push_mm_s=30")
    found = recognise(
        [read("one.env", "".join(f"drive{i}_{k}\n" for i in "ab" for k in keys).encode(), "flat")]
    )
    of = {(each.quantity, str(each.holder)) for each in found.readings}
    wanted = ("feeder.direction", "retraction.speed", "retraction.return_speed")
    assert of >= {(quantity, f"feeder {number}") for quantity in wanted for number in (1, 2)}
