"""Working the rules out: every value with its uncertainty, its derivation and what it rests on.

The engine goes through the book in order. For each rule it takes the first way whose inputs are known,
works out the other ways as cross-checks, and keeps the result under the rule's name, so that later rules
can use it. Values are computed in SI base units with the `uncertainties` package, which keeps track of
what two values have in common; nothing is rounded here.

One pass sees one feeder with one profile. What a rule comes to is kept by the identity of what its names stand for:
a further pass works out only those rules for which something is different, and what two passes have in common is
one object in both; and beside an earlier pass that was alike only those rules are looked at which rest on what is
different. Ways may be shut, so that a value that is scaled from the old one is not scaled twice; which ones
is decided in `lanes.py`.

What no machine has is no number for later rules to rest on: they are held as it is. What is told of a rule, and why one
is silent, is in `texts_of_rules.py`. The engine knows no quantity by name, edits nothing and reads no file.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from functools import cached_property, lru_cache
from types import MappingProxyType
from typing import Any

from msgspec import Struct, field
from msgspec.structs import replace

from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.model import FlatMachine, Form
from cfgmigrate.machine.quantities import known, quantity
from cfgmigrate.rules import derivation, dimensions
from cfgmigrate.rules.age import Told
from cfgmigrate.rules.book import Book
from cfgmigrate.rules.cross_checks import cross_checks, held_back, value_of
from cfgmigrate.rules.formula import Call, Expression, FormulaError, evaluate, holds, names, nominal
from cfgmigrate.rules.result import CrossCheck, Derivation, Result, Silent, Status
from cfgmigrate.rules.rule import OWN, Rule, Way
from cfgmigrate.rules.scope import NamedValue, Scope, parents
from cfgmigrate.rules.texts_of_rules import otherwise, why_shut, why_silent, with_texts
from cfgmigrate.sheet.model import Sheet

#: what a constant's origin says where nothing but custom stands behind it
COMMON_PRACTICE = "common practice"


class Outcome(Struct, frozen=True, dict=True):
    """What the whole book came to, seen by one feeder with one profile. `shared` are results that this profile alone
    would have had, for quantities that it shares with others and that are decided there."""

    results: tuple[Result, ...]
    silent: tuple[Silent, ...]
    doubts: tuple[Doubt, ...]
    shared: tuple[Result, ...] = ()
    #: of each reading that would be scaled, by its quantity, whether it is the old drive's
    ages: Mapping[str, Told] = field(default_factory=dict)
    #: what quantities would come to that come to nothing, since of one of the values behind them it is not known whether
    #: it is the old drive's
    held: Mapping[str, float] = field(default_factory=dict)

    def result(self, rule: str) -> Result | None:
        return self.by_rule.get(rule)

    @cached_property
    def by_rule(self) -> Mapping[str, Result]:
        return {result.rule: result for result in self.results}

    @cached_property
    def by_target(self) -> Mapping[str, Result]:
        return {result.target: result for result in self.results if result.target}


Shut = Mapping[tuple[str, str], Told]
"""Ways that are not to be used, each by its rule's and its own name, and why."""
OPEN: Shut = {}


class Step(Struct, frozen=True):
    """What one rule came to: a result or a reason for silence, what is in doubt, and what later rules see."""

    result: Result | None = None
    silent: Silent | None = None
    doubts: tuple[Doubt, ...] = ()
    given: NamedValue | None = None


class Kept(Struct):
    """What several passes have in common: what names stand for, what rules came to, and which ways would move a value once
    more."""

    givens: dict[Any, NamedValue | None] = field(default_factory=dict)
    steps: dict[Any, Step] = field(default_factory=dict)
    moving: dict[Any, bool] = field(default_factory=dict)
    #: the pass before, of each lane without shut ways and with them
    before: dict[Any, Run] = field(default_factory=dict)


class Run(Struct):
    """One pass through the book. `steps` has what each rule came to, `would` what it would have come to where another
    pass decides."""

    scope: Scope
    shut: Shut
    kept: Kept
    steps: dict[str, Step] = field(default_factory=dict)
    would: dict[str, Step] = field(default_factory=dict)

    @property
    def results(self) -> tuple[Result, ...]:
        return tuple(step.result for step in self.steps.values() if step.result is not None)

    def silent_behind(self, name: str) -> Silent | None:
        """The silent rule whose result a name would be."""
        step = self.steps.get(name.removeprefix("will."))
        return step.silent if step is not None else None

    def outcome(
        self,
        doubts: Iterable[Doubt] = (),
        ages: Mapping[str, Told] | None = None,
        held: Mapping[str, float] | None = None,
    ) -> Outcome:
        own = (doubt for step in self.steps.values() for doubt in step.doubts)
        return Outcome(
            self.results,
            tuple(step.silent for step in self.steps.values() if step.silent is not None),
            tuple(dict.fromkeys((*own, *doubts))),
            tuple(step.result for step in self.would.values() if step.result is not None),
            ages or {},
            held or {},
        )


def one_pass(
    book: Book,
    scope: Scope,
    kept: Kept,
    shut: Shut = OPEN,
    decided: Mapping[str, Step] = MappingProxyType({}),
    like: Run | None = None,
) -> Run:
    """Every rule of the book worked out in `scope`; `decided` are the steps that another pass decides. `like` is an
    earlier pass of the same machine, feeder and profile: what rests on nothing that has changed since is as it was there.

    Raises BadInput where a formula has no value for these inputs (a division by zero, say)."""
    run = Run(scope, shut, kept)
    if like is not None and like.shut != shut:
        like = None
    changed: set[str] = set()
    if like is not None:
        changed = scope.changed_since(like.scope)
        scope.begin_like(like.scope)
    for rule in book.rules:
        if like is not None and changed.isdisjoint(_rests_on(rule.uses)):
            step = like.would.get(rule.name, like.steps[rule.name])
        else:
            step = _kept_step(rule, run)
        if rule.name in decided:
            if step is not decided[rule.name]:
                run.would[rule.name] = step
            step = decided[rule.name]
        run.steps[rule.name] = step
        if like is not None and step is not like.steps[rule.name]:
            changed.update((rule.name, f"will.{rule.name}", f"will.{rule.sets}"))
        if step.given is not None:
            scope.keep(rule.name, rule.sets, step.given)
    return run


@lru_cache(maxsize=4096)
def _rests_on(names: tuple[str, ...]) -> frozenset[str]:
    """Names, and the fields of a sheet that may stand behind them: of a table's row that which names the row."""
    return frozenset((*names, *(parent for name in names for parent in parents(name))))


def work_out_once(
    book: Book, machine: FlatMachine, sheet: Sheet, tables: Mapping[str, NamedValue]
) -> tuple[Outcome, Scope]:
    """The same in one pass, for a book that scales nothing by the files' own values, and what it could see."""
    scope = Scope(machine, sheet, tables)
    return one_pass(book, scope, Kept()).outcome(), scope


def _kept_step(rule: Rule, run: Run) -> Step:
    shut: tuple[object, ...] = ()
    if run.shut:
        named = ((rule.name, way.name) for way in rule.ways)
        shut = tuple((name, run.shut[name]) for name in named if name in run.shut)
    key = (rule.name, shut, tuple(_identity(name, run) for name in rule.uses))
    step = run.kept.steps.get(key)
    if step is None:
        step = run.kept.steps[key] = _step(rule, run)
    return step


def _identity(name: str, run: Run) -> object:
    """What tells one meaning of a name from another; of a name that stands for nothing, why it does."""
    given = run.scope.given(name)
    if given is not None:
        return id(given)
    return run.scope.missing(name), id(run.silent_behind(name))


def _step(rule: Rule, run: Run) -> Step:
    scope = run.scope
    values, words = scope.bases(rule.uses), scope.words(rule.uses)
    if rule.applies is not None and not holds(rule.applies, values, words):
        why = otherwise(rule, scope, (values, words)) or "does not apply to this swap"
        return Step(silent=Silent(rule.name, rule.sets, why))
    open_ways = [way for way in rule.ways if way.when is None or holds(way.when, values, words)]
    usable = [way for way in open_ways if _can_be_worked_out(way, scope)]
    shut = [way for way in usable if (rule.name, way.name) in run.shut]
    usable = [way for way in usable if way not in shut]
    winner = next((way for way in usable if not way.check_only), None)
    if winner is None:
        why = (
            why_shut(run.shut[rule.name, shut[0].name])
            if shut
            else why_silent(rule, open_ways, scope, (values, words), run.silent_behind)
        )
        return Step(silent=Silent(rule.name, rule.sets, why))
    stands = scope.first_place(winner.needs)
    doubts: list[Doubt] = []
    if winner.word:
        result = _word_result(rule, winner, scope)
        given = NamedValue(
            rule.name, rule.label, rule.unit, f"rule {rule.name}", word=winner.word, place=stands
        )
    else:
        base = value_of(rule, winner, scope)
        checks, doubts = cross_checks(rule, winner, usable, base, scope)
        result = _number_result(rule, winner, base, checks, scope)
        open_ = held_back(rule, winner, usable, base, scope)
        if open_ and rule.by_hand and not rule.sets:
            # a hand is told no number that no file would get
            return Step(silent=Silent(rule.name, rule.sets, open_))
        result = replace(result, unsettled=open_)
        given = NamedValue(
            rule.name,
            rule.label,
            rule.unit,
            f"rule {rule.name}",
            base=base,
            text=result.text,
            place=stands,
            unsettled=open_,
        )
    told = replace(given, form=_form_of(rule, winner, scope))
    whole, more = with_texts(rule, winner, result, told, scope, (values, words))
    question = whole.unsettled or _no_machine_has(rule, whole)
    if question != given.unsettled:
        given = replace(given, unsettled=question)
    return Step(whole, None, (*doubts, *more), given)


def _no_machine_has(rule: Rule, result: Result) -> str:
    """Why later rules must not rest on a result that is refused where it would be written, "" where they may: half of what
    belongs together would stand in the files."""
    if not rule.sets or result.value is None or not known(rule.sets):
        return ""
    return (
        "" if quantity(rule.sets).plausible(result.value) else f"no machine has {result.label} of that size"
    )


def _form_of(rule: Rule, way: Way, scope: Scope) -> Form:
    """The form of the file's value that a result takes the place of, or is worked out from: it is told in the same one."""
    names = [f"was.{rule.sets}"] if rule.sets else way.needs
    found = (scope.given(name) for name in names if name in rule.uses and name.startswith("was."))
    return next((given.form for given in found if given is not None and given.unit == rule.unit), Form())


def _can_be_worked_out(way: Way, scope: Scope) -> bool:
    """Whether everything that a way needs is there, and a number where its formula counts with it: the files may have a
    word in its place."""
    if any(scope.given(name) is None for name in way.needs):
        return False
    return way.formula is None or scope.bases(way.needs).keys() >= set(names(way.formula))


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
    """The range to try, in numbers that a person would set: a step of 1, 2 or 5, and whole steps. Its ends are
    rounded outwards, but never past the most that the rule allows."""
    low, high, step, most = (
        _limit(expression, rule, base, scope)
        for expression in (rule.low, rule.high, rule.step, _of_what_is_known(rule, base, scope))
    )
    if low is None or high is None or step is None or step <= 0:
        return low, high, step
    decade = 10.0 ** math.floor(math.log10(step) + 1e-9)
    step = decade * max(size for size in (1, 2, 5) if size * decade <= step * (1 + 1e-9))
    digits = max(0, 1 - math.floor(math.log10(step)))
    low, high = math.floor(low / step + 1e-9) * step, math.ceil(high / step - 1e-9) * step
    if most is not None and high > most:
        whole = math.floor(most / step + 1e-9) * step
        shown = dimensions.unit(rule.unit).from_base(nominal(base))
        high = whole if whole >= shown else math.floor(most * 10**digits + 1e-9) / 10**digits
    return round(min(low, high), digits), round(high, digits), round(step, digits)


def _of_what_is_known(rule: Rule, base: Any, scope: Scope) -> Expression | None:
    """The most that the rule allows; of several, whose smallest counts, those that are known. What is below the value itself
    was no reason to lower that, and a warning speaks of it."""
    if not (isinstance(rule.most, Call) and rule.most.function == "min"):
        return rule.most
    own = dimensions.unit(rule.unit).from_base(nominal(base))
    limits = ((each, _limit(each, rule, base, scope)) for each in rule.most.arguments)
    counting = tuple(each for each, limit in limits if limit is not None and limit >= own)
    return Call("min", counting) if counting else None


def _limit(expression: Expression | None, rule: Rule, base: Any, scope: Scope) -> float | None:
    if expression is None:
        return None
    values = {**scope.bases(rule.uses), OWN: base}
    try:
        return dimensions.unit(rule.unit).from_base(nominal(evaluate(expression, values)))
    except (KeyError, FormulaError):
        return None
