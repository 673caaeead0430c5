"""What follows from measurements made after the swap, and nothing else.

The measured sheet stands alone or follows a swap sheet, of which only what is on the machine now counts: what
came off (`old.…`) is past. The rules are those of `tuning/` with the book's findings (`tuning/README.md`). Of
their results those are kept that follow from something measured, with what these rest on; so a packet of
measurements never carries a swap out again.

This module knows no quantity and reads no file.
"""

from __future__ import annotations

from collections.abc import Mapping

from msgspec.structs import replace

from cfgmigrate.machine.model import FlatMachine, Machine
from cfgmigrate.rules.book import Book
from cfgmigrate.rules.engine import Outcome, work_out_once
from cfgmigrate.rules.lanes import Worked
from cfgmigrate.rules.passes import Lane, Work
from cfgmigrate.rules.result import Result
from cfgmigrate.rules.scope import NamedValue, Scope
from cfgmigrate.sheet.model import Sheet

MEASURED = "measured."
PAST = "old."


def joined(measured: Sheet, swap: Sheet | None) -> Sheet:
    """A measured sheet with what the swap sheet says of the machine as it is now."""
    said = {**(swap.entries if swap is not None else {}), **measured.entries}
    return replace(
        measured, entries={path: entry for path, entry in said.items() if not path.startswith(PAST)}
    )


def work_out_tuning(
    book: Book, machine: Machine, sheets: Mapping[Lane, Sheet], tables: Mapping[str, NamedValue]
) -> Worked:
    """What follows from the measured fields in each lane; `sheets` holds each one's joined sheet, all of one feeder.
    Raises BadInput as the engine does."""
    views = {lane: machine.view(lane.feeder, lane.profile) for lane in sheets}
    runs = Work(book, tables, views, sheets).passes({})
    return Worked(
        {lane: _measured(run.outcome()) for lane, run in runs.items()},
        sheets,
        (next(iter(sheets)).feeder,),
    )


def _measured(outcome: Outcome) -> Outcome:
    """What of an outcome follows from measured fields."""
    kept = following(outcome.results)
    labels = {result.label for result in kept}
    return replace(
        outcome,
        results=kept,
        silent=tuple(silent for silent in outcome.silent if silent.quantity),
        doubts=tuple(doubt for doubt in outcome.doubts if doubt.text in labels),
    )


def state_of(
    book: Book, machine: FlatMachine, sheet: Sheet, tables: Mapping[str, NamedValue]
) -> tuple[Outcome, Scope]:
    """Everything the book says of the machine as it is, measured or not, and what it could see."""
    return work_out_once(book, machine, sheet, tables)


def following(results: tuple[Result, ...]) -> tuple[Result, ...]:
    """The results that follow from a measured field, and those that they rest on; in their order."""
    by_rule = {result.rule: result for result in results}
    follow: set[str] = set()
    for result in results:  # in the order of the book a result stands behind what it rests on
        measured = any(given.name.startswith(MEASURED) for given in result.derivation.inputs)
        if measured or not follow.isdisjoint(result.depends):
            follow.add(result.rule)
    wanted, open_ends = set(follow), list(follow)
    while open_ends:
        for behind in by_rule[open_ends.pop()].depends:
            if behind in by_rule and behind not in wanted:
                wanted.add(behind)
                open_ends.append(behind)
    return tuple(result for result in results if result.rule in wanted)
