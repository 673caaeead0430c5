"""What every report says about a plan, whatever it is shown in: the order, the counts, the wording.

The terminal, the Markdown and the page show the same content; what they have in common is put into
words here once.

This module deliberately knows no output format.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from cfgmigrate.ground.findings import Refused
from cfgmigrate.plan.edits import apply_edits, edits_by_file
from cfgmigrate.plan.model import ByHand, Change, Edit, Finding, Plan
from cfgmigrate.reports import wording
from cfgmigrate.reports.safe_text import inert
from cfgmigrate.rules.result import Contribution, CrossCheck, Derivation, Input, Status

MEANING = {
    Status.MEASURED: "measured on this machine",
    Status.COMPUTED: "follows exactly from what is known",
    Status.ESTIMATE: "a starting value: tune it",
    Status.BY_HAND: "no file can do it",
}

#: what of a swap is told in its one sentence, and under which name
SWAPPED = {
    "drive": "drive",
    "drive_gear.gear_ratio": "gear ratio",
    "rotation_distance": "feed per motor turn",
    "tube.length": "tube",
    "driver.part": "driver",
}


@dataclass(frozen=True, slots=True)
class Alarm:
    """Something that could damage the machine with this plan's own numbers, and the item it belongs to."""

    about: str
    text: str
    anchor: str


def alarms(plan: Plan) -> list[Alarm]:
    """All warnings, by-hand items first: a wrong screw does harm before any file is read."""
    groups: list[tuple[str, Sequence[ByHand | Change | Finding]]] = [
        ("by-hand", plan.by_hand),
        ("change", plan.changes),
        ("finding", plan.findings),
    ]
    found: list[Alarm] = []
    for kind, items in groups:
        for index, item in enumerate(items, start=1):
            found += [Alarm(title(item).rstrip("."), text, f"{kind}-{index}") for text in item.warnings]
    # one rule's warning may travel with every value that rests on it: say it once
    seen: dict[str, Alarm] = {}
    for alarm in found:
        seen.setdefault(alarm.text, alarm)
    return list(seen.values())


def title(item: ByHand | Change | Finding) -> str:
    """What the item is about. Of a by-hand item, which may be a paragraph, its first sentence."""
    return wording.capital(_first_sentence(item.what) if isinstance(item, ByHand) else item.label)


def instruction(item: ByHand) -> str:
    """The rest of a by-hand item's `what`, after the sentence that is its title; often ""."""
    return item.what.strip()[len(_first_sentence(item.what)) :].strip()


def _first_sentence(text: str) -> str:
    return re.split(r"(?<=[a-z)][.!?])\s", text.strip(), maxsplit=1)[0]


def counts(plan: Plan) -> list[tuple[Status, int]]:
    """How many items there are by status, surest first; those that don't occur are left out."""
    many = dict.fromkeys(Status, 0)
    for change in plan.changes:
        many[change.status] += 1
    many[Status.BY_HAND] += len(plan.by_hand)
    return [(status, number) for status, number in many.items() if number]


def sentence(plan: Plan) -> str:
    """The plan in one sentence."""
    changed = sorted({edit.file for change in plan.changes for edit in change.edits})
    head = f"{wording.count(len(plan.changes), 'value')} to change"
    head += f" in {wording.count(len(changed), 'file')}" if changed else ""
    hands = f"{wording.count(len(plan.by_hand), 'thing') if plan.by_hand else 'nothing'} to do by hand"
    doubts = f"{wording.count(len(plan.doubts), 'doubt')} to settle"
    whole = f"{wording.capital(head)}, {hands}, {doubts}."
    if plan.rest_of:
        earlier = ", ".join(packet[:12] for packet in plan.rest_of)
        whole += f" A part of this swap was installed before (packet {earlier}) and is left alone."
    return whole


def swap_table(plan: Plan) -> tuple[list[tuple[str, str, str]], list[tuple[str, str]]]:
    """What the swap sheet says: (what, came off, goes on) where it tells old from new, and the rest."""
    pairs: dict[str, dict[str, str]] = {}
    rest: list[tuple[str, str]] = []
    for path, text in plan.swap:
        age, _, name = path.partition(".")
        if age in {"old", "new"} and name:
            pairs.setdefault(in_words(name), {})[age] = text
        elif path != "machine":
            rest.append((in_words(path), text))
    return [(name, pair.get("old", ""), pair.get("new", "")) for name, pair in pairs.items()], rest


def swap_sentence(plan: Plan) -> str:
    """The swap in a few words: `Drive: tube-fed → on the carriage; gear ratio: 3:1 → 56:11.`"""
    said = dict(plan.swap)
    told = []
    for name, shown in SWAPPED.items():
        old, new = said.get(f"old.{name}", ""), said.get(f"new.{name}", "")
        if name == "drive" and (old or new):
            told.append(f"{shown}: {old or 'the old one'} → {new or 'the new one'}")
        elif new and old != new:
            told.append(f"{shown}: {f'{old} → ' if old else 'now '}{new}")
    return wording.capital("; ".join(told)) + "." if told else ""


def in_words(path: str) -> str:
    """A dotted name for people: `drive_gear.gear_ratio` → `drive gear, gear ratio`."""
    return path.replace(".", ", ").replace("_", " ")


def old_value(change: Change) -> str:
    if change.old is None:
        return "not set"
    return _as_written(change.old.value, change.old.text, change.unit)


def new_value(change: Change) -> str:
    """The value as it will be written, without its uncertainty."""
    return _as_written(change.new.value, change.new.text, change.unit)


def _as_written(value: float | None, text: str, unit: str) -> str:
    """A value with its unit; words and gear stages (`50:9`) as they stand in the file."""
    if value is None or ":" in text:
        return inert(text)
    return wording.measure(value, name=unit)


def sureness(change: Change) -> str:
    """`± 0.034 mm`, or nothing where no uncertainty is known."""
    if not change.new.uncertainty:
        return ""
    amount = wording.number(change.new.uncertainty, change.new.uncertainty)
    return f"± {wording.with_unit(amount, change.unit)}"


def worked_out(change: Change) -> str:
    """The result before it was rounded for the file, with its uncertainty."""
    value = change.new.value if change.unrounded is None else change.unrounded
    return (
        wording.measure(value, change.new.uncertainty, change.unit)
        if value is not None
        else new_value(change)
    )


def by_hand_value(item: ByHand) -> str:
    """The number to set, "" where there is none or `what` says it already."""
    if item.value is None or (item.text and item.text in item.what):
        return ""
    return wording.measure(item.value, item.uncertainty, item.unit)


def by_hand_result(item: ByHand) -> str:
    """What its derivation came to: a number or a word."""
    if item.value is None:
        return inert(item.text)
    return wording.measure(item.value, item.uncertainty, item.unit)


def by_hand_lines(item: ByHand) -> list[str]:
    """How a by-hand item follows; nothing where that is a mere word, which its source tells already."""
    if item.derivation is None or item.derivation.formula == item.text:
        return []
    return derivation_lines(item.derivation, by_hand_result(item))


def finding_value(finding: Finding) -> str:
    if finding.value is None:
        return inert(finding.word)
    return wording.measure(finding.value, finding.uncertainty, finding.unit, wording.WORKED_OUT)


def try_range(change: Change) -> str:
    """For an estimate: what to try. `0.2 mm to 0.8 mm in steps of 0.1 mm`."""
    if change.low is None or change.high is None:
        return ""
    low, high = (wording.measure(value, name=change.unit) for value in (change.low, change.high))
    step = f" in steps of {wording.measure(change.step, name=change.unit)}" if change.step else ""
    return f"{low} to {high}{step}"


def places(change: Change) -> list[str]:
    """`machine.ini:12`: every line where the change is written."""
    return list(dict.fromkeys(inert(f"{edit.file}:{edit.line}") for edit in change.edits))


def input_value(given: Input) -> str:
    if given.value is None:
        return inert(given.word)
    digits = wording.WORKED_OUT if given.origin.startswith("rule ") else wording.SIGNIFICANT
    return wording.measure(given.value, given.uncertainty, given.unit, digits)


def check_value(check: CrossCheck, change: Change) -> str:
    """A cross-check's value; one without an uncertainty of its own gets the digits of the change's."""
    if check.uncertainty:
        return wording.measure(check.value, check.uncertainty, change.unit)
    return wording.with_unit(wording.number(check.value, change.new.uncertainty), change.unit)


def deeper(derivation: Derivation) -> list[Contribution]:
    """What the uncertainty comes from, where it comes from further back than the formula's own inputs."""
    behind = [part for part in derivation.contributions if part.share > 0]
    direct = {given.name for given in derivation.inputs if given.share}
    return behind if {part.name for part in behind} - direct else []


def deeper_text(derivation: Derivation) -> str:
    """`deeper` in one line: `path.push (common practice, no source) 62 %; …`."""
    parts = deeper(derivation)
    return "; ".join(f"{part.name} ({part.origin}) {wording.share(part.share)}" for part in parts)


def derivation_lines(derivation: Derivation, result: str) -> list[str]:
    """The formula, the numbers put in, the result: three lines of plain text."""
    lines = [derivation.formula]
    known = derivation.substituted in {"", derivation.formula} or is_bare_name(derivation.formula)
    if not known:
        lines.append(f"= {derivation.substituted}")
    return [inert(line, 2000) for line in lines] + [f"= {result}"]


def is_bare_name(formula: str) -> bool:
    """Whether a formula is one name, so that putting numbers in would only repeat the result."""
    return re.fullmatch(r"[\w.]+", formula.strip()) is not None


def edits_of(plan: Plan) -> dict[str, list[Edit]]:
    """Every edit of the plan, by file, in the order of the plan's files."""
    found = edits_by_file(plan.changes)
    order = [file.path for file in plan.files if file.path in found]
    return {path: found[path] for path in dict.fromkeys([*order, *found])}


def mismatches(plan: Plan, before: Mapping[str, bytes], after: Mapping[str, bytes]) -> list[str]:
    """Files whose new bytes are not exactly what the listed edits make of the old ones. Must be empty.

    A file that `after` does not hold stays as it is."""
    edits = edits_by_file(plan.changes)
    return [
        path
        for path in sorted({*before, *after, *edits})
        if not _agrees(before.get(path), after.get(path, before.get(path)), edits.get(path, []))
    ]


def _agrees(before: bytes | None, after: bytes | None, edits: list[Edit]) -> bool:
    if before is None or after is None:
        return False
    try:
        return apply_edits(before, edits) == after
    except Refused:
        return False
