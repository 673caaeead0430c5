"""Whether the files describe the old drive or the new one already, so that nothing is scaled twice.

A value that is scaled from the files' own old one (5 mm of retraction become 0.3 mm) must not be scaled
once more when the tool is run again on its own result. The files tell: where they hold already what
follows from the sheet alone, or at least half of it, they describe the new drive. Where they hold some
of it and not all, or where the sheet has nothing by which to tell, that is a doubt.

This module only judges a finished pass through the book; the engine draws the consequence.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.machine.model import Machine, Reading
from cfgmigrate.rules.book import Book
from cfgmigrate.rules.formula import FormulaError, evaluate, nominal
from cfgmigrate.rules.result import Result
from cfgmigrate.rules.rule import Rule, Way
from cfgmigrate.rules.scope import Scope
from cfgmigrate.sheet.model import Sheet

#: two values this close mean the same (relative)
SAME = 5e-4

Moving = frozenset[tuple[str, str]]
"""Ways that would move a value again, each by its rule's and its own name."""


def moving_ways(book: Book, scope: Scope) -> Moving:
    """The ways that rest on the files' own value and would move it once more on their own result.

    `scope` is that of a finished pass: what else the files hold is taken as that pass leaves it."""
    return frozenset(
        (rule.name, way.name)
        for rule in book.rules
        if rule.sets
        for way in rule.ways
        if f"was.{rule.sets}" in way.needs and _moves_again(rule, way, scope)
    )


def _moves_again(rule: Rule, way: Way, scope: Scope) -> bool:
    before = scope.bases(way.needs)
    if way.formula is None or any(name not in before for name in way.needs):
        return False
    try:
        once = evaluate(way.formula, before)
        after = {name: _left_as(name, value, scope) for name, value in before.items()}
        twice = evaluate(way.formula, {**after, f"was.{rule.sets}": once})
    except FormulaError:
        return False
    return abs(nominal(twice) - nominal(once)) > SAME * abs(nominal(once))


def _left_as(name: str, value: Any, scope: Scope) -> Any:
    """What a name will stand for once the results are written."""
    if not name.startswith("was."):
        return value
    becomes = scope.given(f"will.{name.removeprefix('was.')}")
    return value if becomes is None or becomes.base is None else becomes.base


def evidence(
    book: Book, results: Sequence[Result], machine: Machine
) -> tuple[tuple[Reading, ...], tuple[Reading, ...]]:
    """The readings that hold a value of the new drive already, and those that don't.

    Only values that rest on nothing that the files are to change can tell. A value is written no more
    finely than a third of its uncertainty asks for. That a whole number such as the steps of a turn, or
    a zero, stands there already says nothing: most swaps leave it as it was."""
    ways: dict[str, Way] = {}
    for result in results:
        rule = book.rule(result.rule)
        assert rule is not None
        ways[rule.name] = ways[rule.sets or rule.name] = next(
            way for way in rule.ways if way.name == result.way
        )
    written = {f"was.{result.target}" for result in results if result.target}
    there, lacking = [], []
    for result in results:
        reading = machine.get(result.target) if result.target else None
        if reading is None or reading.value is None or result.value is None:
            continue
        if not written.isdisjoint(_leaves(result.rule, ways)):
            continue
        if abs(result.value - reading.value) > max(SAME * abs(reading.value), result.uncertainty / 3):
            lacking.append(reading)
        elif result.value and not (result.unit == "" and result.value.is_integer()):
            there.append(reading)
    return tuple(there), tuple(lacking)


def _leaves(name: str, ways: Mapping[str, Way]) -> frozenset[str]:
    """What a result rests on in the end, through all the rules in between."""
    way = ways.get(name.removeprefix("will."))
    if way is None or name.startswith("was."):
        return frozenset({name.replace("will.", "was.", 1) if name.startswith("will.") else name})
    return frozenset().union(*(_leaves(need, ways) for need in way.needs))


def mixed(
    there: Sequence[Reading], lacking: Sequence[Reading], scaled: Sequence[str], settled: bool
) -> Doubt:
    """What to say where the files hold some of the new drive's figures and not others.

    `scaled` are the labels of what was, or was not, scaled from an old value."""
    why = (
        f"the files hold some of the new drive's figures already ({_named(there)}) and others not ({_named(lacking)});"
        f" {', '.join(scaled)} are taken to be the {'new' if settled else 'old'} drive's"
    )
    remedy = "If they are the new drive's already, hold these changes back."
    if settled:
        remedy = "If they are still the old drive's, write the old values in the sheet under 'old'."
    return Doubt(there[0].place, there[0].setting.name, why, remedy)


def untold(scaled: Sequence[str], sheet: Sheet) -> Doubt:
    """What to say where nothing tells whether the files are the old machine's, and values are moved from them."""
    why = (
        f"{', '.join(scaled)} are worked out from what the files hold, and nothing else in the sheet tells"
        " whether that is still the old machine's; carried out a second time, they would move a second time"
    )
    remedy = "Make sure that the files are as they were before the swap, and carry this sheet out once only."
    place = next((entry.place for entry in sheet.entries.values()), Place(sheet.path))
    return Doubt(place, "carried out once only", why, remedy)


def _named(readings: Sequence[Reading]) -> str:
    return ", ".join(reading.quantity for reading in readings)
