"""Formulas are typeset: fractions, roots and powers by layout, brackets only where they are needed."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cfgmigrate.reports import mathml
from cfgmigrate.rules import library
from cfgmigrate.rules.formula import evaluate, read_expression
from cfgmigrate.rules.result import Input

# The elements of MathML Core (W3C) that a formula may use.
CORE = {"math", "mi", "mn", "mo", "mtext", "mspace", "mrow", "mfrac", "msqrt", "msub", "msup"}
VALUES = {"a.a": 1.7, "b.b": -2.3, "c.c": 0.9}


def parse(markup: str) -> ElementTree.Element:
    return ElementTree.fromstring(f"<math>{markup}</math>")


def value_of(node: ElementTree.Element) -> str:
    """MathML read back as Python, by what a reader sees: the check of the layout."""
    children = [value_of(child) for child in node]
    match node.tag:
        case "mn" | "mo":
            return {"−": "-", "·": "*"}.get(node.text or "", node.text or "")
        case "mi" | "mtext":
            return {"π": "pi", "e": "exp1"}.get(node.text or "", node.text or "")
        case "mfrac":
            return f"(({children[0]})/({children[1]}))"
        case "msup":
            return f"(({children[0]})**({children[1]}))" if not children[0].startswith("-") else "bad"
        case "msqrt":
            return f"(({''.join(children)})**0.5)"
        case "msub":
            return f"{children[1]}_{children[0]}"
        case _:
            return "".join(children)


def expressions() -> st.SearchStrategy[str]:
    leaves = st.sampled_from(["a.a", "b.b", "c.c", "2", "0.5", "pi"])
    return st.recursive(
        leaves,
        lambda inner: st.one_of(
            st.tuples(inner, st.sampled_from("+-*/"), inner).map(
                lambda found: f"({found[0]} {found[1]} {found[2]})"
            ),
            inner.map(lambda found: f"-({found})"),
            inner.map(lambda found: f"({found})^2"),
        ),
        max_leaves=8,
    )


@given(expressions())
def test_what_a_reader_sees_means_what_the_formula_says(formula: str) -> None:
    seen = value_of(parse(mathml.typeset(formula)))
    names = {"pi": 3.141592653589793, "a_a": 1.7, "b_b": -2.3, "c_c": 0.9}
    try:
        right = evaluate(read_expression(formula), VALUES)
    except ValueError:
        return  # divides by zero: there is no value to compare
    assert eval(seen, {"__builtins__": {}}, names) == pytest.approx(right, rel=1e-9, abs=1e-9)


def test_every_formula_of_the_rule_book_is_typeset_with_mathml_core_only() -> None:
    formulas = {way.text for rule in library.book().rules for way in rule.ways if way.text}
    assert len(formulas) > 20
    for formula in sorted(formulas):
        tree = parse(mathml.typeset(formula))
        assert {element.tag for element in tree.iter()} <= CORE, formula
        names = set(re.findall(r"[a-z][a-z0-9_]*(?:\.[a-z0-9_]+)+", formula))
        assert len(tree.findall(".//msub")) >= len(names), formula


def test_a_dotted_name_becomes_its_last_word_with_the_others_below() -> None:
    assert mathml.typeset("new.drive_gear.gear_ratio") == (
        "<msub><mi>gear ratio</mi><mtext>new drive gear</mtext></msub>"
    )


def test_numbers_are_put_in_with_their_units_and_uncertainties_and_bracketed_before_a_power() -> None:
    given = {"a.d": Input("a.d", "diameter", 1.75, "mm", 0.02, "sheet:1")}
    assert mathml.put_in("a.d^2", given) == (
        "<msup><mrow><mo>(</mo><mrow><mrow><mo>(</mo><mn>1.750</mn><mo>±</mo><mn>0.020</mn><mo>)</mo></mrow>"
        '<mspace width="0.2em"/><mtext>mm</mtext></mrow><mo>)</mo></mrow>'
        "<mrow><mn>2</mn></mrow></msup>"
    )


def test_a_word_is_put_in_as_it_is_and_harmless() -> None:
    given = {"a.word": Input("a.word", "word", None, "", 0.0, "sheet:1", word="<b>&\x1b")}
    assert mathml.put_in("a.word", given) == "<mtext>&lt;b&gt;&amp;\\x1b</mtext>"


@pytest.mark.parametrize("text", ["", "no formula", "a.b +", "<script>"])
def test_what_is_no_formula_gives_nothing(text: str) -> None:
    assert mathml.typeset(text) == ""


def test_what_a_value_was_and_will_be_is_told_apart_in_words() -> None:
    shown = mathml.typeset("will.motor.run_current * was.motor.hold_current / const.tube_scaling")
    assert re.findall(r"<mi>([^<]+)</mi><mtext>([^<]+)</mtext>", shown) == [
        ("run current", "motor, after"),
        ("hold current", "motor, before"),
        ("tube scaling", "usual"),
    ]


def test_a_formula_is_said_in_words() -> None:
    assert (
        mathml.spoken("old.tube.length * 2 / a.bore_width^2")
        == "old tube length times 2 over a bore width squared"
    )
    assert mathml.spoken("sqrt(a.b)") == "square root of (a b)"
