"""In which order the open fields of a sheet are best asked for.

First comes what settles a light, in the fewest questions; then what gives a value; then what makes one surer. Where
nothing comes of one field alone, the fields that the lights ask for together, and those that a way to a value lacks,
are tried together. What an answer brings is found by trying it (`unlocking.py`).

This module asks nobody.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence

from cfgmigrate.knowledge.lights import Wanted, light_kinds
from cfgmigrate.plan.lights import UNKNOWN
from cfgmigrate.plan.open_fields import open_fields, said_in, sheet_field, usual_answers, with_answers
from cfgmigrate.plan.unlocking import Standpoint, Unlock, Workings, difference
from cfgmigrate.rules.book import Book
from cfgmigrate.sheet.model import Sheet
from cfgmigrate.sheet.schema import sheet_schema

#: no more fields than this are tried together
MOST_TOGETHER = 4
#: what counts for more, in the order of the questions
_OF_A_LIGHT, _OF_A_VALUE, _OF_SURENESS = 100.0, 10.0, 1.0


def ordered_questions(bench: Workings, sheet: Sheet, declined: Collection[str] = ()) -> tuple[Unlock, ...]:
    """The open questions in the order in which to ask them: those that settle a light while there are any, then
    all others. `declined` are fields that nobody can answer."""
    now = bench.stand(sheet)
    there = open_fields(sheet, bench.machine, declined)
    lacks = _lacking_ways(bench.book, now, there)
    settling = _best(bench, sheet, _of_lights(now, sheet, there, lacks, bench.book), now)
    if any(unlock.lights for unlock in settling):
        return tuple(unlock for unlock in settling if unlock.lights)
    wanted = {rule.name for rule in bench.book.rules if rule.sets or rule.by_hand}
    together = [names for rule, names in lacks.items() if rule in wanted and len(names) > 1]
    return _best(bench, sheet, [*((name,) for name in there), *together], now)


def needed_fields(bench: Workings, sheet: Sheet) -> tuple[str, ...]:
    """The open fields without which something would be lost in a swap of which all else that is usually asked for
    is said; and those that the lights ask for. In the order of the sheet."""
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
    return tuple(name for name in there if name in found | asked)


def what_is_lost(bench: Workings, sheet: Sheet, fields: Collection[str]) -> tuple[Unlock, ...]:
    """What each of these open fields would bring once all others that are usually asked for are answered: what is
    lost where it can't be measured any more. The most comes first."""
    known = sheet_schema().fields
    usual = {
        name: usual_answers(known[name])[0] for name in open_fields(sheet, bench.machine) if known[name].ask
    }
    found: list[Unlock] = []
    for name in fields:
        without = {path: entry for path, entry in usual.items() if path != name}
        now = bench.tried(sheet, without)
        found += bench.unlock(with_answers(sheet, without), (name,), now) if now is not None else ()
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
