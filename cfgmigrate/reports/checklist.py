"""checklist.md: the day's order of work, from the last old print to the tuned machine.

The order is the one in which nobody gets hurt and nothing breaks: power off before hands, direction before
filament, limits before speed, measuring before printing. The general steps and cautions stand in
`templates/checklist.md`; this module puts the machine's own values into their places.

It deliberately repeats no derivation: the reasons are in changes.md.
"""

from __future__ import annotations

from typing import Any

from cfgmigrate.plan.model import ByHand, Change, Plan
from cfgmigrate.reports import gfm, overview, wording
from cfgmigrate.rules.result import Status
from cfgmigrate.rules.rule import MOMENTS

PARTS = MOMENTS
"""The parts of the day a by-hand item may belong to (`ByHand.when`); any other counts as power off."""

DIRECTION = "feeder.direction"
"""The rule whose by-hand item is a test of direction, so that the general one is not said again."""


def render_checklist(plan: Plan) -> str:
    """The text of checklist.md."""
    tune = [change for change in plan.changes if change.status is Status.ESTIMATE]
    measure = [change for change in plan.changes if change.status is not Status.ESTIMATE and change.verify]
    text = (
        gfm.environment()
        .get_template("checklist_tune.md" if plan.kind == "tune" else "checklist.md")
        .render(
            plan=plan,
            sentence=overview.sentence(plan),
            alarms=overview.alarms(plan),
            hands=_hands(plan),
            values=_values(plan),
            clearance=_clearance(plan),
            load=_load(plan),
            feeds=any(_belongs(change.quantity, "feeder") for change in plan.changes),
            direction=any(item.rule == DIRECTION for item in plan.by_hand),
            measure=[_step(change) for change in measure],
            tune=[_step(change) for change in tune],
        )
    )
    return gfm.tidy(text)


def _hands(plan: Plan) -> dict[str, list[gfm.Ready]]:
    found: dict[str, list[gfm.Ready]] = {part: [] for part in PARTS}
    for item in plan.by_hand:
        found[item.when if item.when in found else "power off"].append(_hand(item))
    return found


def _hand(item: ByHand) -> gfm.Ready:
    """One by-hand step with its cautions under it."""
    value = overview.by_hand_value(item)
    title = wording.stop(f"{overview.title(item)}: {value}" if value else overview.title(item))
    unusual = "" if item.when in PARTS else f"(When: {item.when})"
    said = " ".join(filter(None, [overview.instruction(item), wording.sentence(item.why), unusual]))
    lines = [f"- [ ] **{gfm.escaped(title)}** {gfm.escaped(said)}".rstrip()]
    lines += [f"    {number}. {gfm.escaped(step)}" for number, step in enumerate(item.steps, start=1)]
    lines += [f"    - Warning: {gfm.escaped(text)}" for text in item.warnings]
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


LOADED = {
    "header": "These files only count once they are built in: build the controller's program from them and load it "
    "onto the board, as its maker says. Until then the old values are in force.",
    "command": "Settings that the machine itself keeps only count once they are sent: send it the changed lines, let "
    "it store them, and ask it for its settings again. Until then the old values are in force.",
}
"""By a file's dialect: how what stands in it gets into the machine."""


def _load(plan: Plan) -> list[str]:
    """What brings the written values into force, by the kinds of the files that change."""
    written = {edit.file for change in plan.changes for edit in change.edits}
    kinds = {file.dialect for file in plan.files if file.path in written}
    again = "Start the controller's program again if it reads its files only once."
    steps = [text for kind, text in LOADED.items() if kind in kinds]
    return [*steps, *([again] if kinds - LOADED.keys() else [])]


def _clearance(plan: Plan) -> list[str]:
    """What to measure while the machine is still without power."""
    change = _change(plan, "axis.z.max")
    if change is None:
        return []
    return [
        f"Lift the carriage slowly by hand or by its screw to {overview.new_value(change)}: "
        "nothing of the new drive touches the frame, and there is room left."
    ]


def _step(change: Change) -> dict[str, Any]:
    return {
        "title": overview.title(change),
        "value": overview.new_value(change),
        "range": overview.try_range(change),
        "verify": change.verify or "no check is known: compare with the old prints",
        "cautions": [*change.warnings, *change.cautions],
    }


def _change(plan: Plan, quantity: str) -> Change | None:
    return next((change for change in plan.changes if change.quantity == quantity), None)


def _belongs(quantity: str, family: str) -> bool:
    return quantity.partition(".")[0].rstrip("0123456789") == family
