"""In which order the open fields of a sheet are best asked for.

First comes what settles a light: of the ways to that the one that a person can usually answer, and of these the one with
the fewest questions; then what gives a value; then what makes one surer. Where nothing comes of one field alone, the fields that the lights ask for together, and those that a way to a value lacks,
are tried together. What an answer brings is found by trying it (`unlocking.py`).

This module asks nobody.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence

from msgspec.structs import replace

from cfgmigrate.knowledge.lights import Wanted, light_kinds
from cfgmigrate.plan.open_fields import (
    askable_fields,
    is_shift,
    open_fields,
    said_in,
    sheet_field,
    usual_answers,
    with_answers,
)
from cfgmigrate.plan.unlocking import Standpoint, Unlock, Workings, difference
from cfgmigrate.rules.book import Book
from cfgmigrate.rules.formula import IsKnown, Opposite
from cfgmigrate.sheet.model import Sheet
from cfgmigrate.sheet.schema import MOUNTED, sheet_schema

#: no more fields than this are tried together
MOST_TOGETHER = 4
#: the tip's shift is asked in one breath with its others; the probe's in x and y is better said as its offset
NOZZLE_SHIFT = "carriage.nozzle_shift.z"
#: what counts for more, in the order of the questions
_OF_A_LIGHT, _OF_A_VALUE, _OF_SURENESS = 100.0, 10.0, 1.0


def ordered_questions(bench: Workings, sheet: Sheet, declined: Collection[str] = ()) -> tuple[Unlock, ...]:
    """The open questions: those that settle a light while there are any, light by light; then those by which a light
    may prove not to be settled; then all others, the worthiest first. `declined` are fields that nobody can answer."""
    now = bench.stand(sheet)
    there = askable_fields(sheet, bench.machine, declined)
    lacks = _lacking_ways(bench.book, now, there)
    settling, stopping = _settling(bench, sheet, now, there, lacks), _stopping(bench, sheet, now, there)
    if settling or stopping:
        return (*settling, *(each for each in stopping if each.field not in {one.field for one in settling}))
    wanted = {rule.name for rule in bench.book.rules if rule.sets or rule.by_hand}
    together = [names for rule, names in lacks.items() if rule in wanted and len(names) > 1]
    found = _best(bench, sheet, [*((name,) for name in there), *together], now)
    usual = (each for each in found if each.unsettles and sheet_schema().fields[each.field].ask)
    return tuple(usual) or found


def _settling(
    bench: Workings,
    sheet: Sheet,
    now: Standpoint,
    there: Collection[str],
    lacks: Mapping[str, tuple[str, ...]],
) -> tuple[Unlock, ...]:
    """For each light that is unknown, the questions that settle it: of all sets that do, the one that people can answer
    and that is smallest."""
    known, found = sheet_schema().fields, dict[str, Unlock]()

    def hard(names: Sequence[str]) -> tuple[int, int, int]:
        """How hard a set is to answer: by what few people know, by how much is asked, by how late in the day."""
        rare = sum(not known[name].ask for name in names)
        return rare, len(names), sum(sheet_schema().sitting(name) == MOUNTED for name in names)

    for light in dict.fromkeys(light.light for light in now.lights if light.name in now.unanswered):
        sets = dict.fromkeys(_of_light(light, sheet, there, lacks, bench.book))
        for names in sorted(sets, key=hard):
            brought = bench.unlock(sheet, names, now)
            if any(name.partition(" @ ")[0] == light for unlock in brought[:1] for name in unlock.lights):
                for unlock in brought:
                    found.setdefault(unlock.field, unlock)
                break
    return tuple(found.values())


def _stopping(bench: Workings, sheet: Sheet, now: Standpoint, there: Collection[str]) -> tuple[Unlock, ...]:
    """The questions that people can answer, at which the rules look by which a light is stopped, and by which one may
    prove not to be settled."""
    stops = {
        name: tuple(dict.fromkeys(field for fields in (own, *kind.stops.values()) for field in fields))
        for kind in light_kinds().kinds
        for name, own in kind.stops.items()
    }
    asked = [name for name in there if sheet_schema().fields[name].ask]
    found: dict[str, Unlock] = {}
    for stop, settling in stops.items():
        rule = bench.book.rule(stop)
        uses = {sheet_field(name) for name in rule.uses} if rule is not None else set()
        for name in (name for name in asked if name in uses):
            for each in (each for each in bench.unlock(sheet, (name,), now) if each.unsettles):
                others = (other for other in settling if other in asked and other != name)
                better = next((other for other in others if _makes_sure(bench, sheet, other, each)), name)
                found.setdefault(better, replace(each, field=better))
    for light, stop, shown_by in _stops():
        for name in shown_by if stop in now.results and light in now.unknown else ():
            # what a shift comes to is not told by trying one: the light may stay unknown with an example
            if name in there and is_shift(sheet_schema().fields[name]):
                found.setdefault(name, Unlock(name, unsettles=(light,), alone=name != NOZZLE_SHIFT))
    return tuple(found.values())


def _stops() -> Iterator[tuple[str, str, Sequence[str]]]:
    """The rules that stop a light, each with the fields that may show that it is right after all."""
    for kind in light_kinds().kinds:
        for stop, settling in kind.stops.items():
            yield kind.name, stop, settling


def _makes_sure(bench: Workings, sheet: Sheet, field: str, other: Unlock) -> bool:
    """Whether none of the lights that the other field may prove unsettled depends on it any more once this one is answered."""
    answers = {field: usual_answers(sheet_schema().fields[field])[0]}
    now = bench.tried(sheet, answers)
    if now is None:
        return False
    later = bench.unlock(with_answers(sheet, answers), (other.field,), now)
    return not any({*each.unsettles} & {*other.unsettles} for each in later)


def needed_fields(bench: Workings, sheet: Sheet) -> tuple[str, ...]:
    """The open fields without which something would be lost in a swap of which all else that is usually asked for
    is said; those that the lights ask for; those whose lack a packet would warn of; and what is asked for in one breath
    with any of them. In the order of the sheet."""
    known = sheet_schema().fields
    there = open_fields(sheet, bench.machine)
    usual = {name: usual_answers(known[name])[0] for name in there if known[name].ask}
    whole = bench.stand(with_answers(sheet, usual))
    found = set()
    for name in usual:
        without = {path: entry for path, entry in usual.items() if path != name}
        now = bench.tried(sheet, without)
        if now is None or difference(now, whole, (name,)).anything:
            found.add(name)
    asked = {ask.field for ask in light_kinds().asks}
    needed = {path for name in found | asked | {*_warned_of(bench, whole)} for path in (name, *_breath(name))}
    return tuple(name for name in there if name in needed)


def _breath(name: str) -> tuple[str, ...]:
    return tuple(sheet_schema().breath(name)[1]) if name in sheet_schema().fields else ()


def _warned_of(bench: Workings, now: Standpoint) -> Iterator[str]:
    """The fields of which a rule that gives a value here would warn that the sheet does not say them."""
    for rule in (bench.book.rule(name) for name in now.results):
        for warning in rule.warnings if rule is not None else ():
            if isinstance(warning.when, Opposite) and isinstance(warning.when.inner, IsKnown):
                yield warning.when.inner.name


def what_is_lost(bench: Workings, sheet: Sheet, fields: Collection[str]) -> tuple[Unlock, ...]:
    """What each of these open fields would bring once all others that are usually asked for are answered: what is
    lost where it can't be measured any more. The most comes first."""
    known = sheet_schema().fields
    there = {*askable_fields(sheet, bench.machine), *fields}
    usual = {name: usual_answers(known[name])[0] for name in known if name in there and known[name].ask}
    found: list[Unlock] = []
    for name in fields:
        _, breath = sheet_schema().breath(name)
        without = {path: entry for path, entry in usual.items() if path not in breath}
        now = bench.tried(sheet, without)
        names = tuple(path for path in breath if path in usual) or (name,)
        brought = bench.unlock(with_answers(sheet, without), names, now) if now is not None else ()
        found += (replace(each, beside=()) for each in brought if each.field == name)
    return _in_order(found)


def _best(
    bench: Workings, sheet: Sheet, sets: Iterable[tuple[str, ...]], now: Standpoint
) -> tuple[Unlock, ...]:
    """For each field, what it brings in the best of these sets."""
    found: dict[str, Unlock] = {}
    for names in dict.fromkeys(sets):
        for unlock in bench.unlock(sheet, names, now):
            if unlock.field not in found or _weight(unlock) > _weight(found[unlock.field]):
                found[unlock.field] = unlock
    return _in_order(found.values())


def _in_order(found: Iterable[Unlock]) -> tuple[Unlock, ...]:
    order = {name: at for at, name in enumerate(sheet_schema().fields)}
    return tuple(sorted(found, key=lambda each: (-_weight(each), order[each.field])))


def _weight(unlock: Unlock) -> float:
    """How much a question is worth: what it brings, less the more has to be answered beside it."""
    brings = _OF_A_LIGHT * len(unlock.lights) + _OF_A_VALUE * bool(unlock.values) + len(unlock.values) / 10
    sureness = sum(1 - part for _, part in unlock.narrows) + len(unlock.firmer)
    return (brings + _OF_SURENESS * min(sureness, 5.0)) / (1 + len(unlock.beside))


def _of_light(
    light: str, sheet: Sheet, there: Collection[str], lacks: Mapping[str, tuple[str, ...]], book: Book
) -> Iterator[tuple[str, ...]]:
    """What the values of a light ask for, one by one and all together; and what the rules of these values lack
    besides."""
    makers = {rule.sets: rule.name for rule in book.rules if rule.sets}
    said = said_in(sheet)
    for kind in (kind for kind in light_kinds().kinds if kind.name == light):
        for stop in kind.stops.values():
            yield from ((each,) for each in stop if each in there)
        for names in _together(kind.values, said, there):
            yield names
            for value in kind.values:
                more = tuple(dict.fromkeys((*names, *lacks.get(makers.get(value.quantity, ""), ()))))
                if len(names) < len(more) <= MOST_TOGETHER:
                    yield more
        for value in kind.values:
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
            needs = [need for need in way.needs if not _now_gives(need, now, silent, made)]
            parts = [_fields_behind(need, there, lacks, made) for need in needs]
            if way.check_only or any(part is None for part in parts) or not parts:
                continue
            names = tuple(dict.fromkeys(name for part in parts if part is not None for name in part))
            if 0 < len(names) <= MOST_TOGETHER:
                options.append(names)
        if options:
            lacks[rule.name] = min(options, key=len)
    return lacks


def _now_gives(need: str, now: Standpoint, silent: Collection[str], made: Mapping[str, str]) -> bool:
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
