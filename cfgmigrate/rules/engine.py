"""Working the rules out: every value with its uncertainty, its derivation and what it rests on.

The engine goes through the book in order. For each rule it takes the first way whose inputs are known,
works out the other ways as cross-checks, and keeps the result under the rule's name, so that later rules
can use it. Values are computed in SI base units with the `uncertainties` package, which keeps track of
what two values have in common; nothing is rounded here.

A value that is scaled from the old one must not be scaled twice. So the engine works the book out once and
asks whether the files describe the new drive already (`already_migrated.py`); if so, it does it again without the
ways that would move a file's own value once more.

The engine knows no quantity by name, edits nothing and reads no file.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from cfgmigrate.ground.findings import BadInput, Doubt
from cfgmigrate.machine.model import Machine
from cfgmigrate.rules import derivation, dimensions
from cfgmigrate.rules.already_migrated import Moving, evidence, mixed, moving_ways, untold
from cfgmigrate.rules.book import Book
from cfgmigrate.rules.formula import Expression, FormulaError, evaluate, holds, nominal
from cfgmigrate.rules.result import CrossCheck, Derivation, Result, Silent, Status
from cfgmigrate.rules.rule import OWN, Rule, Way
from cfgmigrate.rules.scope import Given, Scope
from cfgmigrate.sheet.model import Sheet

#: how many ways to a value are named where none is open
MOST_REASONS = 3

#: what a constant's origin says where nothing but custom stands behind it
COMMON_PRACTICE = "common practice"


@dataclass(frozen=True)
class Outcome:
    """What the whole book came to. `settled` is true where the files already hold the new drive's figures."""

    results: tuple[Result, ...]
    silent: tuple[Silent, ...]
    doubts: tuple[Doubt, ...]
    settled: bool = False

    def result(self, rule: str) -> Result | None:
        return next((result for result in self.results if result.rule == rule), None)


@dataclass
class _Run:
    """The state of one pass through the book. `held_back` are ways that are not to be used."""

    scope: Scope
    held_back: Moving
    results: list[Result] = field(default_factory=list)
    silent: list[Silent] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)


def work_out(book: Book, machine: Machine, sheet: Sheet, tables: Mapping[str, Given]) -> Outcome:
    """Every result of the book for this machine and this sheet. `tables` holds constants and table rows.

    Raises BadInput where a formula has no value for these inputs (a division by zero, say).
    """
    run = _pass(book, machine, sheet, tables)
    moving = moving_ways(book, run.scope)
    scaled = [result.label for result in run.results if (result.rule, result.way) in moving]
    there, lacking = evidence(book, run.results, machine)
    settled = bool(there) and len(there) >= len(lacking)
    if settled:
        run = _pass(book, machine, sheet, tables, held_back=moving)
    if there and lacking and scaled:
        run.doubts.append(mixed(there, lacking, scaled, settled))
    if scaled and not there and not lacking:
        run.doubts.append(untold(scaled, sheet))
    return Outcome(tuple(run.results), tuple(run.silent), tuple(run.doubts), settled)


def work_out_once(
    book: Book, machine: Machine, sheet: Sheet, tables: Mapping[str, Given]
) -> tuple[Outcome, Scope]:
    """The same in one pass, for a book that scales nothing by the files' own values, and what it could see."""
    run = _pass(book, machine, sheet, tables)
    return Outcome(tuple(run.results), tuple(run.silent), tuple(run.doubts)), run.scope


def _pass(
    book: Book, machine: Machine, sheet: Sheet, tables: Mapping[str, Given], held_back: Moving = frozenset()
) -> _Run:
    run = _Run(Scope(machine, sheet, tables), held_back)
    for rule in book.rules:
        _apply(rule, run)
    return run


def _apply(rule: Rule, run: _Run) -> None:
    scope = run.scope
    values, words = scope.bases(rule.uses), scope.words(rule.uses)
    if rule.applies is not None and not holds(rule.applies, values, words):
        run.silent.append(
            Silent(rule.name, rule.sets, _otherwise(rule, scope) or "does not apply to this swap")
        )
        return
    open_ways = [way for way in rule.ways if way.when is None or holds(way.when, values, words)]
    usable = [way for way in open_ways if all(scope.given(name) is not None for name in way.needs)]
    held_back = [way for way in usable if (rule.name, way.name) in run.held_back]
    usable = [way for way in usable if way not in held_back]
    winner = next((way for way in usable if not way.check_only), None)
    if winner is None:
        run.silent.append(Silent(rule.name, rule.sets, _why_silent(rule, open_ways, held_back, run)))
        return
    stands = scope.first_place(winner.needs)
    if winner.word:
        result = _word_result(rule, winner, scope)
        scope.keep(
            rule.name,
            rule.sets,
            Given(rule.name, rule.label, rule.unit, f"rule {rule.name}", word=winner.word, place=stands),
        )
    else:
        base = _value(rule, winner, scope)
        checks, doubts = _cross_checks(rule, winner, usable, base, scope)
        run.doubts += doubts
        result = _number_result(rule, winner, base, checks, scope)
        given = Given(
            rule.name, rule.label, rule.unit, f"rule {rule.name}", base=base, text=result.text, place=stands
        )
        scope.keep(rule.name, rule.sets, given)
    run.results.append(_with_texts(rule, winner, result, run))


def _value(rule: Rule, way: Way, scope: Scope) -> Any:
    assert way.formula is not None
    try:
        return evaluate(way.formula, scope.bases(way.needs))
    except FormulaError as error:
        numbers = derivation.substituted(way.formula, scope)
        raise BadInput(
            f"the rule {rule.name} {error}: {way.text} = {numbers}",
            way.place,
            "Correct the values in the sheet or the files.",
        ) from None


def _cross_checks(
    rule: Rule, winner: Way, usable: list[Way], base: Any, scope: Scope
) -> tuple[tuple[CrossCheck, ...], list[Doubt]]:
    checks, doubts = [], []
    unit = dimensions.unit(rule.unit)
    for way in usable:
        if way is winner or way.formula is None or way.fallback:
            continue
        other = _value(rule, way, scope)
        apart = abs(nominal(other) - nominal(base)) / abs(nominal(base)) if nominal(base) else 0.0
        note = f"{way.source}; {100 * apart:.2g} % away" if apart else f"{way.source}; the same"
        shown = unit.from_base(nominal(other))
        checks.append(CrossCheck(way.name, shown, note, getattr(other, "std_dev", 0.0) / unit.factor))
        if rule.agree is not None and apart > rule.agree:
            why = (
                f"{winner.name} and {way.name} are {100 * apart:.2g} % apart, more than the"
                f" {100 * rule.agree:g} % that measuring explains"
            )
            place = scope.place(winner.needs)
            doubts.append(
                Doubt(place, rule.label, why, "Measure again, or look for the wrong figure in the sheet.")
            )
    return tuple(checks), doubts


def _number_result(rule: Rule, way: Way, base: Any, checks: tuple[CrossCheck, ...], scope: Scope) -> Result:
    unit = dimensions.unit(rule.unit)
    low, high, step = _range(rule, base, scope)
    text_source = scope.given(rule.write_as) if rule.write_as else None
    derived = derivation.derive(way, base, scope)
    return Result(
        rule=rule.name,
        target=rule.sets,
        label=rule.label,
        unit=rule.unit,
        value=unit.from_base(nominal(base)),
        uncertainty=float(getattr(base, "std_dev", 0.0)) / unit.factor,
        status=_sureness(way, derived),
        way=way.name,
        derivation=derived,
        text=text_source.text if text_source else "",
        round_down=way.round == "down" if way.round else rule.round_down,
        round_up=way.round == "up" if way.round else rule.round_up,
        low=low,
        high=high,
        step=step,
        cross_checks=checks,
        depends=scope.rules_behind(way.needs),
    )


def _sureness(way: Way, derived: Derivation) -> Status:
    """The way's status; but nothing follows exactly from a constant that is common practice, however many
    rules stand between."""
    guessed = any(part.share > 0 and COMMON_PRACTICE in part.origin for part in derived.contributions)
    return Status.ESTIMATE if guessed and way.status is Status.COMPUTED else way.status


def _word_result(rule: Rule, way: Way, scope: Scope) -> Result:
    return Result(
        rule=rule.name,
        target=rule.sets,
        label=rule.label,
        unit=rule.unit,
        value=None,
        uncertainty=0.0,
        status=way.status,
        way=way.name,
        derivation=derivation.derive(way, None, scope),
        word=way.word,
        depends=scope.rules_behind(way.needs),
    )


def _range(rule: Rule, base: Any, scope: Scope) -> tuple[float | None, float | None, float | None]:
    """The range to try, in numbers that a person would set: a step of 1, 2 or 5, and whole steps."""
    low, high, step = (
        _limit(expression, rule, base, scope) for expression in (rule.low, rule.high, rule.step)
    )
    if low is None or high is None or step is None or step <= 0:
        return low, high, step
    decade = 10.0 ** math.floor(math.log10(step) + 1e-9)
    step = decade * max(size for size in (1, 2, 5) if size * decade <= step * (1 + 1e-9))
    digits = max(0, 1 - math.floor(math.log10(step)))
    low, high = math.floor(low / step + 1e-9) * step, math.ceil(high / step - 1e-9) * step
    return round(low, digits), round(high, digits), round(step, digits)


def _limit(expression: Expression | None, rule: Rule, base: Any, scope: Scope) -> float | None:
    if expression is None:
        return None
    values = {**scope.bases(rule.uses), OWN: base}
    try:
        return dimensions.unit(rule.unit).from_base(nominal(evaluate(expression, values)))
    except (KeyError, FormulaError):
        return None


def _with_texts(rule: Rule, way: Way, result: Result, run: _Run) -> Result:
    """The result with every text of its rule that holds, each filled once the rule's own value is known."""
    scope = run.scope
    own = scope.given(rule.name)
    values, words = scope.bases(rule.uses), scope.words(rule.uses)
    if own is not None and own.base is not None:
        values[OWN] = own.base
    verify = derivation.fill(rule.verify, scope, own, whole=True)
    said = []
    for warning in rule.warnings:
        if not holds(warning.when, values, words):
            continue
        text = derivation.fill(warning.say, scope, own)
        said.append(text)
        if warning.doubt:
            run.doubts.append(Doubt(scope.place(way.needs), rule.label, text, verify))
    return replace(
        result,
        says=derivation.fill(rule.says, scope, own),
        hand=derivation.fill(rule.by_hand or rule.elsewhere, scope, own),
        steps=tuple(derivation.fill(step, scope, own) for step in rule.steps),
        verify=verify,
        cautions=tuple(derivation.fill(caution, scope, own, whole=True) for caution in rule.cautions),
        warnings=tuple(said),
    )


def _otherwise(rule: Rule, scope: Scope) -> str:
    return derivation.fill(rule.otherwise, scope)


def _why_silent(rule: Rule, open_ways: list[Way], held_back: list[Way], run: _Run) -> str:
    if held_back:
        return (
            "the files already hold the new drive's figures, so this value is taken to be the new drive's too;"
            " if it is still the old drive's, write the old value in the sheet under 'old'"
        )
    lacking = [
        [_why_missing(name, run) for name in way.needs if run.scope.given(name) is None]
        for way in open_ways
        if not way.check_only
    ]
    if not lacking:
        return _otherwise(rule, run.scope) or "no way of working it out fits this swap"
    least = min(len(names) for names in lacking)
    nearest = dict.fromkeys("; ".join(dict.fromkeys(names)) for names in lacking if len(names) == least)
    return "not known: " + "; or: ".join(list(nearest)[:MOST_REASONS])


def _why_missing(name: str, run: _Run) -> str:
    """What a name lacks; where it is another rule's result, that rule's own reason."""
    quantity = name.removeprefix("will.") if name.startswith("will.") else name
    behind = next((silent for silent in run.silent if silent.rule == quantity), None)
    if behind is None or name.startswith("was."):
        return run.scope.missing(name)
    label = f"{run.scope.missing(name)}" if behind.quantity else name
    return f"{label} ({behind.why.removeprefix('not known: ')})"
