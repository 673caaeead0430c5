"""Changes are made to files that the user named, and to no others.

Whoever names one file of a machine has the rest read, so that the values are right; a change that would have to be
made in the rest too is left alone as a whole, and that is a doubt, and a light that rests on it is unknown. What it came
to stays as a finding, because others may rest on it.
"""

from __future__ import annotations

from collections.abc import Collection

from msgspec.structs import replace

from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.plan.items import finding_instead
from cfgmigrate.plan.lights_left import in_named_files
from cfgmigrate.plan.model import LeftAlone, Plan


def only_named(plan: Plan, named: Collection[str] | None) -> Plan:
    """The plan without changes to files that were not `named` (None: all may be edited)."""
    plan = replace(plan, basis=replace(plan.basis, named=None if named is None else tuple(sorted(named))))
    if named is None:
        return plan
    strange = [change for change in plan.changes if any(edit.file not in named for edit in change.edits)]
    if not strange:
        return plan
    alone, doubts = [], []
    for change in strange:
        edit = next(edit for edit in change.edits if edit.file not in named)
        why = f"{edit.file}:{edit.line} would have to be changed too, and that file was not named"
        remedy = "name that file too, or the folder that holds both"
        alone.append(LeftAlone(change.quantity, why, change.holder))
        doubts.append(Doubt(Place(edit.file, edit.line, edit.column), edit.old, why, remedy))
    return replace(
        plan,
        changes=tuple(change for change in plan.changes if change not in strange),
        findings=(
            *(finding_instead(change) for change in strange if not change.quantity.startswith("script.")),
            *plan.findings,
        ),
        left_alone=(*plan.left_alone, *alone),
        doubts=tuple(dict.fromkeys((*doubts, *plan.doubts))),
        lights=in_named_files(plan.lights, {change.id for change in strange}),
    )
