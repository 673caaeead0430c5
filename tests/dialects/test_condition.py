"""C's integer arithmetic in conditions, with what is not known in it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cfgmigrate.dialects.condition import holds


@pytest.mark.parametrize(
    ("text", "truth"),
    [
        ("2 + 3 * 4 == 14", True),
        ("(2 + 3) * 4 == 20", True),
        ("10 - 3 - 2 == 5", True),
        ("-7 / 2 == -3 && -7 % 2 == -1", True),
        ("1 << 3 | 1", True),
        ("!0 == 1 && ~0 == -1", True),
        ("5 & 3 ^ 1", False),
        ("1 ? 0 : 1", False),
        ("0 ? 1 : 0 ? 1 : 2", True),
        ("0b101 == 5 && 010 == 8", True),
        ("@", None),
        ("@ && 0", False),
        ("@ || 1", True),
        ("!(@ && 0)", True),
        ("@ == @", None),
        ("@ ? 1 : 1", True),
        ("9999999999999999999", None),
        ("1 << 70", None),
        ("1 % 0", None),
        ("08", None),
        ("", None),
        ("1 +", None),
        ("(" * 3000, None),
    ],
)
def test_a_condition_is_yes_no_or_not_to_be_told(text: str, truth: bool | None) -> None:
    assert holds(text) is truth


SMALL = st.integers(0, 9).map(str)
FORMULA = st.recursive(
    SMALL,
    lambda inner: st.builds(
        "({} {} {})".format,
        inner,
        st.sampled_from(["+", "-", "*", "==", "!=", "<", ">=", "&", "|", "^"]),
        inner,
    ),
    max_leaves=12,
)


@given(FORMULA)
def test_where_c_and_python_agree_the_answer_is_pythons(text: str) -> None:
    """Python is the reference for bracketed integer arithmetic without division."""
    assert holds(text) is bool(eval(text, {"__builtins__": {}}))


@given(st.text(max_size=40))
def test_no_text_is_too_strange(text: str) -> None:
    assert holds(text) in (True, False, None)
