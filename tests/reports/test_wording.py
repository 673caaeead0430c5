"""Shares, counts and sentences are written as people write them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cfgmigrate.reports import wording


@given(st.floats(min_value=0, max_value=1))
def test_a_share_never_claims_more_than_it_is(part: float) -> None:
    shown = wording.share(part)
    assert (shown == "") == (part == 0)
    if part < 0.999:
        assert shown != "100 %"


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("the old path", "The old path."),
        ("It ends.", "It ends."),
        ("path.give_new is not known", "path.give_new is not known."),
        ("", ""),
    ],
)
def test_a_sentence_begins_with_a_capital_and_ends_once(text: str, shown: str) -> None:
    assert wording.sentence(text) == shown


def test_values_in_a_row() -> None:
    assert wording.in_a_row(["0.4"]) == "0.4"
    assert wording.in_a_row(["0.4", "0.6", "1.2"]) == "0.4, 0.6 and 1.2"
