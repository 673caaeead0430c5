"""The remark behind a value is found as it is written, directly behind it or further on its line."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.dialects.remark_marks import remark_behind, remark_on_line


@pytest.mark.parametrize(
    ("text", "dialect", "behind", "on_line"),
    [
        ("a = 1 # set by hand\n", "sectioned", b" set by hand", " set by hand"),
        ("#define A 1 /* turns */\n", "header", b" turns */", " turns */"),
        ('{"a": "1", // turns\n"b": 2}', "nested", b" turns", " turns"),
        ("a = 1\n# of the next line\n", "sectioned", b"", ""),
        ("#define A (1 + 2) // sum\r\n", "header", b"", " sum"),
    ],
)
def test_a_remark_is_that_of_its_own_line(text: str, dialect: str, behind: bytes, on_line: str) -> None:
    document = read("hen.conf", text.encode(), dialect)
    first = document.settings[0]
    assert remark_on_line(document, first, 80) == on_line
    assert remark_on_line(document, first, 1) == ""
    if behind or not on_line:
        assert remark_behind(document, first) == behind
