"""Rows of a listing: a word, and numbers behind letters."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects.lettered_rows import NEAR_OF_ROWS, is_near, lettered_row


@pytest.mark.parametrize(
    ("line", "word", "numbers"),
    [
        ("stride X80 Y80.5 A93", "stride", (("X", "80"), ("Y", "80.5"), ("A", "93"))),
        ("<< | haste: A-40, B2 ;", "haste", (("A", "-40"), ("B", "2"))),
    ],
)
def test_a_row_is_its_word_and_its_numbers_as_they_are_written(
    line: str, word: str, numbers: tuple[tuple[str, str], ...]
) -> None:
    assert lettered_row(line) == (word, numbers)


@pytest.mark.parametrize(
    "line", ["stride", "stride 80", "X80 Y80", "stride X80 then Y80", "stride x80", "the X80 Y8 ran"]
)
def test_any_other_line_is_no_row(line: str) -> None:
    assert lettered_row(line) is None


def test_what_is_within_a_part_of_the_old_value_is_near_it() -> None:
    assert is_near(100 * (1 + NEAR_OF_ROWS), 100) and is_near(-75, -100)
    assert not is_near(100 * (1 + NEAR_OF_ROWS) + 0.1, 100) and not is_near(70, 100) and not is_near(75, -100)
