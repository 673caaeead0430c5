"""Two long texts that differ are shown where they do."""

from __future__ import annotations

from cfgmigrate.workflow.told_apart import told_apart

ALIKE = "retraction length becomes 0.34 (feed.h:26), but stored draw = length 6.2 (stored.txt:12), or one of "


def test_of_two_long_texts_the_part_is_shown_where_they_differ() -> None:
    one, other = told_apart(f"{ALIKE}1 more there may be it", f"{ALIKE}2 more there may be it")
    assert "or one of 1 more" in one
    assert "or one of 2 more" in other
    assert one.startswith("…")


def test_short_values_are_shown_whole() -> None:
    assert told_apart("old", 2.5) == ("'old'", "2.5")


def test_a_text_that_goes_on_where_the_other_ends_is_shown_at_that_end() -> None:
    one, other = told_apart(ALIKE, f"{ALIKE}many{ALIKE}")
    assert one.endswith("or one of '")
    assert "or one of many" in other
    assert max(len(one), len(other)) <= 85
