"""Which measurement would help most: what would make the values surer, best first, in a sentence each.

Two things make a value surer. A field that is not answered yet may open a better way (`unlocking.py` tries it). And a
number that is known only roughly may be measured better: a value's variance is made of shares (the GUM's uncertainty
budget, JCGM 100:2008, 5.1), and with share s taken away what is left of the ± is sqrt(1 - s).

Nothing is worked out here but that.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping

from msgspec import Struct

from cfgmigrate.ground.number_text import with_unit
from cfgmigrate.plan.open_fields import open_fields, said_in, sheet_field
from cfgmigrate.plan.unlocking import NARROWER, Unlock, Workings
from cfgmigrate.rules.result import Contribution, Result
from cfgmigrate.rules.rule import Rule
from cfgmigrate.sheet.model import Sheet
from cfgmigrate.sheet.schema import field_of

#: measured as one of them, the drive's feed is known as all of them
_FEED = frozenset(("feeder.steps_per_mm", "feeder.feed_per_turn", "feeder.travel_per_motor_turn"))


class Surer(Struct, frozen=True):
    """One measurement. `part` is what it leaves of the ± of the value that gains most, `text` says it."""

    field: str
    part: float
    text: str


def surer(bench: Workings, sheet: Sheet, most: int = 0, measured: Collection[str] = ()) -> tuple[Surer, ...]:
    """The measurements that make the values of a sheet surer, the one that helps most first; not those of the quantities in
    `measured`, of which something better is known than the sheet."""
    now = bench.stand(sheet)
    said = said_in(sheet)
    known = {*measured, *(_FEED if _FEED.intersection(measured) else ())}
    results = {name: result for name, result in now.results.items() if name not in known}
    found = [*_of_budgets(results.values(), said), *_of_fields(bench, sheet, results)]
    best: dict[str, Surer] = {}
    for each in sorted(found, key=lambda each: each.part):
        best.setdefault(each.field, each)
    ordered = tuple(best.values())
    return ordered[:most] if most else ordered


def budget_line(contributions: Iterable[Contribution], label: str) -> str:
    """`to be surer: measure the drive gear better …` of one value's budget; "" where no measurement stands out."""
    top = max(contributions, key=lambda each: each.share, default=None)
    if top is None or math.sqrt(1 - min(top.share, 1.0)) > NARROWER:
        return ""
    field = field_of(top.name)
    if field is None:
        return ""
    return f"measure the {field.label} better: were it known exactly, the ± of the {label} would be {_part(top.share)}"


def better_fields(rule: Rule) -> tuple[str, ...]:
    """The fields of the sheet by which the best way to a rule's value is open."""
    best = next((way for way in rule.ways if not way.check_only), None)
    names = (sheet_field(name) for name in best.needs) if best is not None else ()
    return tuple(dict.fromkeys(name for name in names if name is not None))


def _part(share: float) -> str:
    return _left_over(math.sqrt(max(0.0, 1 - share)))


def _left_over(left: float) -> str:
    return "almost nothing" if left < 0.05 else f"{100 * left:.0f} % of what it is"


def _of_budgets(results: Iterable[Result], said: Mapping[str, object]) -> Iterable[Surer]:
    for result in results:
        for each in result.derivation.contributions:
            field = field_of(each.name)
            part = math.sqrt(max(0.0, 1 - each.share))
            if field is None or each.name not in said or part > NARROWER or not result.value:
                continue
            small = with_unit(f"{result.uncertainty * max(part, 0.05):.2g}", result.unit)
            now = with_unit(f"{result.uncertainty:.2g}", result.unit)
            text = f"measure the {field.label} better: the ± of the {result.label} falls from {now} towards {small}"
            yield Surer(each.name, part, text)


def _of_fields(bench: Workings, sheet: Sheet, results: Mapping[str, Result]) -> Iterable[Surer]:
    now = bench.stand(sheet)
    asked = (found for name in _of_better_ways(bench, sheet) for found in bench.unlock(sheet, (name,), now))
    for unlock in asked:
        text = _gain(unlock, results)
        if text:
            part = min((part for rule, part in unlock.narrows if rule in results), default=NARROWER)
            yield Surer(unlock.field, part, text)


def _of_better_ways(bench: Workings, sheet: Sheet) -> list[str]:
    """The open fields that a better way than the one taken lacks, of every rule that came to something."""
    there = set(open_fields(sheet, bench.machine))
    found: dict[str, None] = {}
    for result in bench.stand(sheet).worked.base.results:
        rule = bench.book.rule(result.rule)
        ways = rule.ways if rule is not None else ()
        taken = [way.name for way in ways].index(result.way) if ways else 0
        for way in ways[:taken]:
            fields = {sheet_field(name) for name in way.needs} & there
            found |= dict.fromkeys(name for name in fields if name is not None and not way.check_only)
    return sorted(found)


def _gain(unlock: Unlock, results: Mapping[str, Result]) -> str:
    field = field_of(unlock.field)
    if field is None:
        return ""
    gains = [
        f"the ± of the {results[rule].label} shrinks to {_left_over(part)}"
        for rule, part in sorted(unlock.narrows, key=lambda each: each[1])
        if rule in results
    ][:1]
    firmer = [rule for rule in unlock.firmer if rule in results]
    gains += [f"the {results[rule].label} is no longer an estimate" for rule in firmer[:1]]
    return f"enter the {field.label}, and {' and '.join(gains)}" if gains else ""
