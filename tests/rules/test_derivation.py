"""Derivations: the formula, the same with numbers and units put in, and where each of them came from.

From outside: the GUM's own rules for writing (JCGM 100:2008, 7.2.2 and 7.2.6), Python's parser on what was written.
"""

from __future__ import annotations

import ast
import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rulebench import machine_of, own_rules, sheet_of, work_out_given

from cfgmigrate.machine.model import Form
from cfgmigrate.rules import dimensions, library
from cfgmigrate.rules.derivation import FOR_A_HAND, _contributions, fill, quantity_text, substituted
from cfgmigrate.rules.formula import names, read_expression
from cfgmigrate.rules.scope import NamedValue, Scope


def scope_of(**given: str) -> Scope:
    values = {name.replace("__", "."): text for name, text in given.items()}
    return Scope(machine_of(values), sheet_of(values), library.tables())


@pytest.mark.parametrize(
    ("formula", "text"),
    [
        (
            "pi * new.drive_gear.effective_diameter / new.drive_gear.gear_ratio",
            "π · (7.330 ± 0.060 mm) / 5.55556",
        ),
        ("new.tube.length - (old.tube.length - new.tube.length)", "38 mm − (420 mm − 38 mm)"),
        ("new.tube.length - old.tube.length - new.tube.length", "38 mm − 420 mm − 38 mm"),
        ("new.tube.length / (old.tube.length / new.tube.length)", "38 mm / (420 mm / 38 mm)"),
        ("2 * (new.tube.length + old.tube.length)", "2 · (38 mm + 420 mm)"),
        ("new.tube.length^2", "(38 mm)^2"),
        ("max(0, -new.tube.length)", "max(0, −38 mm)"),
        ("new.tube.length + new.drive_gear.effective_diameter", "38 mm + 7.330 ± 0.060 mm"),
        ("const.copper_coefficient", "234.5 K"),
        ("new.tube.length - carriage.nozzle_shift.y", "38 mm − (−6 mm)"),
        ("carriage.nozzle_shift.y + new.tube.length", "−6 mm + 38 mm"),
    ],
)
def test_numbers_and_units_stand_where_the_names_stood(formula: str, text: str) -> None:
    scope = scope_of(
        new__drive_gear__effective_diameter="7.33 ± 0.06 mm", new__drive_gear__gear_ratio="50:9", new__tube__length="38 mm",
        old__tube__length="420 mm", carriage__nozzle_shift__y="-6 mm",
    )  # fmt: skip
    assert substituted(read_expression(formula), scope) == text


ATOMS = st.sampled_from(["new.tube.length", "old.tube.length", "3", "pi"])
FORMULAS = st.recursive(
    ATOMS,
    lambda inner: st.tuples(inner, st.sampled_from(["+", "-", "*", "/"]), inner).map(lambda parts: f"({parts[0]}) {parts[1]} ({parts[2]})")
    | inner.map("-({})".format),
    max_leaves=8,
)  # fmt: skip


@given(text=FORMULAS)
def test_the_brackets_that_are_left_out_are_those_that_change_nothing(text: str) -> None:
    """What is shown, read as ordinary arithmetic by Python, comes to what the formula comes to."""
    tree = read_expression(text)
    shown = substituted(tree, scope_of(new__tube__length="38 mm", old__tube__length="420 mm"))
    plain = shown.replace(" mm", "").replace("π", str(math.pi)).replace("−", "-").replace("·", "*")
    values = {"new": type("n", (), {"tube": type("t", (), {"length": 38.0})}), "old": type("o", (), {"tube": type("t", (), {"length": 420.0})}), "pi": math.pi}  # fmt: skip
    try:
        expected = eval(compile(ast.parse(text, mode="eval"), "", "eval"), {"__builtins__": {}}, values)
    except ZeroDivisionError:
        return
    assert eval(plain, {"__builtins__": {}}) == pytest.approx(expected, rel=1e-9, abs=1e-9)


def test_the_largest_share_of_the_uncertainty_comes_first_and_all_of_them_are_one() -> None:
    """π · d / i with u(d)/d = 0.06/7.33 and u(i) = 0: the diameter has all of it."""
    result = work_out_given(
        {"new.drive_gear.effective_diameter": "7.33 ± 0.06 mm", "new.drive_gear.gear_ratio": "50:9"}
    ).result("feeder.feed_per_turn")
    assert result is not None
    first, second = result.derivation.inputs
    assert (first.name, first.share, first.uncertainty) == (
        "new.drive_gear.effective_diameter",
        pytest.approx(1),
        pytest.approx(0.06),
    )
    assert second.share == 0
    (part,) = result.derivation.contributions
    assert part.origin.startswith("swap.yaml:")


def test_what_has_no_uncertainty_has_no_shares_of_it() -> None:
    scope = scope_of(new__tube__length="38 ± 2 mm")
    length = scope.bases(["new.tube.length"])["new.tube.length"]
    assert [part.share for part in _contributions(length, scope)] == [1]
    assert _contributions(length - length, scope) == _contributions(38.0, scope) == ()


def test_a_share_may_come_from_several_rules_back() -> None:
    given = {
        "new.motor.holding_torque": "9 ± 0.9 N*cm", "motor.current": "0.4 A", "new.motor.rated_current": "1.0 A",
        "const.torque_share": "0.75 ± 0.075", "feeder.efficiency": "0.95", "feeder.travel_per_motor_turn": "4.15 mm",
        "path.force": "40 N",
    }  # fmt: skip
    result = work_out_given(given).result("feeder.push_reserve")
    assert result is not None
    shares = {part.name: part.share for part in result.derivation.contributions}
    assert shares == {
        "new.motor.holding_torque": pytest.approx(0.5),
        "const.torque_share": pytest.approx(0.5),
    }
    assert [item.name for item in result.derivation.inputs] == ["feeder.push_force", "path.force"]


def test_words_go_in_as_words() -> None:
    scope = scope_of(new__drive="on the carriage", filament__material="PLA")
    assert (
        fill("A {filament.material} drive {new.drive}, {was.axis.z.max}.", scope)
        == "A PLA drive on the carriage, (not known)."
    )
    assert quantity_text(NamedValue("x.y", "x", "", "here", word="PLA")) == "PLA"


def test_a_later_sentence_with_a_name_that_is_not_known_is_left_out() -> None:
    text = "Now {new.drive}. It was {old.drive}, 3.5 times longer. {filament.material} goes in. Look."
    scope = scope_of(new__drive="on the carriage", filament__material="PLA")
    assert fill(text, scope) == "Now on the carriage. PLA goes in. Look."


def test_every_formula_of_the_book_can_be_written_with_numbers_for_names() -> None:
    for rule in own_rules().rules:
        vocabulary = library.vocabulary().with_rules(
            {rule.name: (rule.unit, "") for rule in own_rules().rules}
        )
        for way in rule.ways:
            if way.formula is None:
                continue
            scope = Scope(machine_of({}), sheet_of({}), {
                name: NamedValue(name, name, vocabulary.unit(name), "here", base=dimensions.unit(vocabulary.unit(name)).to_base(2.0))
                for name in names(way.formula)
            })  # fmt: skip
            scope._known.update(scope.tables)
            shown = substituted(way.formula, scope)
            assert not re.search(r"[a-z]+\.[a-z_]+\.?", shown.replace("N·cm", "")), shown


def test_a_derivation_is_the_way_s_own_text_or_the_word_that_it_gives() -> None:
    outcome = work_out_given(
        {"new.tube.length": "38 mm", "old.tube.length": "420 mm", "was.retraction.length": "5"}
    )
    by_way = {(rule.name, way.name): way for rule in own_rules().rules for way in rule.ways}
    assert outcome.results
    for result in outcome.results:
        way = by_way[result.rule, result.way]
        assert result.derivation.formula == (way.text or way.word)


def test_for_a_hand_a_number_is_about_so_much_and_a_word_is_itself() -> None:
    scope = scope_of(new__tube__length="38.4 mm", filament__material="PLA")
    for_hand = FOR_A_HAND.removeprefix("{")
    assert fill(f"Cut {{{for_hand}new.tube.length}}.", scope).startswith("Cut about 38")
    assert fill(f"Load {{{for_hand}filament.material}}.", scope) == "Load PLA."
    assert fill(f"Cut {{{for_hand}old.tube.length}}.", scope) == "Cut (not known)."


@pytest.mark.parametrize("unit", ["0.01 mm", "mm/100", "hundredths of a mm"])
def test_what_a_file_counts_in_parts_of_a_mm_is_told_in_mm_with_its_number(unit: str) -> None:
    own = NamedValue("own", "x end stop", "mm", "m.h:1", -0.00503, form=Form(unit, 0.01))
    assert fill("from {this.value}", scope_of(), own) == "from −5.03 mm (file: -503)"
    assert own.form.told_in("mm") == (1.0, "mm")
