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
