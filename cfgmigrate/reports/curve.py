"""A finding's value as a function of one input: the curve on a picture is the rule's own formula.

A finding carries its formula and every input. Where an input is another finding's result, that one is
worked out again too, so that the varied number reaches everything that rests on it. A curve that does not
pass through the finding's own value would be wrong, and is not given at all.

This module deliberately knows no rule: only what stands in the plan.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cached_property

from msgspec import Struct

from cfgmigrate.plan.model import Finding, Plan
from cfgmigrate.rules import dimensions
from cfgmigrate.rules.formula import Expression, FormulaError, evaluate, read_expression

AGREES = 1e-6
"""Relative difference from the finding's own value up to which a recomputation counts as the same."""

_DEEPEST = 20


class _Step(Struct, frozen=True):
    """A finding's formula, with those of its inputs that stay, those that are varied, and those that are other findings'."""

    tree: Expression
    fixed: dict[str, float]
    varied: tuple[str, ...]
    behind: tuple[tuple[str, Finding], ...]


class Curve(Struct, frozen=True, dict=True):
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
        step = self._steps.get(finding.rule) or self._steps.setdefault(finding.rule, self._step(finding))
        values = dict(step.fixed)
        values.update(dict.fromkeys(step.varied, varied))
        values.update((name, self._base(other, varied, deeper - 1)) for name, other in step.behind)
        return float(evaluate(step.tree, values))

    @cached_property
    def _steps(self) -> dict[str, _Step]:
        """A curve has many points, and all of them the same steps."""
        return {}

    def _step(self, finding: Finding) -> _Step:
        fixed: dict[str, float] = {}
        varied: list[str] = []
        behind: dict[str, Finding] = {}
        for given in finding.derivation.inputs:
            other = finding_of(self.plan, given.name)
            if given.name in self.names:
                varied.append(given.name)
            elif given.value is None:
                continue
            elif other is not None and other.value is not None and given.origin.startswith("rule "):
                behind[given.name] = other
            else:
                fixed[given.name] = dimensions.unit(given.unit).to_base(given.value)
        tree = read_expression(finding.derivation.formula)
        return _Step(tree, fixed, tuple(varied), tuple(behind.items()))


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
