"""Formulas: ordinary arithmetic, read strictly, that always comes to an end or says why not.

From outside: Python's own parser and arithmetic (`ast`, `float`) as a second reader of the same texts.
"""

from __future__ import annotations

import ast
import contextlib
import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cfgmigrate.rules import formula as module
from cfgmigrate.rules import library
from cfgmigrate.rules.formula import (
    LONGEST_FORMULA,
    FormulaError,
    Literal,
    Operation,
    Variable,
    evaluate,
    holds,
    names,
    read_as_python,
    read_condition,
    read_expression,
)

VALUES = {"new.a": 3.0, "new.b": 0.5, "new.c": -2.0, "new.zero": 0.0}


def value(text: str) -> Any:
    return evaluate(read_expression(text), VALUES)


def truth(text: str, words: dict[str, str] | None = None) -> bool:
    return holds(read_condition(text), VALUES, words or {})


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("1 + 2 * 3", 7),
        ("(1 + 2) * 3", 9),
        ("10 - 4 - 3", 3),
        ("100 / 10 / 2", 5),
        ("2 ^ 3 ^ 2", 512),
        ("-2 ^ 2", -4),
        ("2 ^ -1", 0.5),
        ("2 * -3", -6),
        ("new.a - new.b * 2", 2),
        ("4 / 2 * 3", 6),
        ("pi", math.pi),
        ("1.5e-3", 0.0015),
        ("sqrt(16) + abs(new.c)", 6),
        ("exp(0)", 1),
        ("min(3, new.b, 2)", 0.5),
        ("max(3, new.b, 2)", 3),
        ("floor(2.9) + ceil(2.1)", 5),
        ("floor(0.1 * 30)", 3),  # 3.0000000000000004 or 2.9999…: binary fractions are not a reason for 2
        ("floor(0.29 * 100)", 29),  # 28.999999999999996 in binary
        ("ceil(1.1 * 100)", 110),  # 110.00000000000001 in binary
    ],
)
def test_arithmetic_is_as_at_school(text: str, expected: float) -> None:
    assert value(text) == pytest.approx(expected, rel=1e-15)


@pytest.mark.parametrize(
    "text",
    [
        "", "1 +", "* 2", "1 2", "new.a new.b", "a", "new.", ".a", "New.a", "new.a.", "new..a", "1.", ".5", "1,2", "0x10", "1_000",
        "2 ** 3", "1 // 2", "5 % 2", "new.a = 3", "new.a; new.b", "lambda: 1", "sin(1)", "min", "min()", "min(1", "sqrt 4",
        "pi()", "new.a()", "new.a[0]", "__import__('os')", "'text'", '"text"', "1 if 2 else 3", "true", "1e", "1e999999x",
        "(1", "1)", "()", "new.a is 3", "1 < 2", "not 1", "known new.a", "µ.a", "new.ä", "1 + # comment\n2", "1 × 2",
    ],
)  # fmt: skip
def test_what_is_no_formula_is_refused(text: str) -> None:
    with pytest.raises(FormulaError):
        read_expression(text)


@pytest.mark.parametrize(
    "text",
    [
        "", "new.a", "1", "known", "known 3", "in a", "known in a profile", "in a profile > 3", 'is "x"', 'new.a is x', 'new.a is "x', "1 < 2 < 3", "1 = 1", "1 == 1", "1 != 2",
        "known new.a known new.b", "not", "and", "1 < 2 and", "or 1 < 2", "(1 < 2", "1 < 2)", 'new.a is "x\ny"', "true",
    ],
)  # fmt: skip
def test_what_is_no_condition_is_refused(text: str) -> None:
    with pytest.raises(FormulaError):
        read_condition(text)


def test_the_column_of_a_slip_is_said() -> None:
    with pytest.raises(FormulaError) as caught:
        read_expression("new.a + * new.b")
    assert caught.value.column == 9


@pytest.mark.parametrize(
    "text",
    [
        "1 / 0", "new.a / new.zero", "new.a / (1 - 1)", "9^9^9", "10^400", "exp(1000)", "1e308 * 10", "sqrt(-1)", "sqrt(new.c)",
        "new.c ^ 0.5", "0 ^ -1", "(-8) ^ (1/3)", "1e999", "floor(1e308 * 10)", "ceil(1e999)", "1e999 - 1e999", "new.zero ^ new.c",
    ],
)  # fmt: skip
def test_what_has_no_finite_real_value_is_an_error(text: str) -> None:
    with pytest.raises(FormulaError):
        value(text)


def test_a_formula_is_no_longer_than_can_be_reviewed() -> None:
    longest = "1" + " + 1" * ((LONGEST_FORMULA - 1) // 4)
    assert value(longest) == 1 + (LONGEST_FORMULA - 1) // 4
    with pytest.raises(FormulaError, match="longer than"):
        read_expression(longest + " " * (LONGEST_FORMULA + 1 - len(longest)))


@pytest.mark.parametrize(
    "text",
    [
        "(" * 990 + "1" + ")" * 990,
        "-" * 1999 + "1",
        "2^" * 900 + "1",
        "sqrt(" * 300 + "1" + ")" * 300,
        "(" * 1999,
    ],
)
def test_deep_nesting_is_read_or_refused_and_never_breaks(text: str) -> None:
    with contextlib.suppress(FormulaError):
        value(text)


@pytest.mark.parametrize("start", [read_expression, read_condition])
@given(text=st.text(max_size=60))
def test_any_text_is_a_formula_or_a_formula_error(start: Any, text: str) -> None:
    with contextlib.suppress(FormulaError):
        start(text)


numbers = st.integers(0, 99).map(str) | st.sampled_from(["new.a", "new.b", "pi", "0.25", "1e2"])


def _join(parts: Any) -> Any:
    operation = st.tuples(parts, st.sampled_from([" + ", " - ", " * ", " / "]), parts).map("".join)
    return operation | parts.map("({})".format) | parts.map("-{}".format) | parts.map("sqrt(abs({}))".format)


formulas = st.recursive(numbers, _join, max_leaves=12)


@given(text=formulas)
def test_a_second_reader_comes_to_the_same(text: str) -> None:
    """Python's own parser and floating point, on the same text."""
    names_of_python = {
        "pi": math.pi,
        "sqrt": math.sqrt,
        "abs": abs,
        "new": type("new", (), {"a": 3.0, "b": 0.5}),
    }
    try:
        expected = eval(
            compile(ast.parse(text, mode="eval"), "", "eval"), {"__builtins__": {}}, names_of_python
        )
    except ZeroDivisionError:
        with pytest.raises(FormulaError):
            value(text)
        return
    assert value(text) == pytest.approx(expected, rel=1e-12, abs=1e-300)


def test_names_are_listed_once_in_the_order_of_their_first_use() -> None:
    assert names(read_expression("new.b * new.a + min(new.b, const.x) - new.a")) == (
        "new.b",
        "new.a",
        "const.x",
    )
    assert names(read_condition('known was.x and not new.y is "z" or new.b > was.x')) == (
        "was.x",
        "new.y",
        "new.b",
    )


def test_a_formula_is_a_tree_of_plain_values() -> None:
    assert read_expression("2 * new.a") == Operation("*", Literal(2.0, "2"), Variable("new.a"))


def test_and_binds_before_or_and_not_before_both() -> None:
    assert truth("known new.a or known new.x and known new.y")
    assert not truth("(known new.a or known new.x) and known new.y")
    assert truth("not known new.x and known new.a")
    assert not truth("not (known new.x or known new.a)")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("new.a > 2", True),
        ("new.a >= 3", True),
        ("new.a < 3", False),
        ("new.a <= 3", True),
        ("new.a + new.c > 0", True),
        ('new.material is "PLA"', True),
        ('new.material is "pla"', False),
        ('new.unknown is "PLA"', False),
        ("known new.material", True),
        ("new.unknown > 0", False),
        ("not new.unknown > 0", True),
    ],
)
def test_conditions_hold_for_what_is_known(text: str, expected: bool) -> None:
    assert truth(text, {"new.material": "PLA"}) is expected


@pytest.mark.parametrize("symbol", [">", ">=", "<", "<="])
def test_what_is_divided_by_nothing_compares_with_nothing(symbol: str) -> None:
    by_nothing = read_condition(f"abs(new.after / new.before - 1) {symbol} 0.2")
    for after in (0.0, 0.4):
        assert not holds(by_nothing, {"new.after": after, "new.before": 0.0}, {})


def test_a_name_without_a_value_can_not_be_worked_out() -> None:
    with pytest.raises(KeyError):
        value("new.unknown + 1")


def test_an_uncertain_value_is_compared_by_its_middle() -> None:
    from uncertainties import ufloat

    values = {"new.a": ufloat(3, 1), "new.b": ufloat(2.9, 0.1)}
    assert evaluate(read_expression("min(new.a, new.b)"), values) is values["new.b"]
    assert evaluate(read_expression("max(new.a, new.b)"), values) is values["new.a"]
    assert holds(read_condition("new.a > new.b"), values, {})
    assert evaluate(read_expression("floor(new.a / 2)"), values) == 1.0
    assert evaluate(read_expression("abs(0 - new.a)"), values).std_dev == 1


@given(left=st.floats(-1e6, 1e6), right=st.floats(-1e6, 1e6))
def test_a_comparison_is_the_comparison(left: float, right: float) -> None:
    values = {"new.l": left, "new.r": right}
    for symbol, expected in (
        (">", left > right),
        (">=", left >= right),
        ("<", left < right),
        ("<=", left <= right),
    ):
        assert holds(read_condition(f"new.l {symbol} new.r"), values, {}) is expected


_ATOMS = st.sampled_from(
    [
        "a.b",
        "was.x_1",
        "a_b",
        "pi",
        "pi.x",
        "min",
        "and",
        "x.is",
        "1",
        "2.50",
        "007",
        "1e5",
        ".5",
        "1or",
        "a.1",
    ]
)
_FORMULAS = st.recursive(
    _ATOMS,
    lambda inner: st.one_of(
        st.tuples(inner, st.sampled_from(["+", " - ", "*", "/", "^", "^-", "* -", "**", " "]), inner).map(
            "".join
        ),
        inner.map("({})".format),
        inner.map("-{}".format),
        st.tuples(
            st.sampled_from(["min", "sqrt ", "a_b", ""]), st.lists(inner, max_size=3).map(", ".join)
        ).map(lambda call: f"{call[0]}({call[1]})"),
        inner.map("min({},)".format),
    ),
    max_leaves=8,
)


@given(_FORMULAS)
def test_a_formula_that_python_reads_is_the_one_that_the_grammar_reads(text: str) -> None:
    seen = read_as_python(text)
    assert seen is None or seen == module._parsed(text, "expression")


def test_no_formula_of_the_rule_book_needs_the_grammar_to_be_read_once_more() -> None:
    formulas = [(way.text, way.formula) for rule in library.book().rules for way in rule.ways if way.formula]
    assert formulas
    for text, tree in formulas:
        assert read_as_python(text) == tree == module._parsed(text, "expression")
