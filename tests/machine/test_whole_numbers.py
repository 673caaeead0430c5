"""A header of whole numbers only keeps them."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.whole_numbers import BY_HEAD, BY_NUMBERS, only_whole_numbers

SIX = "".join(f"#define N{at} {at}00L\n" for at in range(4)) + "#define LIST { 1, 2 }\n"


@pytest.mark.parametrize(
    ("text", "by"),
    [
        (SIX, BY_NUMBERS),
        (SIX + "#define RATIO 0.5\n", ""),
        ("#define A 4\n#define B 5\n", ""),
        ("// whole numbers only\n#define A 4\n", BY_HEAD),
        ("/* all integers: the preprocessor counts */\n#define A 4\n", BY_HEAD),
        ("// no whole numbers here\n#define A 4\n", ""),
        ("// not all whole numbers: it takes points\n" + SIX, ""),
        ("// not only integers, some are halves\n#define A 4\n", ""),
        ("// lengths are integers, speeds are not\n#define A 4\n", ""),
        ("// do not write a point: whole numbers only\n#define A 4\n", BY_HEAD),
    ],
)
def test_a_header_has_whole_numbers_only_by_its_head_or_by_all_its_numbers(text: str, by: str) -> None:
    assert only_whole_numbers(read("knot.h", text.encode(), "header")) == by
    assert not only_whole_numbers(read("knot.conf", b"a = 1\nb = 2\nc = 3\nd = 4\ne = 5\nf = 6\n", "flat"))
