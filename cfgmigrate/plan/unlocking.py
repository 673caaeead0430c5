"""What unlocks what: which field of a sheet, were it answered, would give which values and settle which lights.

A field is tried by answering it: with its usual value, or with each of its words where it takes words. What then
comes of the sheet is compared with what comes of it now. So nothing here knows a rule: it only asks the book, and asks
it no more than is needed (`Kept`: a trial works out those rules alone for which something is different).

What the numbers of an answer will be is not known before it is given, so what is promised is that a value comes, never
which one. This module asks nobody and reads no file.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from functools import cached_property, lru_cache

from msgspec import Struct, field
from msgspec.structs import replace

from cfgmigrate.ground.findings import BadInput
from cfgmigrate.knowledge.lights import light_kinds
from cfgmigrate.machine.model import Machine
from cfgmigrate.plan.asked_beside import VALUES_OF_LIGHTS
from cfgmigrate.plan.cases import cases
from cfgmigrate.plan.decided import Decided
from cfgmigrate.plan.deciding import decide
from cfgmigrate.plan.lights import UNKNOWN, Case, lights
from cfgmigrate.plan.model import Light
from cfgmigrate.plan.naming import Naming
from cfgmigrate.plan.not_understood import near_the_old, suspects_in
from cfgmigrate.plan.open_fields import is_shift, sheet_field, usual_answers, with_answers
from cfgmigrate.rules.book import Book
from cfgmigrate.rules.cross_checks import HELD_BACK_FOR
from cfgmigrate.rules.engine import Kept, Outcome
from cfgmigrate.rules.lanes import Worked, work_out_lanes
from cfgmigrate.rules.passes import Lane
from cfgmigrate.rules.result import Result, Status
from cfgmigrate.rules.scope import NamedValue
from cfgmigrate.sheet.model import Sheet, SheetEntry
from cfgmigrate.sheet.schema import sheet_schema

#: what the name of a field has that the drive's maker gives
_OF_THE_MAKER = ".recommended_"

#: a ± that stays above this part of itself is not called narrower
NARROWER = 0.9


class Unlock(Struct, frozen=True):
    """What an answer to one field would bring.

    `values` are the rules that would have a result, `lights` the names of lights that would no longer be unknown,
    `narrows` the rules whose relative uncertainty would shrink, each to which part of itself, and `firmer` those that
    would be more than an estimate. `unsettles` are the lights that an answer may show not to be settled at all, `beside`
    the fields that have to be answered too, () where this one is enough."""

    field: str
    values: tuple[str, ...] = ()
    lights: tuple[str, ...] = ()
    narrows: tuple[tuple[str, float], ...] = ()
    firmer: tuple[str, ...] = ()
    beside: tuple[str, ...] = ()
    unsettles: tuple[str, ...] = ()
    #: whether what is asked in one breath with it is of no use here
    alone: bool = False

    @property
    def anything(self) -> bool:
        return bool(self.values or self.lights or self.narrows or self.firmer or self.unsettles)


class Standpoint(Struct, frozen=True, dict=True):
    """What comes of one sheet: the lanes' results, and the lights. `seen` has the lights that other sheets on the same bench
    leave unknown, by what the lights looked at."""

    worked: Worked
    book: Book
    machine: Machine
    seen: dict[object, frozenset[str]] = field(default_factory=dict)

    @cached_property
    def decided(self) -> Decided:
        """What becomes of every reading."""
        return decide(self.worked, Naming(self.worked, self.machine), self.book, self.machine)

    @cached_property
    def lights(self) -> tuple[Light, ...]:
        return lights(self._cases)

    @cached_property
    def unanswered(self) -> frozenset[str]:
        """The lights that are unknown by what the sheet lacks, whatever lines of the files keep them unknown besides, and
        whatever contradicts itself: an answer is tried with an example, which need not agree with what is said."""
        looked_at = _looked_at_by_lights(self.worked)
        if looked_at not in self.seen:
            self.seen[looked_at] = self._unanswered
        return self.seen[looked_at]

    @property
    def _unanswered(self) -> frozenset[str]:
        open_files = {
            "suspects": {},
            "open": {},
            "kept": {},
            "beside": {},
            "gap": "",
            "silent": "",
            "strange": {},
        }
        contradict = {rule for kind in light_kinds().kinds for rule in kind.contradict}
        told = lights(
            replace(
                case,
                hand={rule: told for rule, told in case.hand.items() if rule not in contradict},
                **open_files,
            )
            for case in self._without_questions
        )
        return frozenset(light.name for light in told if light.state == UNKNOWN)

    @cached_property
    def of_the_files(self) -> frozenset[str]:
        """The lights that lines of the files keep unknown, and nothing that the sheet says or lacks."""
        questions = {each.name for each in self.lights if HELD_BACK_FOR in each.why}
        return self.unknown - self.unanswered - questions

    @cached_property
    def _cases(self) -> tuple[Case, ...]:
        return self._cases_of(self.worked, self.decided)

    @cached_property
    def _without_questions(self) -> tuple[Case, ...]:
        lanes = self.worked.lanes
        if not any(result.unsettled for each in lanes.values() for result in each.results):
            return self._cases
        settled = {
            lane: replace(each, results=tuple(replace(result, unsettled="") for result in each.results))
            for lane, each in lanes.items()
        }
        worked = replace(self.worked, lanes=settled)
        return self._cases_of(worked, decide(worked, Naming(worked, self.machine), self.book, self.machine))

    def _cases_of(self, worked: Worked, decided: Decided) -> tuple[Case, ...]:
        suspects = suspects_in(self.machine, near_the_old(self.machine, self.worked.base))
        return tuple(
            cases(
                self.machine,
                worked,
                decided.changes,
                decided.by_hand,
                decided.left,
                suspects,
                decided.stored,
            )
        )

    @cached_property
    def results(self) -> Mapping[str, Result]:
        """What is set in a file or by hand, by rule; of a rule that several lanes have, the first one's. What machine
        or feeder set themselves is theirs alone: what comes of it for a filament would hide that theirs is missing."""
        found: dict[str, Result] = {}
        own = {each.quantity for each in self.machine.readings if each.holder.profile is None}
        for lane, outcome in self.worked.lanes.items():
            for result in outcome.results:
                hides = lane.profile is not None and result.target in own
                if (result.target or result.hand) and not hides:
                    found.setdefault(result.rule, result)
        return found

    @cached_property
    def unknown(self) -> frozenset[str]:
        return frozenset(light.name for light in self.lights if light.state == UNKNOWN)


class Workings(Struct, dict=True):
    """A book and a machine on which answers are tried. What was worked out once is not worked out again."""

    book: Book
    machine: Machine
    tables: Mapping[str, NamedValue]
    kept: Kept = field(default_factory=Kept)
    seen: dict[object, frozenset[str]] = field(default_factory=dict)

    def stand(self, sheet: Sheet) -> Standpoint:
        """What comes of a sheet. Raises BadInput where a formula has no value for its numbers."""
        worked = work_out_lanes(self.book, self.machine, sheet, self.tables, kept=self.kept)
        return Standpoint(worked, self.book, self.machine, self.seen)

    def unlock(
        self, sheet: Sheet, fields: Sequence[str], now: Standpoint | None = None
    ) -> tuple[Unlock, ...]:
        """What each of these fields brings where all of them are answered; nothing where they bring nothing."""
        if self._looked_at.isdisjoint(fields):
            return ()
        now = now or self.stand(sheet)
        brought = [
            found
            for answers in _answers(fields)
            if (then := self.tried(sheet, answers)) is not None
            and (found := difference(now, then, fields)).anything
        ]
        if not brought:
            return ()
        whole = _joined(brought)
        return tuple(
            replace(whole, field=each, beside=tuple(name for name in fields if name != each))
            for each in fields
        )

    @cached_property
    def _looked_at(self) -> frozenset[str]:
        """The fields at which a rule or a light looks."""
        used = (sheet_field(name) for rule in self.book.rules for name in rule.uses)
        return frozenset(name for name in used if name is not None) | _fields_of_lights()

    def tried(self, sheet: Sheet, answers: Mapping[str, SheetEntry]) -> Standpoint | None:
        """What comes of the sheet with these answers; None where they contradict what it says."""
        try:
            return self.stand(with_answers(sheet, answers))
        except BadInput:
            return None


def _answers(fields: Sequence[str]) -> Iterator[dict[str, SheetEntry]]:
    """What these fields are tried with: one field with each of its answers, several with the usual ones, and once more
    with nothing shifted."""
    known = sheet_schema().fields
    if len(fields) == 1:
        yield from ({fields[0]: entry} for entry in usual_answers(known[fields[0]]))
        return
    yield {name: usual_answers(known[name])[0] for name in fields}
    if any(is_shift(known[name]) for name in fields):
        yield {name: usual_answers(known[name])[-1 if is_shift(known[name]) else 0] for name in fields}


@lru_cache(maxsize=1)
def _fields_of_lights() -> frozenset[str]:
    kinds = light_kinds().kinds
    lists = (names for kind in kinds for value in kind.values for names in (*value.settle, *value.same))
    return frozenset(name for names in lists for name in names)


@lru_cache(maxsize=1)
def _rules_of_lights() -> frozenset[str]:
    """The rules whose items settle a light or stop it."""
    kinds = light_kinds().kinds
    return frozenset(
        name for kind in kinds for name in (*kind.rules, *kind.stops, *kind.instead, *kind.contradict)
    )


def _looked_at_by_lights(worked: Worked) -> object:
    """All of an outcome at which the lights look: the results and silences of their rules and values, each the very object
    that the bench keeps, with their values' ages and what the sheet says of their fields."""
    own = _rules_of_lights()

    def of(lane: Lane, outcome: Outcome) -> tuple[object, ...]:
        said = worked.sheets[lane].entries
        return (
            lane,
            *(id(each) for each in outcome.results if each.rule in own or each.target in VALUES_OF_LIGHTS),
            *(id(each) for each in outcome.shared if each.rule in own or each.target in VALUES_OF_LIGHTS),
            *(id(each) for each in outcome.silent if each.rule in own or each.quantity in VALUES_OF_LIGHTS),
            *((name, told.age) for name, told in outcome.ages.items() if name in VALUES_OF_LIGHTS),
            *((name, said[name].text) for name in _fields_of_lights() if name in said),
        )

    return tuple(part for lane, outcome in worked.lanes.items() for part in of(lane, outcome))


def difference(now: Standpoint, then: Standpoint, fields: Collection[str]) -> Unlock:
    """What is more in one stand than in the other, for an answer to these fields. Lights are worked out only where they
    may differ."""
    before, after = now.results, then.results
    same = before.keys() == after.keys() and all(before[rule] is after[rule] for rule in before)
    settled: Collection[str] = ()
    unsettled: Collection[str] = ()
    if not (same and _fields_of_lights().isdisjoint(fields)):
        settled, unsettled = (
            sorted(now.unanswered - then.unanswered),
            sorted(then.unanswered - now.unanswered),
        )
    both = [rule for rule in before if rule in after and before[rule] is not after[rule]]
    shrunk = [
        (rule, _relative(after[rule]) / _relative(before[rule])) for rule in both if _relative(before[rule])
    ]
    return Unlock(
        "",
        values=tuple(rule for rule in after if rule not in before),
        lights=tuple(settled),
        narrows=tuple((rule, part) for rule, part in shrunk if part < NARROWER),
        firmer=tuple(
            rule
            for rule in both
            if (
                before[rule].status is Status.ESTIMATE
                and after[rule].status in (Status.COMPUTED, Status.MEASURED)
            )
            or _by_the_maker(before[rule], after[rule], fields)
        ),
        unsettles=tuple(unsettled),
    )


def _by_the_maker(before: Result, after: Result, fields: Collection[str]) -> bool:
    """Whether a figure of the maker's, among these fields, takes the place of one that is worked out, and is another."""
    used = {
        each.name for each in after.derivation.inputs if each.name in fields and _OF_THE_MAKER in each.name
    }
    return bool(used) and before.value != after.value


def _relative(result: Result) -> float:
    return abs(result.uncertainty / result.value) if result.value else 0.0


def _joined(brought: Sequence[Unlock]) -> Unlock:
    """What at least one of several answers brings."""
    parts: dict[str, float] = {}
    for each in brought:
        for rule, part in each.narrows:
            parts[rule] = min(part, parts.get(rule, part))
    return Unlock(
        "",
        tuple(dict.fromkeys(value for each in brought for value in each.values)),
        tuple(dict.fromkeys(light for each in brought for light in each.lights)),
        tuple(parts.items()),
        tuple(dict.fromkeys(rule for each in brought for rule in each.firmer)),
        unsettles=tuple(dict.fromkeys(light for each in brought for light in each.unsettles)),
    )
