"""A header of whole numbers only keeps them."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.whole_numbers import only_whole_numbers

SIX = "".join(f"#define N{at} {at}00L\n" for at in range(4)) + "#define LIST { 1, 2 }\n"


@pytest.mark.parametrize(
    ("text", "whole"),
    [
        (SIX, True),
        (SIX + "#define RATIO 0.5\n", False),
        ("#define A 4\n#define B 5\n", False),
        ("// whole numbers only\n#define A 4\n", True),
        ("/* all integers: the preprocessor counts */\n#define A 4\n", True),
        ("// no whole numbers here\n#define A 4\n", False),
    ],
)
def test_a_header_has_whole_numbers_only_by_its_head_or_by_all_its_numbers(text: str, whole: bool) -> None:
    assert only_whole_numbers(read("knot.h", text.encode(), "header")) is whole
    assert not only_whole_numbers(read("knot.conf", b"a = 1\nb = 2\nc = 3\nd = 4\ne = 5\nf = 6\n", "flat"))
