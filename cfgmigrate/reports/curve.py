"""A finding's value as a function of one input: the curve on a picture is the rule's own formula.

A finding carries its formula and every input. Where an input is another finding's result, that one is
worked out again too, so that the varied number reaches everything that rests on it. A curve that does not
pass through the finding's own value would be wrong, and is not given at all.

This module deliberately knows no rule: only what stands in the plan.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from msgspec import Struct

from cfgmigrate.plan.model import Finding, Plan
from cfgmigrate.rules import dimensions
from cfgmigrate.rules.formula import FormulaError, evaluate, read_expression
from cfgmigrate.rules.result import Input

AGREES = 1e-6
"""Relative difference from the finding's own value up to which a recomputation counts as the same."""

_DEEPEST = 20


class Curve(Struct, frozen=True):
    """`finding` over the input that goes by any of `names`, in `unit` (of the input)."""

    plan: Plan
    finding: Finding
    names: frozenset[str]
    unit: str

    def at(self, value: float) -> float:
        """The finding's value, in its own unit, with the input at `value`. Raises FormulaError or KeyError."""
        base = dimensions.unit(self.unit).to_base(value)
        return dimensions.unit(self.finding.unit).from_base(self._base(self.finding, base, _DEEPEST))

    def _base(self, finding: Finding, varied: float, deeper: int) -> float:
        if not deeper:
            raise FormulaError("rules rest on each other in a circle")
        values = {
            given.name: self._input(given, varied, deeper)
            for given in finding.derivation.inputs
            if given.name in self.names or given.value is not None
        }
        return float(evaluate(read_expression(finding.derivation.formula), values))

    def _input(self, given: Input, varied: float, deeper: int) -> float:
        if given.name in self.names:
            return varied
        behind = finding_of(self.plan, given.name)
        if behind is not None and behind.value is not None and given.origin.startswith("rule "):
            return self._base(behind, varied, deeper - 1)
        assert given.value is not None
        return dimensions.unit(given.unit).to_base(given.value)


def finding_of(plan: Plan, rule: str) -> Finding | None:
    return next((finding for finding in plan.findings if finding.rule == rule), None)


def curve(plan: Plan, rule: str, names: Iterable[str], value: float, unit: str) -> Curve | None:
    """The curve of the finding `rule` over the input that goes by `names` and stands at `value` now.

    None where there is no such finding, where it does not rest on the input, or where the recomputation
    does not give the finding's own value.
    """
    finding = finding_of(plan, rule)
    if finding is None or finding.value is None:
        return None
    found = Curve(plan, finding, frozenset(names), unit)
    try:
        again, elsewhere = found.at(value), found.at(value * 1.01)
    except (FormulaError, KeyError, ValueError):
        return None
    scale = max(abs(finding.value), 1e-9)
    return found if abs(again - finding.value) <= AGREES * scale and elsewhere != again else None


def points(of: Curve, over: Sequence[float]) -> list[tuple[float, float]]:
    """(input, value) for each input at which the formula has a value."""
    found: list[tuple[float, float]] = []
    for value in over:
        try:
            found.append((value, of.at(value)))
        except FormulaError:
            continue
    return found
