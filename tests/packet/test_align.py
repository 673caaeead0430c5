"""Which lines of one text are which lines of another: whatever the two, nothing is left out and nothing is made up."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from cfgmigrate.packet.align import align

LINES = st.lists(st.sampled_from([b"a\n", b"b\n", b"c\n", b"d\n"]), max_size=9)


@given(LINES, LINES)
@example([b"a\n", b"b\n", b"d\n"], [b"b\n", b"a\n", b"d\n"])
def test_the_opcodes_cover_both_texts_in_order_and_only_equal_lines_are_called_equal(
    old: list[bytes], new: list[bytes]
) -> None:
    codes = align(old, new)
    ends = [(0, 0), *((i2, j2) for _, _, i2, _, j2 in codes)]
    assert [(i1, j1) for _, i1, _, j1, _ in codes] == ends[:-1]
    assert ends[-1] == (len(old), len(new))
    for one, other in pairwise(ends):
        assert one != other, "an empty one"
    for tag, i1, i2, j1, j2 in codes:
        assert (tag == "equal") == (old[i1:i2] == new[j1:j2])


def test_where_nothing_was_edited_all_is_equal() -> None:
    assert align([b"a\n", b"b\n"], [b"a\n", b"b\n"]) == [("equal", 0, 2, 0, 2)]
    assert align([], []) == []


Q, R = b"q\n", b"r\n"


@pytest.mark.parametrize(
    ("middle", "held"),
    [
        ([Q, R, Q, R, Q, R, Q, R, Q], True),  # three of eleven differ
        ([Q, R, Q, R, Q, R], True),  # three of eight: a quarter and one
        ([Q, R, Q, R, Q], False),  # three of seven
    ],
    ids=["eleven", "eight", "seven"],
)
def test_of_lines_that_repeat_each_is_held_against_itself_where_few_were_edited(
    middle: list[bytes], held: bool
) -> None:
    """The longest run of the new lines is found earlier in the old ones too; there somebody moved no line."""
    old = [b"first\n", *middle, b"last\n"]
    new = [b"FIRST\n", middle[0], b"edited\n", *middle[2:], b"LAST\n"]
    last = len(old) - 1
    by_line = [
        ("replace", 0, 1, 0, 1),
        ("equal", 1, 2, 1, 2),
        ("replace", 2, 3, 2, 3),
        ("equal", 3, last, 3, last),
        ("replace", last, last + 1, last, last + 1),
    ]
    assert (align(old, new) == by_line) is held
