"""What every report says about a plan as a whole: the warnings, the counts, the one sentence, the swap.

What is said of a single change, step or finding is in `card.py`.

This module deliberately knows no output format.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct

from cfgmigrate.ground.findings import Refused
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.plan.edits import apply_edits, edits_by_file
from cfgmigrate.plan.model import Edit, Plan
from cfgmigrate.reports import wording
from cfgmigrate.reports.card import Card, Cards
from cfgmigrate.rules.result import Status

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
    "feed_per_turn": "feed per motor turn",
    "tube.length": "tube",
    "driver.part": "driver",
}


ANSWERED_BY_NAME = pattern(r"names file|cfgmigrate\.yaml")
"""In the instruction of a question: it is answered by saying what a name means."""


def how_to_answer(cards: Cards) -> str:
    """How the questions of a plan are answered, also with no, and what comes after; "" where there are none."""
    if not cards.doubts:
        return ""
    named = any(ANSWERED_BY_NAME.search(card.instruction) for card in cards.doubts)
    by_name = (
        "What is answered by name stands in cfgmigrate.yaml beside the configuration, below site: 1 and meanings: yes is the "
        "line that the question names; no is the same name with ignore, or with the other unit (A peak). "
        if named
        else ""
    )
    return f"{by_name}Once a file was changed, prepare again: install refuses files that are no longer what was read."


#: with its sign, which is no part of a range
_NUMBER = pattern(r"(?:(?<![\w.])[-\u2212])?\d+(?:\.\d+)?")


class Alarm(Struct, frozen=True):
    """Something that could damage the machine with this plan's own numbers, and the card it belongs to."""

    number: str
    about: str
    text: str

    @property
    def numbers(self) -> list[str]:
        """The cards, each by itself."""
        return self.number.split(", ")


def alarms(cards: Cards) -> list[Alarm]:
    """All warnings, by-hand items first: a wrong screw does harm before any file is read."""
    found = [Alarm(card.number, card.title.rstrip("."), text) for card in cards.all for text in card.warnings]
    # one rule's warning may travel with every value that rests on it: say it once
    seen: dict[str, Alarm] = {}
    for alarm in found:
        seen.setdefault(alarm.text, alarm)
    alike: dict[tuple[str, str], list[Alarm]] = {}
    for alarm in seen.values():
        alike.setdefault((_NUMBER.sub("#", alarm.about), _NUMBER.sub("#", alarm.text)), []).append(alarm)
    return [_together(several) for several in alike.values()]


def _together(several: Sequence[Alarm]) -> Alarm:
    """Warnings that differ in their numbers alone, as several profiles give them, as one."""
    first = several[0]
    if len(several) == 1:
        return first
    about = _in_one([each.about for each in several])
    text = _in_one([each.text for each in several])
    return Alarm(", ".join(each.number for each in several), about, text)


def _in_one(texts: Sequence[str]) -> str:
    """Texts that differ in their numbers alone, with all the numbers at each place."""
    numbers = iter(zip(*(_NUMBER.findall(text) for text in texts), strict=True))
    return _NUMBER.sub(lambda _: wording.in_a_row(dict.fromkeys(next(numbers))), texts[0])


def questions(cards: Cards) -> list[list[Card]]:
    """What was not guessed; those that say the same of several places together, in the order of the first."""
    found: dict[str, list[Card]] = {}
    for card in cards.doubts:
        found.setdefault(card.says, []).append(card)
    return list(found.values())


def alike(cards: Sequence[Card]) -> list[list[Card]]:
    """Steps by hand that differ in their holder alone are one step of the day; each keeps its number, for it is reviewed."""
    found: dict[tuple[object, ...], list[Card]] = {}
    for card in cards:
        said = card.title, card.new, card.instruction, card.says, card.steps, card.check, card.check_at
        found.setdefault((*said, card.rule, card.when, card.warnings, card.cautions), []).append(card)
    return list(found.values())


def spans(numbers: Sequence[str]) -> str:
    """Cards by their numbers, those in a row as a span: `H1 to H6, H9`."""
    rows: list[list[str]] = []
    for number in numbers:
        follows = rows and int(number[1:]) == int(rows[-1][-1][1:]) + 1
        if follows:
            rows[-1].append(number)
        else:
            rows.append([number])
    return ", ".join(row[0] if len(row) == 1 else f"{row[0]} to {row[-1]}" for row in rows)


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
    hands = f"{wording.count(len(plan.by_hand), 'step')} by hand"
    doubts = wording.count(len(plan.doubts), "question")
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
