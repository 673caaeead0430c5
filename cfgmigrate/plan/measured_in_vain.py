"""What was measured and nothing came of: no value is written, no step by hand, and the person who measured it is told why.

A part of the measured sheet may be filled in by halves, no file may have the value that it is for, or the value may be there
already. The plan has the reason among what it leaves alone, where nobody looks for it; here it becomes a question with the
line of the sheet. Fields that the starter fills in from the files are no measurement by themselves.

Nothing is worked out by this.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from cfgmigrate.ground.findings import Doubt
from cfgmigrate.plan.model import Plan
from cfgmigrate.rules.cross_checks import NOT_WRITTEN_FOR
from cfgmigrate.rules.lanes import Worked
from cfgmigrate.rules.rule import Rule
from cfgmigrate.rules.tuning import MEASURED
from cfgmigrate.sheet.model import Sheet, SheetEntry
from cfgmigrate.sheet.schema import measured_schema, sheet_schema

_HALF = "nothing came of it; fill in the rest of this part"
_BY_HAND = "nothing was written for it: set it by hand where your machine keeps it, if it does"
_NOTHING = "nothing has to be written for it"
_KEPT = "nothing was written for it"


def measured_in_vain(rules: Iterable[Rule], worked: Worked, plan: Plan, own: Sheet) -> Iterator[Doubt]:
    """A question for each part of the measured sheet `own` of which the plan has nothing."""
    parts = _parts(own)
    takers = {part: [rule for rule in rules if _takes(rule, part, own)] for part in parts}
    silent = {each.rule: each.why for outcome in worked.lanes.values() for each in outcome.silent}
    spoke = {each.rule for outcome in worked.lanes.values() for each in outcome.results}
    moved = {each.quantity for each in plan.changes}
    moved |= {each.rule for each in plan.by_hand}
    left = {each.quantity: each for each in plan.left_alone}
    for part, entry in parts.items():
        if any({rule.name, rule.sets} & moved for rule in takers[part]):
            continue
        setting = [rule for rule in takers[part] if rule.sets]
        ready = [rule for rule in setting or takers[part] if rule.name in spoke]
        for rule in ready:
            if (why := left.get(rule.sets)) is not None and not why.why.startswith(NOT_WRITTEN_FOR):
                settled = _NOTHING if why.already else _BY_HAND
                yield Doubt(entry.place, rule.label, f"{rule.label} was measured: {why.why}", settled)
        whole = [rule for rule in setting if rule.because and rule.name in silent and _whole(rule, own)]
        for rule in whole:
            yield Doubt(entry.place, rule.label, silent[rule.name], _KEPT)
        lacking = _of_the_swap(takers[part], own, worked) if not ready and not whole else ""
        if lacking:
            alone = f"{part} is taken together with {lacking}, and no swap sheet says that"
            remedy = "say it in the swap sheet, and name that sheet at the top of this one (sheet: swap.yaml) or by --sheet"
            yield Doubt(entry.place, part, alone, remedy)
        elif takers[part] and not ready and not whole:
            said = next((silent[rule.name] for rule in takers[part] if silent.get(rule.name)), "")
            yield Doubt(entry.place, part, f"{part} says too little{said and ': '}{said}", _HALF)


def _parts(own: Sheet) -> dict[str, SheetEntry]:
    """The parts that say more than the files do, each with the last of its lines."""
    fields = measured_schema().fields
    return {
        ".".join(path.split(".")[:2]): entry
        for path, entry in own.entries.items()
        if path.startswith(MEASURED) and path in fields and not fields[path].reads
    }


def _takes(rule: Rule, part: str, own: Sheet) -> bool:
    """Whether one of a rule's ways begins with what a part says."""
    needs = {need for way in rule.ways for need in way.needs if need.startswith(f"{part}.")}
    return any(need in own.entries for need in needs)


def _of_the_swap(rules: Iterable[Rule], own: Sheet, worked: Worked) -> str:
    """The fields of a swap sheet that alone are missing beside what was measured, for the first way that wants no more."""
    said = {path for sheet in worked.sheets.values() for path in sheet.entries}
    for way in (way for rule in rules for way in rule.ways):
        measured = [need for need in way.needs if need.startswith(MEASURED)]
        lacking = [need for need in way.needs if need in sheet_schema().fields and need not in said]
        if measured and lacking and all(need in own.entries for need in measured):
            return " and ".join(lacking)
    return ""


def _whole(rule: Rule, own: Sheet) -> bool:
    """Whether all is measured that a rule's first way takes."""
    needs = [need for need in rule.ways[0].needs if need.startswith(MEASURED)]
    return bool(needs) and all(need in own.entries for need in needs)
