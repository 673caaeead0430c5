"""The book worked out for every lane: each swapped feeder by itself, and with each profile that serves it.

What a lane is, and what it shares with others, is told in `passes.py`.

A value that is scaled from the old one is scaled once. So the lanes are worked out, each reading's age is told
(`age.py`), and where one is not the old drive's, the lanes are worked out again without the ways that would move it
once more.

What is asked of all this is put into words in `lane_doubts.py`, and what becomes of the results in the files is told in
`plan/deciding.py`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property, lru_cache

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.ground.findings import BadInput, Doubt, Place
from cfgmigrate.machine.model import FOR_FEEDER, Holder, Machine, Reading, View
from cfgmigrate.rules.age import NO_PAST, SAME, Age, Past, Told, age_of
from cfgmigrate.rules.book import Book
from cfgmigrate.rules.engine import Kept, Outcome, Run
from cfgmigrate.rules.evidence import asked_of_both, evidence
from cfgmigrate.rules.formula import FormulaError, evaluate, nominal
from cfgmigrate.rules.lane_doubts import lane_doubts
from cfgmigrate.rules.passes import Lane, Work, deciding
from cfgmigrate.rules.result import CrossCheck, Result
from cfgmigrate.rules.rule import Rule, Way
from cfgmigrate.rules.scope import NamedValue, Scope
from cfgmigrate.rules.tips import doubts_of_tips, ways_shut
from cfgmigrate.sheet.fields import read_value
from cfgmigrate.sheet.model import MATERIAL, Sheet, SheetEntry
from cfgmigrate.sheet.schema import field_of


class Worked(Struct, frozen=True, dict=True):
    """What each lane came to. `swapped` are the feeders that the sheet tells of; `sheets` the flat sheet of each lane."""

    lanes: Mapping[Lane, Outcome]
    sheets: Mapping[Lane, Sheet]
    swapped: tuple[int, ...]

    @property
    def base(self) -> Outcome:
        """The first swapped feeder's outcome without a profile."""
        return next(iter(self.lanes.values()))

    @cached_property
    def doubts(self) -> tuple[Doubt, ...]:
        return tuple(dict.fromkeys(doubt for outcome in self.lanes.values() for doubt in outcome.doubts))


def one_lane(outcome: Outcome, sheet: Sheet, lane: Lane | None = None) -> Worked:
    """What one lane alone came to."""
    lane = lane or Lane((sheet.swapped or (1,))[0])
    return Worked({lane: outcome}, {lane: sheet}, (lane.feeder,))


def work_out(book: Book, machine: Machine, sheet: Sheet, tables: Mapping[str, NamedValue]) -> Outcome:
    """What the first swapped feeder comes to without a profile, on a machine without a past."""
    return work_out_lanes(book, machine, sheet, tables).base


def work_out_lanes(
    book: Book,
    machine: Machine,
    sheet: Sheet,
    tables: Mapping[str, NamedValue],
    past: Past = NO_PAST,
    kept: Kept | None = None,
) -> Worked:
    """Every lane's results. `tables` holds constants and table rows, `past` what the history tells of the files.
    `kept` is what earlier calls for the same machine and tables came to: only what differs is then worked out.

    Raises BadInput where a formula has no value for these inputs, or the sheet tells of a feeder that there is not."""
    swapped = _swapped(machine, sheet)
    lanes = [Lane(f, profile) for f in swapped for profile in (None, *machine.profiles_serving(f))]
    sheets = {
        lane: sheet.lane(lane.feeder, lane.profile, material_of(machine, lane.profile)) for lane in lanes
    }
    views = {lane: machine.view(lane.feeder, lane.profile) for lane in lanes}
    work = Work(book, tables, views, sheets, kept)
    shut: dict[Lane, dict[tuple[str, str], Told]] = {}
    if tips := ways_shut(book, machine, sheet, swapped):
        shut = {lane: dict(tips) for lane in lanes}
    runs = work.passes(shut)
    moving = {lane: _moving(book, runs[lane]) for lane in lanes}
    ages = _ages(book, work, runs, moving, sheet, past)
    again, at_first = False, runs
    for lane in lanes:
        for rule, way in moving[lane]:
            told = ages.get(_read_by(book, rule, views[lane]))
            if told is not None and told.age is not Age.OLD:
                shut.setdefault(lane, {}).update(_ways_not_taken(book, rule, way, told))
                again = True
    if again:
        runs = work.passes(shut)
    doubts = lane_doubts(work, ages, sheet)
    doubts.setdefault(lanes[0], []).extend(doubts_of_tips(machine, sheet, swapped))
    return Worked(
        {
            lane: run.outcome(
                doubts.get(lane, ()),
                own := _by_quantity(views[lane], ages),
                _held(at_first[lane], run, own),
            )
            for lane, run in runs.items()
        },
        sheets,
        swapped,
    )


def sheet_of(machine: Machine, sheet: Sheet, holder: str) -> Sheet:
    """The flat sheet by which a holder's values are decided; `holder` by its name."""
    kind, _, name = holder.partition(FOR_FEEDER)[0].partition(" ")
    first = _swapped(machine, sheet)[0]
    if kind == "feeder":
        return sheet.lane(int(name) if name.isdigit() else first)
    profile = Holder(kind, name) if kind in ("filament", "print") else None
    number = holder.partition(FOR_FEEDER)[2]
    return sheet.lane(int(number) if number.isdecimal() else first, profile, material_of(machine, profile))


def _swapped(machine: Machine, sheet: Sheet) -> tuple[int, ...]:
    """The feeders to work out. Raises BadInput where the machine has not got one of them."""
    there = machine.feeders or (1,)
    for number in sheet.swapped:
        if number not in there:
            listed = ", ".join(str(one) for one in there)
            raise BadInput(
                f"the sheet tells of feeder {number}, and the files have {listed}", Place(sheet.path)
            )
    return tuple(number for number in there if sheet.tells_of(number)) or (there[0],)


def material_of(machine: Machine, profile: Holder | None) -> SheetEntry | None:
    """The material that the files say a profile is for; None where they say none that there is a table row of."""
    said = machine.material(profile) if profile is not None else ""
    field = field_of(MATERIAL)
    if not said or field is None:
        return None
    place = next((each.place for each in machine.found_profiles if each.holder == profile), Place(""))
    try:
        return read_value(field, said, place)
    except BadInput:
        return None


def _moving(book: Book, run: Run) -> frozenset[tuple[str, str]]:
    """The ways that rest on the files' own value and would move it once more on their own result, each by its rule's
    and its own name, and those that bound such a one. `run` is a finished pass: what else the files hold is taken as
    that pass leaves it."""
    scope, given, kept = run.scope, run.scope.given, run.kept.moving
    found = []
    for rule, way in book.scaling:
        key = (rule.name, way.name, tuple([id(given(name)) for name in _looked_at(way.needs)]))
        if key not in kept:
            kept[key] = _moves_again(rule, way, scope)
        if kept[key]:
            found.append((rule.name, way.name))
    return frozenset((*found, *_bounding(book, run, frozenset(found))))


def _bounding(book: Book, run: Run, moving: frozenset[tuple[str, str]]) -> Iterator[tuple[str, str]]:
    """The ways taken that rest on the files' own value and keep one that would move it again within a bound: at the bound
    they leave their own result, and yet they move what was tuned below it or above it since."""
    for result in run.results:
        if _within_bound(result, moving) is not None and (rule := book.rule(result.rule)) is not None:
            own = f"was.{rule.sets}"
            if any(way.name == result.way and own in way.needs for way in rule.ways):
                yield result.rule, result.way


def _within_bound(result: Result, moving: frozenset[tuple[str, str]]) -> CrossCheck | None:
    """The way beside a result's that would move the value again; None where there is none."""
    return next((each for each in result.cross_checks if (result.rule, each.way) in moving), None)


@lru_cache(maxsize=1024)
def _looked_at(needs: tuple[str, ...]) -> tuple[str, ...]:
    """What a way needs, and what will stand in its place."""
    return (*needs, *(name.replace("was.", "will.", 1) for name in needs))


def _ways_not_taken(book: Book, name: str, way: str, told: Told) -> dict[tuple[str, str], Told]:
    """The ways of a rule that are shut for the age of its value: those that would move it again; and where the age is
    not known all that rest on it, for one that leaves it as it is would call it right."""
    rule = book.rule(name)
    if told.age is not Age.UNKNOWN or rule is None:
        return {(name, way): told}
    return {(name, each.name): told for each in rule.ways if f"was.{rule.sets}" in each.needs}


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
    return bool(abs(nominal(twice) - nominal(once)) > SAME * abs(nominal(once)))


def _slope(book: Book, result: Result, scope: Scope) -> float:
    """How much a result grows with the file's own value, 1 where that can't be told."""
    rule = book.rule(result.rule)
    way = next((way for way in rule.ways if way.name == result.way), None) if rule is not None else None
    before = scope.bases(way.needs) if way is not None else {}
    own = f"was.{result.target}"
    if way is None or way.formula is None or own not in before:
        return 1.0
    at = {name: nominal(value) for name, value in before.items()}
    step = 0.01 * abs(at[own]) or 1.0
    try:
        higher, lower = (evaluate(way.formula, {**at, own: at[own] + part}) for part in (step, -step))
    except FormulaError:
        return 1.0
    return float(nominal(higher) - nominal(lower)) / (2 * step)


def _left_as(name: str, value: object, scope: Scope) -> object:
    """What a name will stand for once the results are written."""
    if not name.startswith("was."):
        return value
    becomes = scope.given(f"will.{name.removeprefix('was.')}")
    return value if becomes is None or becomes.base is None else becomes.base


def _read_by(book: Book, rule: str, view: View) -> Reading | None:
    found = book.rule(rule)
    return view.get(found.sets) if found is not None else None


def _ages(
    book: Book,
    work: Work,
    runs: Mapping[Lane, Run],
    moving: Mapping[Lane, frozenset[tuple[str, str]]],
    sheet: Sheet,
    past: Past,
) -> dict[Reading | None, Told]:
    """The age of each reading that is scaled from its own value, as its deciding lane has it."""
    known = [each for lane in runs for each in evidence(book, runs[lane], work.views[lane])]
    if any(each.there for each in known):
        known = [each for each in known if not asked_of_both(each, work.of_the_old().values())]
    ages: dict[Reading | None, Told] = {}
    for lane, run in runs.items():
        for result in run.results:
            reading = work.views[lane].get(result.target)
            if reading is None or deciding(reading, lane.feeder) != lane or reading in ages:
                continue
            if (result.rule, result.way) in moving[lane]:
                usual = _usual(book, result)
                slope = _slope(book, result, run.scope)
                beside = _within_bound(result, moving[lane]) if slope == 0 else None
                if beside is not None:
                    result = replace(result, way=beside.way, value=beside.value)
                    slope = _slope(book, result, run.scope)
                ages[reading] = age_of(
                    reading, result, past, _said(sheet, reading, lane), usual, known, slope
                )
    return ages


def _said(sheet: Sheet, reading: Reading, lane: Lane) -> str:
    """What the sheet says of the age of a holder's values; of the machine's, what it says of the feeder's."""
    own = sheet.values_of(reading.holder)
    return own or ("" if lane.profile is not None else sheet.values_of(Holder("feeder", str(lane.feeder))))


def _usual(book: Book, result: Result) -> list[float]:
    """The cross-checks of a result that do not rest on the files' own value."""
    rule = book.rule(result.rule)
    ways = {way.name: way for way in rule.ways} if rule is not None else {}
    return [
        check.value
        for check in result.cross_checks
        if not any(name.startswith(("was.", "old.")) for name in ways[check.way].needs)
    ]


def _held(before: Run, after: Run, ages: Mapping[str, Told]) -> dict[str, float]:
    """What quantities came to in a pass that come to nothing in the next, with ways shut; without those that are the new drive's
    already, for which nothing waits."""
    if before is after:
        return {}
    left = {each.target for each in after.results}
    return {
        each.target: each.value
        for each in before.results
        if each.target
        and each.target not in left
        and each.value is not None
        and not ((told := ages.get(each.target)) and told.age is Age.NEW)
    }


def _by_quantity(view: View, ages: Mapping[Reading | None, Told]) -> dict[str, Told]:
    return {
        reading.quantity: told
        for reading, told in ages.items()
        if reading is not None and view.get(reading.quantity) is reading
    }
