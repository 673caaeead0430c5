"""changes.md: the plan for a forum post or a pull request, or to be read as plain text.

This module deliberately computes nothing: it puts a plan's own texts and numbers into the places that
`templates/changes.md` has for them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from cfgmigrate.plan.model import ByHand, Change, Edit, Finding, Plan
from cfgmigrate.reports import gfm, overview, wording
from cfgmigrate.reports.excerpt import Side, excerpt
from cfgmigrate.reports.picture_text import pictured
from cfgmigrate.rules.result import Derivation

_SIGN = {Side.BOTH: " ", Side.OLD: "-", Side.NEW: "+"}


def render_markdown(
    plan: Plan, before: Mapping[str, bytes], after: Mapping[str, bytes], packet_hash: str
) -> str:
    """The text of changes.md. `before` and `after` map each file's path to its bytes."""
    edits = overview.edits_of(plan)
    text = (
        gfm.environment()
        .get_template("changes.md")
        .render(
            plan=plan,
            sentence=overview.sentence(plan),
            swap=_swap(plan),
            alarms=overview.alarms(plan),
            mismatches=overview.mismatches(plan, before, after),
            glance=_glance(plan),
            counts=overview.counts(plan),
            meaning=overview.MEANING,
            changes=[_change(change, before) for change in plan.changes],
            by_hand=[_by_hand(item) for item in plan.by_hand],
            findings=[_finding(item) for item in plan.findings],
            pictures=[(one.title, gfm.table(["what", "value"], one.numbers)) for one in pictured(plan)],
            files=[(path, diff_lines(before.get(path, b""), edits[path])) for path in edits],
            unchanged=[file.path for file in plan.files if file.path not in edits],
            packet_hash=packet_hash,
        )
    )
    return gfm.tidy(text)


def diff_lines(before: bytes, edits: Sequence[Edit]) -> list[str]:
    """The edited lines with their surroundings, signed as in a unified diff, groups headed by their line."""
    lines: list[str] = []
    for group in excerpt(before, edits):
        lines.append(f"@@ line {group[0].number} @@")
        lines += [f"{_SIGN[line.side]} {line.text}" for line in group]
    return lines


def _swap(plan: Plan) -> gfm.Ready:
    pairs, rest = overview.swap_table(plan)
    parts = [gfm.table(["what", "came off", "goes on"], pairs)] if pairs else []
    parts += (
        [
            gfm.table(
                ["measured", "as the sheet has it"]
                if plan.kind == "tune"
                else ["also", "as the swap sheet has it"],
                rest,
            )
        ]
        if rest
        else []
    )
    return gfm.Ready("\n\n".join(parts))


def _glance(plan: Plan) -> gfm.Ready:
    rows: list[list[object]] = [
        [
            str(index),
            overview.title(change),
            _places(change),
            overview.old_value(change),
            gfm.Ready(f"**{gfm.escaped(overview.new_value(change))}**"),
            " ".join(filter(None, [change.status.value, overview.sureness(change)])),
        ]
        for index, change in enumerate(plan.changes, start=1)
    ]
    rows += [
        ["", overview.title(item), item.when, "", _number_only(item), "by hand"] for item in plan.by_hand
    ]
    if not rows:
        return gfm.Ready("Nothing changes.")
    return gfm.table(["no.", "what", "where", "from", "to", "how sure"], rows)


def _number_only(item: ByHand) -> str:
    if item.value is None:
        return "see below"
    number = wording.measure(item.value, item.uncertainty, item.unit)
    return f"stays; try {number}" if item.when == "first print" else number


def _change(change: Change, before: Mapping[str, bytes]) -> dict[str, Any]:
    files = dict.fromkeys(edit.file for edit in change.edits)
    checks = [
        (
            f"Cross-check by {check.way}",
            "; ".join(filter(None, [overview.check_value(check, change), check.note])),
        )
        for check in change.cross_checks
    ]
    behind = overview.deeper_text(change.derivation)
    facts = [("The uncertainty comes from", behind), ("Source", change.derivation.source)]
    facts += [("Rounding", change.rounding), *checks, ("Try", overview.try_range(change))]
    facts += [("Rests on", ", ".join(change.depends)), ("Verify at the machine", change.verify)]
    return {
        "title": overview.title(change),
        "id": change.quantity,
        "old": overview.old_value(change),
        "new": overview.new_value(change),
        "status": " ".join(filter(None, [change.status.value, overview.sureness(change)])),
        "way": change.way,
        "where": _places(change),
        "says": change.says,
        "excerpts": [
            (file, diff_lines(before.get(file, b""), [edit for edit in change.edits if edit.file == file]))
            for file in files
        ],
        "derivation": overview.derivation_lines(change.derivation, overview.worked_out(change)),
        "inputs": _inputs(change.derivation),
        "facts": [(name, text) for name, text in facts if text],
        "warnings": change.warnings,
        "cautions": change.cautions,
        "notes": change.notes,
    }


def _places(change: Change) -> gfm.Ready:
    return gfm.Ready(", ".join(gfm.code_in_table(place) for place in overview.places(change)) or "no file")


def _by_hand(item: ByHand) -> dict[str, Any]:
    value = overview.by_hand_value(item)
    facts = [("Source", item.derivation.source if item.derivation else ""), ("Verify", item.verify)]
    return {
        "title": overview.title(item),
        "value": value,
        "instruction": overview.instruction(item),
        "why": item.why,
        "when": item.when,
        "steps": item.steps,
        "derivation": overview.by_hand_lines(item),
        "inputs": _inputs(item.derivation) if item.derivation else "",
        "facts": [(name, text) for name, text in facts if text],
        "warnings": item.warnings,
        "cautions": item.cautions,
    }


def _finding(item: Finding) -> dict[str, Any]:
    value = overview.finding_value(item)
    return {
        "title": overview.title(item),
        "value": value,
        "says": item.says,
        "derivation": overview.derivation_lines(item.derivation, value),
        "inputs": _inputs(item.derivation),
        "warnings": item.warnings,
    }


def _inputs(derivation: Derivation) -> gfm.Ready:
    """Each input with its value, where it comes from, and its part in the uncertainty."""
    if not derivation.inputs:
        return gfm.Ready("")
    rows = [
        [given.label or given.name, overview.input_value(given), given.origin, wording.share(given.share)]
        for given in derivation.inputs
    ]
    return gfm.table(["input", "value", "where it comes from", "part of the uncertainty"], rows)
