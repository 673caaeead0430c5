"""Which readings can tell the old drive's files from the new one's, as far as the book can say.

A value that the new drive asks for, and that stands there already, speaks for files that were migrated by hand. It says
nothing where the old drive asks for the same: the usual retraction of flexible filament is one number for both, and
stands there before and after. So the book is worked out once more for the swap the other way round.

What the evidence means for another reading is told in `age.py`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from msgspec.structs import replace

from cfgmigrate.machine.model import View
from cfgmigrate.rules.age import SAME, Evidence
from cfgmigrate.rules.book import Book
from cfgmigrate.rules.engine import Run
from cfgmigrate.rules.result import Result
from cfgmigrate.rules.rule import Way
from cfgmigrate.sheet.model import Sheet, SheetEntry

_OTHER = {"old": "new", "new": "old"}
#: parts of a sheet that tell what the swap moves
_MOVED = frozenset(("carriage", "clearance"))


_OF_A_PROBE = "probe.offset_"


def evidence(book: Book, run: Run, view: View) -> Iterator[Evidence]:
    """The readings that can tell the old drive from the new one.

    Only values that rest on nothing that the files are to change can tell. A value is written no more
    finely than a third of its uncertainty asks for. That a whole number such as the steps of a turn, or
    a zero, stands there already says nothing: most swaps leave it as it was. Nor does a probe's place along one axis: a new
    bracket often moves it along the other."""
    ways: dict[str, Way] = {}
    for result in run.results:
        rule = book.rule(result.rule)
        assert rule is not None
        ways[rule.name] = ways[rule.sets or rule.name] = next(
            way for way in rule.ways if way.name == result.way
        )
    written = {f"was.{result.target}" for result in run.results if result.target}
    for result in run.results:
        reading = view.get(result.target) if result.target else None
        if reading is None or reading.value is None or result.value is None:
            continue
        if reading.holder.profile != view.profile or not written.isdisjoint(_leaves(result.rule, ways)):
            continue
        if not _stands(result, reading.value):
            yield Evidence(reading, there=False)
        elif (
            result.value
            and not (result.unit == "" and result.value.is_integer())
            and not reading.quantity.startswith(_OF_A_PROBE)
        ):
            yield Evidence(reading, there=True)


def swapped_back(sheet: Sheet) -> Sheet:
    """The swap the other way round: the old drive goes on again. What is not said of it is not taken from the new one,
    and what moved on the carriage is left out."""
    told: dict[str, SheetEntry] = {}
    for name, entry in sheet.entries.items():
        side, dot, rest = name.partition(".")
        if side not in _MOVED:
            told[f"{_OTHER.get(side, side)}{dot}{rest}"] = entry
    return replace(sheet, entries=told)


def asked_of_both(each: Evidence, of_the_old: Iterable[Run]) -> bool:
    """Whether the old drive asks for the value that stands there as well as the new one, so that it says nothing."""
    reading = each.reading
    if not each.there or reading.value is None:
        return False
    return any(
        result.target == reading.quantity
        and run.scope.machine.get(result.target) is reading
        and result.value is not None
        and _stands(result, reading.value)
        for run in of_the_old
        for result in run.results
    )


def _stands(result: Result, value: float) -> bool:
    assert result.value is not None
    return abs(result.value - value) <= max(SAME * abs(value), result.uncertainty / 3)


def _leaves(name: str, ways: Mapping[str, Way]) -> frozenset[str]:
    """What a result rests on in the end, through all the rules in between."""
    way = ways.get(name.removeprefix("will."))
    if way is None or name.startswith("was."):
        return frozenset({name.replace("will.", "was.", 1) if name.startswith("will.") else name})
    return frozenset().union(*(_leaves(need, ways) for need in way.needs))
