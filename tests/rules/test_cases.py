"""Every rule does what its cases say, and no rule is without cases, sources and cautions.

The cases stand in `cases/`, one file a rule; their syntax in `cases/README.md`. Their numbers were worked out
by hand, with the arithmetic beside them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from ruamel.yaml import YAML
from rulebench import own_rules, work_out_given

from cfgmigrate.ground.findings import BadInput
from cfgmigrate.rules.engine import Outcome
from cfgmigrate.rules.result import Result, Status
from cfgmigrate.rules.rule import Rule

CASES = Path(__file__).with_name("cases")
FIELDS = {
    "case", "given", "value", "uncertainty", "status", "way", "word", "low", "high", "step", "checks", "warns",
    "doubts", "hand", "silent", "refused",
}  # fmt: skip
KINDS = [
    dict.fromkeys(kind.split()).keys()
    for kind in ("value uncertainty status way", "word status way", "silent", "refused")
]
RULES = [pytest.param(rule, id=rule.name) for rule in sorted(own_rules().rules, key=lambda rule: rule.name)]
#: what is said where a nozzle is hot or something moves
HOT_OR_MOVING = ("printing temperature", "hot nozzle", "hot end", "while it moves", "drive z", "turn the")

Case = Mapping[str, Any]


@cache
def cases_of(rule: str) -> tuple[Case, ...]:
    """The cases of a rule, every value as the text that stands in the file."""
    path = CASES / f"{rule}.yaml"
    if not path.is_file():
        return ()
    return tuple(YAML(typ="base", pure=True).load(path.read_text()) or ())


def every_case() -> Iterator[Any]:
    for path in sorted(CASES.glob("*.yaml")):
        for number, case in enumerate(cases_of(path.stem)):
            yield pytest.param(path.stem, number, id=f"{path.stem}: {case.get('case', '?')}")


@cache
def outcome_of(rule: str, number: int) -> Outcome:
    return work_out_given(dict(cases_of(rule)[number].get("given") or {}))


@cache
def ways_reached(rule: str) -> tuple[frozenset[str], frozenset[str]]:
    """The ways that won in a rule's cases, and those that were cross-checks."""
    won, checked = set(), set()
    for number, case in enumerate(cases_of(rule)):
        if "refused" in case:
            continue
        result = outcome_of(rule, number).result(rule)
        if result is not None:
            won.add(result.way)
            checked |= {check.way for check in result.cross_checks}
    return frozenset(won), frozenset(checked)


def assert_near(found: float | None, written: str, what: str) -> None:
    """Half a unit of the last digit that stands in the case."""
    assert found is not None, f"there is no {what}"
    mantissa, _, exponent = written.lower().partition("e")
    decimals = len(mantissa.partition(".")[2])
    half = 0.5 * 10.0 ** (int(exponent or 0) - decimals)
    assert abs(found - float(written)) <= half * (1 + 1e-6), f"{what} is {found!r}, not {written}"


def assert_pieces(wanted: list[str], found: list[str], what: str) -> None:
    if not wanted:
        assert not found, f"there is a {what}: {found}"
    for piece in wanted:
        assert any(piece in text for text in found), f"no {what} says {piece!r}: {found}"


@pytest.mark.parametrize(("rule", "number"), list(every_case()))
def test_a_rule_does_what_its_case_says(rule: str, number: int) -> None:
    case = cases_of(rule)[number]
    if "refused" in case:
        with pytest.raises(BadInput) as caught:
            outcome_of(rule, number)
        assert case["refused"] in str(caught.value)
        return
    outcome = outcome_of(rule, number)
    result = outcome.result(rule)
    if "silent" in case:
        assert result is None, f"it came to {result.value} {result.word} by {result.way!r}" if result else ""
        assert case["silent"] in next(silent.why for silent in outcome.silent if silent.rule == rule)
        return
    reasons = [silent.why for silent in outcome.silent if silent.rule == rule]
    assert result is not None, f"it is silent: {reasons}"
    assert_is(result, outcome, case)


def assert_is(result: Result, outcome: Outcome, case: Case) -> None:
    assert (result.way, str(result.status)) == (case["way"], case["status"])
    if "word" in case:
        assert result.word == case["word"]
    for name in ("value", "uncertainty", "low", "high", "step"):
        if name in case:
            assert_near(getattr(result, name), case[name], name)
    for way, value in case.get("checks", {}).items():
        check = next((check for check in result.cross_checks if check.way == way), None)
        assert check is not None, f"{way!r} is no cross-check"
        assert_near(check.value, value, f"cross-check {way!r}")
    if "warns" in case:
        assert_pieces(case["warns"], list(result.warnings), "warning")
    if "doubts" in case:
        about = [doubt.why for doubt in outcome.doubts if doubt.text == result.label]
        assert_pieces(case["doubts"], about, "doubt")
    if "hand" in case:
        assert case["hand"] in result.hand


@pytest.mark.parametrize(("rule", "number"), list(every_case()))
def test_a_case_is_written_as_the_readme_says(rule: str, number: int) -> None:
    case = cases_of(rule)[number]
    assert own_rules().rule(rule) is not None, f"there is no rule {rule}"
    assert case.get("case") and set(case) <= FIELDS
    assert any(kind <= set(case) for kind in KINDS), (
        f"a case says one of {'; '.join(', '.join(kind) for kind in KINDS)}; this one says {', '.join(case)}"
    )


@pytest.mark.parametrize("rule", RULES)
def test_every_rule_has_cases_that_give_a_value_and_cases_that_do_not(rule: Rule) -> None:
    cases = cases_of(rule.name)
    assert any("value" in case or "word" in case for case in cases)
    always = rule.applies is None and any(
        way.when is None and not way.check_only and all(name.startswith("const.") for name in way.needs)
        for way in rule.ways
    )
    assert always or any("silent" in case or "refused" in case for case in cases)


@pytest.mark.parametrize("rule", RULES)
def test_every_way_of_a_rule_wins_or_checks_in_some_case(rule: Rule) -> None:
    won, checked = ways_reached(rule.name)
    unreached = [way.name for way in rule.ways if way.name not in (checked if way.check_only else won)]
    assert not unreached


@pytest.mark.parametrize("rule", RULES)
def test_every_rule_says_its_sources_how_to_verify_it_and_what_can_hurt(rule: Rule) -> None:
    assert all(way.source for way in rule.ways)
    assert rule.verify and rule.says and rule.label
    by_hand = bool(rule.by_hand) or any(way.status is Status.BY_HAND for way in rule.ways)
    written = " ".join((rule.verify, rule.by_hand, rule.elsewhere)).lower()
    hot_or_moving = any(words in written for words in HOT_OR_MOVING)
    if rule.name.startswith("motor.") or rule.sets.startswith("axis.") or by_hand or hot_or_moving:
        assert rule.cautions, (
            f"{rule.name} needs `cautions`: it is about a motor, an axis, work by hand, or something hot or moving"
        )


@pytest.mark.parametrize("rule", RULES)
def test_a_source_that_is_common_practice_makes_no_more_than_an_estimate(rule: Rule) -> None:
    for way in rule.ways:
        if way.source.startswith("common practice"):
            assert way.status in (Status.ESTIMATE, Status.BY_HAND), way.name
