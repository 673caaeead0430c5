"""A pattern of the names file against names: the same as a regular expression of its signs, and at once."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cfgmigrate.machine.wildcards import wildcard_fits


@given(st.text("ab_ @*", max_size=6), st.text("ab_ @", max_size=8))
def test_a_pattern_names_what_the_regular_expression_of_its_signs_names(pattern: str, text: str) -> None:
    signs = {"@": r"[^\W_]+", "*": ".*"}
    expression = "".join(signs.get(sign) or re.escape(sign) for sign in pattern)
    assert wildcard_fits(pattern, text) == bool(re.fullmatch(expression, text, re.DOTALL))


@pytest.mark.parametrize("sign", ["*", "@"])
def test_a_pattern_of_many_wildcards_is_done_at_once(sign: str) -> None:
    # each step of a search that tries one after the other would multiply the next: it would never end
    assert not wildcard_fits(f"{sign}a" * 200 + f"{sign}z", "a" * 2000)
    assert wildcard_fits(f"{sign}a" * 200, "a" * 2000)
    assert not wildcard_fits(f"{sign}a" * 200 + f"{sign}z", "z" + "a" * 2000)
