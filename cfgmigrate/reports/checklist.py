"""checklist.md: the day's order of work, from the last old print to the tuned machine.

The order is the one in which nobody gets hurt and nothing breaks: power off before hands, direction before
filament, limits before speed, measuring before printing. The general steps and cautions stand in
`templates/checklist.md`; this module puts the machine's own values into their places.

It deliberately repeats no derivation: the reasons are in changes.md.
"""

from __future__ import annotations

from typing import Any

from cfgmigrate.changes.plan import ByHand, Change, Plan
from cfgmigrate.reports import gfm, overview, words
from cfgmigrate.rules.result import Status

PARTS = ("before", "power off", "power on", "first print", "tuning")
"""The parts of the day a by-hand item may belong to (`ByHand.when`); any other counts as power off."""


def render_checklist(plan: Plan) -> str:
    """The text of checklist.md."""
    tune = [change for change in plan.changes if change.status is Status.ESTIMATE]
    measure = [change for change in plan.changes if change.status is not Status.ESTIMATE and change.verify]
    text = (
        gfm.environment()
        .get_template("checklist.md")
        .render(
            plan=plan,
            sentence=overview.sentence(plan),
            alarms=overview.alarms(plan),
            hands=_hands(plan),
            volts=any(item.unit in {"V", "mV"} for item in plan.by_hand),
            values=_values(plan),
            clearance=_clearance(plan),
            load=["Start the controller's program again if it reads its files only once."]
            if plan.changes
            else [],
            feeds=any(_belongs(change.quantity, "feeder") for change in plan.changes)
            or _by_hand_feeder(plan),
            moves=_moves(plan),
            measure=[_step(change) for change in measure],
            tune=[_step(change) for change in tune],
            ranges=_ranges(tune),
        )
    )
    return gfm.tidy(text)


def _hands(plan: Plan) -> dict[str, list[gfm.Ready]]:
    found: dict[str, list[gfm.Ready]] = {part: [] for part in PARTS}
    for item in plan.by_hand:
        found[item.when if item.when in found else "power off"].append(_hand(item))
    return found


def _hand(item: ByHand) -> gfm.Ready:
    """One by-hand step: cautions first, because they are wanted before the hand moves."""
    value = overview.by_hand_value(item)
    title = gfm.escaped(overview.title(item))
    unusual = f" ({gfm.escaped(item.when)})" if item.when not in PARTS else ""
    lines = [
        f"- [ ] **{title}{': ' + gfm.escaped(value) if value else ''}**{unusual}: {gfm.escaped(words.sentence(item.why))}"
    ]
    lines += [f"    - Could damage the machine: {gfm.escaped(text)}" for text in item.warnings]
    lines += [f"    - Caution: {gfm.escaped(text)}" for text in item.cautions]
    if item.verify:
        lines.append(f"    - Check: {gfm.escaped(item.verify)}")
    return gfm.Ready("\n".join(lines))


def _values(plan: Plan) -> gfm.Ready:
    rows = [
        [
            gfm.code_in_table(f"{edit.file}:{edit.line}"),
            overview.title(change),
            gfm.code_in_table(edit.old),
            gfm.code_in_table(edit.new),
        ]
        for change in plan.changes
        for edit in change.edits
    ]
    if not rows:
        return gfm.Ready("(no file changes)")
    return gfm.table(["where", "what", "was", "becomes"], rows)


def _clearance(plan: Plan) -> list[str]:
    """What to measure while the machine is still without power."""
    change = _change(plan, "axis.z.max")
    if change is None:
        return []
    return [
        f"Lift the carriage slowly by hand or by its screw to {overview.new_value(change)}: "
        "nothing of the new drive touches the frame, and there is room left."
    ]


def _moves(plan: Plan) -> list[str]:
    """First moves towards limits that have changed, carefully."""
    lines: list[str] = []
    for change in plan.changes:
        if _belongs(change.quantity, "axis") and change.quantity.endswith((".min", ".max")):
            lines.append(
                f"Go to the new limit of {change.label}, {overview.new_value(change)}, in small slow "
                "steps with a hand on the switch. Stop as soon as anything comes close."
            )
    return lines


def _step(change: Change) -> dict[str, Any]:
    return {
        "title": overview.title(change),
        "value": overview.new_value(change),
        "range": overview.try_range(change),
        "verify": change.verify or "no check is known: compare with the old prints",
        "cautions": [*change.warnings, *change.cautions],
    }


def _ranges(tune: list[Change]) -> gfm.Ready:
    """The estimates at a glance: where each starts and what to try."""
    rows = [
        [overview.title(change), overview.new_value(change), overview.try_range(change) or "not known"]
        for change in tune
    ]
    return gfm.table(["what", "start", "range to try"], rows) if rows else gfm.Ready("")


def _change(plan: Plan, quantity: str) -> Change | None:
    return next((change for change in plan.changes if change.quantity == quantity), None)


def _belongs(quantity: str, family: str) -> bool:
    return quantity.partition(".")[0].rstrip("0123456789") == family


def _by_hand_feeder(plan: Plan) -> bool:
    return any(_belongs(item.rule, "feeder") for item in plan.by_hand)
