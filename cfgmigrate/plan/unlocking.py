"""What unlocks what: which field of a sheet, were it answered, would give which values and settle which lights.

A field is tried by answering it: with its usual value, or with each of its words where it takes words. What then
comes of the sheet is compared with what comes of it now. Where nothing comes of one field alone, the fields that the
lights ask for together, and those that a way to a value lacks, are tried together. So nothing here knows a rule: it
only asks the book, and asks it no more than is needed (`Kept`: a trial works out those rules alone for which
something is different).

`wanted` puts the open questions in their order: first what settles a light, in the fewest questions; then what gives
a value; then what makes one surer. What the numbers of an answer will be is not known before it is given, so what is
promised is that a value comes, never which one.

This module asks nobody and reads no file.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache

from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.knowledge.lights import Wanted, light_kinds
from cfgmigrate.machine.model import Machine
from cfgmigrate.plan.cases import cases
from cfgmigrate.plan.deciding import Naming, decide
from cfgmigrate.plan.lights import UNKNOWN, lights
from cfgmigrate.plan.model import Light
from cfgmigrate.plan.not_understood import near_the_old, suspects_in
from cfgmigrate.rules.book import Book
from cfgmigrate.rules.engine import Kept
from cfgmigrate.rules.lanes import Worked, work_out_lanes
from cfgmigrate.rules.result import Result, Status
from cfgmigrate.rules.scope import NamedValue
from cfgmigrate.sheet.fields import read_value
from cfgmigrate.sheet.model import Sheet, SheetEntry
from cfgmigrate.sheet.schema import Field, sheet_schema

#: a ± that stays above this part of itself is not called narrower
NARROWER = 0.9
#: no more fields than this are tried together
MOST_TOGETHER = 4
#: what counts for more, in the order of the questions
_OF_A_LIGHT, _OF_A_VALUE, _OF_SURENESS = 100.0, 10.0, 1.0


@dataclass(frozen=True, slots=True)
class Unlock:
    """What an answer to one field would bring.

    `values` are the rules that would have a result, `lights` the names of lights that would no longer be unknown,
    `narrows` the rules whose relative uncertainty would shrink, each to which part of itself, and `firmer` those that
    would be more than an estimate. `beside` are the fields that have to be answered too, () where this one is enough."""

    field: str
    values: tuple[str, ...] = ()
    lights: tuple[str, ...] = ()
    narrows: tuple[tuple[str, float], ...] = ()
    firmer: tuple[str, ...] = ()
    beside: tuple[str, ...] = ()

    @property
    def anything(self) -> bool:
        return bool(self.values or self.lights or self.narrows or self.firmer)


@dataclass(frozen=True)
class Standpoint:
    """What comes of one sheet: the lanes' results, and the lights."""

    worked: Worked
    book: Book
    machine: Machine

    @cached_property
    def lights(self) -> tuple[Light, ...]:
        decided = decide(self.worked, Naming(self.worked, self.machine), self.book, self.machine)
        suspects = suspects_in(near_the_old(self.machine, self.worked.base))
        told = cases(self.machine, self.worked, decided.changes, decided.by_hand, decided.left, suspects)
        return lights(told)

    @cached_property
    def results(self) -> Mapping[str, Result]:
        """What is set in a file or by hand, by rule; of a rule that several lanes have, the first one's."""
        found: dict[str, Result] = {}
        for outcome in self.worked.lanes.values():
            for result in outcome.results:
                if result.target or result.hand:
                    found.setdefault(result.rule, result)
        return found

    @cached_property
    def unknown(self) -> frozenset[str]:
        return frozenset(light.name for light in self.lights if light.state == UNKNOWN)


@dataclass
class Workings:
    """A book and a machine on which answers are tried. What was worked out once is not worked out again."""

    book: Book
    machine: Machine
    tables: Mapping[str, NamedValue]
    kept: Kept = field(default_factory=Kept)

    def stand(self, sheet: Sheet) -> Standpoint:
        """What comes of a sheet. Raises BadInput where a formula has no value for its numbers."""
        worked = work_out_lanes(self.book, self.machine, sheet, self.tables, kept=self.kept)
        return Standpoint(worked, self.book, self.machine)

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
            if (then := self._tried(sheet, answers)) is not None
            and (found := _difference(now, then, fields)).anything
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

    def _tried(self, sheet: Sheet, answers: Mapping[str, SheetEntry]) -> Standpoint | None:
        """What comes of the sheet with these answers; None where they contradict what it says."""
        try:
            return self.stand(with_answers(sheet, answers))
        except BadInput:
            return None

    def singles(self, sheet: Sheet, declined: Collection[str] = ()) -> tuple[Unlock, ...]:
        """What each open field would bring by itself, in the order of the sheet; without those that bring nothing."""
        now = self.stand(sheet)
        found = (self.unlock(sheet, (name,), now) for name in open_fields(sheet, self.machine, declined))
        return tuple(unlock for several in found for unlock in several)

    def wanted(self, sheet: Sheet, declined: Collection[str] = ()) -> tuple[Unlock, ...]:
        """The open questions in the order in which to ask them: those that settle a light while there are any, then
        all others. `declined` are fields that nobody can answer."""
        now = self.stand(sheet)
        there = open_fields(sheet, self.machine, declined)
        lacks = _lacking_ways(self.book, now, there)
        settling = self._best(sheet, _of_lights(now, sheet, there, lacks, self.book), now)
        if any(unlock.lights for unlock in settling):
            return tuple(unlock for unlock in settling if unlock.lights)
        wanted = {rule.name for rule in self.book.rules if rule.sets or rule.by_hand}
        together = [names for rule, names in lacks.items() if rule in wanted and len(names) > 1]
        return self._best(sheet, [*((name,) for name in there), *together], now)

    def needed(self, sheet: Sheet) -> tuple[str, ...]:
        """The open fields without which something would be lost in a swap of which all else that is usually asked for
        is said; and those that the lights ask for. In the order of the sheet."""
        known = sheet_schema().fields
        there = open_fields(sheet, self.machine)
        usual = {name: usual_answers(known[name])[0] for name in there if known[name].ask}
        whole = self.stand(with_answers(sheet, usual))
        found = set()
        for name in usual:
            without = {path: entry for path, entry in usual.items() if path != name}
            now = self._tried(sheet, without)
            if now is None or _difference(now, whole, (name,)).anything:
                found.add(name)
        asked = {ask.field for ask in light_kinds().asks}
        return tuple(name for name in there if name in found | asked)

    def lost(self, sheet: Sheet, fields: Collection[str]) -> tuple[Unlock, ...]:
        """What each of these open fields would bring once all others that are usually asked for are answered: what is
        lost where it can't be measured any more. The most comes first."""
        known = sheet_schema().fields
        usual = {
            name: usual_answers(known[name])[0]
            for name in open_fields(sheet, self.machine)
            if known[name].ask
        }
        found: list[Unlock] = []
        for name in fields:
            without = {path: entry for path, entry in usual.items() if path != name}
            now = self._tried(sheet, without)
            found += self.unlock(with_answers(sheet, without), (name,), now) if now is not None else ()
        return _in_order(found)

    def _best(self, sheet: Sheet, sets: Iterable[tuple[str, ...]], now: Standpoint) -> tuple[Unlock, ...]:
        """For each field, what it brings in the best of these sets."""
        found: dict[str, Unlock] = {}
        for names in dict.fromkeys(sets):
            for unlock in self.unlock(sheet, names, now):
                if unlock.field not in found or _weight(unlock) > _weight(found[unlock.field]):
                    found[unlock.field] = unlock
        return _in_order(found.values())


def with_answers(sheet: Sheet, answers: Mapping[str, SheetEntry]) -> Sheet:
    """The sheet with these answers, those of the first swapped feeder where it tells of several."""
    if sheet.plain:
        return replace(sheet, entries={**sheet.entries, **answers})
    each, first = sheet_schema().each, sheet.swapped[0]
    own = {path: entry for path, entry in answers.items() if path.partition(".")[0] in each}
    feeders = {**sheet.feeders, first: {**sheet.feeders[first], **own}}
    rest = {path: entry for path, entry in answers.items() if path not in own}
    return replace(sheet, entries={**sheet.entries, **rest}, feeders=feeders)


def said_in(sheet: Sheet) -> Mapping[str, SheetEntry]:
    """All that the sheet says of its first swapped feeder."""
    return sheet.lane(sheet.swapped[0]).entries if sheet.swapped else sheet.entries


def open_fields(sheet: Sheet, machine: Machine, declined: Collection[str] = ()) -> tuple[str, ...]:
    """The fields that are not answered, and not declined. What says which feeder is meant, or how old the files are,
    is no question of the bench; nor is what the files say."""
    said = said_in(sheet)
    return tuple(
        each.path
        for each in sheet_schema().fields.values()
        if each.path not in said
        and each.path not in declined
        and not each.several
        and each.kind != "text"
        and each.path != "values"
        and not (each.reads and machine.usual.get(each.reads) is not None)
    )


def usual_answers(each: Field) -> tuple[SheetEntry, ...]:
    """What a field is tried with: its example; where it takes a few words, the example first and then the others."""
    texts = [each.example]
    if each.kind in ("word", "truth"):
        texts += [choice for choice in each.choices if choice != each.example]
    return tuple(read_value(each, text, Place("tried")) for text in texts)


def _answers(fields: Sequence[str]) -> Iterator[dict[str, SheetEntry]]:
    """What these fields are tried with: one field with each of its answers, several with the usual ones."""
    known = sheet_schema().fields
    if len(fields) == 1:
        yield from ({fields[0]: entry} for entry in usual_answers(known[fields[0]]))
    else:
        yield {name: usual_answers(known[name])[0] for name in fields}


def _in_order(found: Iterable[Unlock]) -> tuple[Unlock, ...]:
    order = {name: at for at, name in enumerate(sheet_schema().fields)}
    return tuple(sorted(found, key=lambda each: (-_weight(each), order[each.field])))


@lru_cache(maxsize=1)
def _fields_of_lights() -> frozenset[str]:
    kinds = light_kinds().kinds
    lists = (names for kind in kinds for value in kind.values for names in (*value.settle, *value.same))
    return frozenset(name for names in lists for name in names)


def _difference(now: Standpoint, then: Standpoint, fields: Collection[str]) -> Unlock:
    """What is more in one stand than in the other, for an answer to these fields. Lights are worked out only where they
    may differ."""
    before, after = now.results, then.results
    same = before.keys() == after.keys() and all(before[rule] is after[rule] for rule in before)
    settled: Collection[str] = ()
    if not (same and _fields_of_lights().isdisjoint(fields)) and now.unknown:
        settled = sorted(now.unknown - then.unknown)
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
            if before[rule].status is Status.ESTIMATE
            and after[rule].status in (Status.COMPUTED, Status.MEASURED)
        ),
    )


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
    )


def _weight(unlock: Unlock) -> float:
    """How much a question is worth: what it brings, less the more has to be answered beside it."""
    brings = _OF_A_LIGHT * len(unlock.lights) + _OF_A_VALUE * bool(unlock.values) + len(unlock.values) / 10
    sureness = sum(1 - part for _, part in unlock.narrows) + len(unlock.firmer)
    return (brings + _OF_SURENESS * min(sureness, 5.0)) / (1 + len(unlock.beside))


def _of_lights(
    now: Standpoint, sheet: Sheet, there: Collection[str], lacks: Mapping[str, tuple[str, ...]], book: Book
) -> Iterator[tuple[str, ...]]:
    """For each unknown light, what its values ask for, one by one and all together; and what the rules of these values
    lack besides."""
    makers = {rule.sets: rule.name for rule in book.rules if rule.sets}
    said = said_in(sheet)
    kinds = {kind.name: kind for kind in light_kinds().kinds}
    for name in dict.fromkeys(light.light for light in now.lights if light.state == UNKNOWN):
        if name not in kinds:
            continue
        for stop in kinds[name].stops.values():
            yield from ((each,) for each in stop if each in there)
        values = kinds[name].values
        for names in _together(values, said, there):
            yield names
            for value in values:
                more = tuple(dict.fromkeys((*names, *lacks.get(makers.get(value.quantity, ""), ()))))
                if len(names) < len(more) <= MOST_TOGETHER:
                    yield more
        for value in values:
            if besides := lacks.get(makers.get(value.quantity, "")):
                yield besides


def _together(
    values: Sequence[Wanted], said: Collection[str], there: Collection[str]
) -> Iterator[tuple[str, ...]]:
    """The smallest sets of open fields that answer every value of a light, and those that answer one of them."""
    for value in values:
        yield from _lacking((*value.same, *value.settle), said, there)
    wholes: list[tuple[str, ...]] = [()]
    for value in values:
        options = list(_lacking((*value.same, *value.settle), said, there))
        if not options:
            continue
        joined = (tuple(dict.fromkeys((*whole, *names))) for whole in wholes for names in options)
        wholes = sorted(set(joined), key=len)[:MOST_TOGETHER]
    yield from (whole for whole in wholes if 1 < len(whole) <= MOST_TOGETHER)


def _lacking(
    lists: Iterable[Sequence[str]], said: Collection[str], there: Collection[str]
) -> Iterator[tuple[str, ...]]:
    for names in lists:
        lacking = tuple(name for name in names if name not in said)
        if lacking and all(name in there for name in lacking):
            yield lacking


def _lacking_ways(book: Book, now: Standpoint, there: Collection[str]) -> dict[str, tuple[str, ...]]:
    """For each rule without a result, the open fields that one of its ways lacks, through the rules in between."""
    silent = {each.rule for outcome in now.worked.lanes.values() for each in outcome.silent}
    made = {rule.sets: rule.name for rule in book.rules if rule.sets}
    lacks: dict[str, tuple[str, ...]] = {}
    for rule in book.rules:
        if rule.name not in silent:
            continue
        options = []
        for way in rule.ways:
            needs = [need for need in way.needs if not now_gives(need, now, silent, made)]
            parts = [_fields_behind(need, there, lacks, made) for need in needs]
            if way.check_only or any(part is None for part in parts) or not parts:
                continue
            names = tuple(dict.fromkeys(name for part in parts if part is not None for name in part))
            if 0 < len(names) <= MOST_TOGETHER:
                options.append(names)
        if options:
            lacks[rule.name] = min(options, key=len)
    return lacks


def now_gives(need: str, now: Standpoint, silent: Collection[str], made: Mapping[str, str]) -> bool:
    """Whether a way's input stands already: another rule's result, or a name that is no field's."""
    rule = made.get(need.removeprefix("will."), need)
    if now.worked.base.result(rule) is not None:
        return True
    if rule in silent:
        return False
    first = next(iter(now.worked.sheets.values()))
    return sheet_field(need) is None or sheet_field(need) in first.entries


def _fields_behind(
    need: str, there: Collection[str], lacks: Mapping[str, tuple[str, ...]], made: Mapping[str, str]
) -> tuple[str, ...] | None:
    found = sheet_field(need)
    if found is not None:
        return (found,) if found in there else None
    return lacks.get(made.get(need.removeprefix("will."), need))


def sheet_field(need: str) -> str | None:
    """The field that a name is, or whose table row it is a column of."""
    known = sheet_schema().fields
    parts = need.split(".")
    names = (".".join(parts[:count]) for count in range(len(parts), 0, -1))
    return next((name for name in names if name in known), None)
