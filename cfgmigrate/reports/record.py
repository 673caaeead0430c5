"""The machine's record: each step of its history, each value, why, and who reviewed it; to hand on with the printer.

It is the history's own texts, laid out: nothing is worked out again, and what an older entry did not keep is
said to be missing. A history whose chain is broken says so first.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.machine.quantities import known, quantity
from cfgmigrate.reports import gfm, html, wording
from cfgmigrate.reports.card import Card, recorded_card
from cfgmigrate.reports.practice import LEGEND, MARK
from cfgmigrate.rules.former_names import present_name
from cfgmigrate.store.entries import DONE, HistoryEntry
from cfgmigrate.store.history import History

#: how each kind of entry is called
STEP_TITLES = {"install": "Installed", "tune": "Tuned", "revert": "Reverted", DONE: "Done by hand"}


class RecordedStep(Struct, frozen=True):
    number: int
    title: str
    time: str
    packet: str
    people: str
    values: tuple[Card, ...]
    by_hand: tuple[tuple[str, str, str], ...]
    doubts: tuple[str, ...]
    problem: str


def render_markdown(history: History, machine: str) -> str:
    """The record as Markdown that also reads as plain text."""
    return gfm.tidy(gfm.environment().get_template("record.md").render(**_context(history, machine)))


def render_html(history: History, machine: str) -> str:
    """The record as one page that fetches nothing and runs nothing."""
    style = html.asset("page.css")
    page = html.environment().get_template("record.html")
    styled = {"policy": html.own(html.policy(style)), "css": html.own(style)}
    return page.render(**_context(history, machine), **styled).lstrip()


def _context(history: History, machine: str) -> dict[str, Any]:
    named = [entry.machine for entry in history if entry.machine]
    steps = steps_of(history)
    return {
        "machine": named[-1] if named else machine,
        "problems": history.problems,
        "steps": steps,
        "in_force": in_force(steps),
        "count": wording.capital(wording.count(len(steps), "step")),
        "legend": LEGEND if MARK in repr(steps) else "",
        "table": gfm.table,
    }


def steps_of(history: History) -> tuple[RecordedStep, ...]:
    """Every entry of the history as a step, oldest first."""
    numbers = {entry.packet: entry.number for entry in history if entry.kind not in ("revert", DONE)}
    labels = {
        change.get("id", change["quantity"]): change["label"]
        for entry in history
        for change in (entry.reasons or {}).get("changes", ())
    }
    return tuple(_step(entry, numbers.get(entry.packet, 0), labels) for entry in history)


def in_force(steps: Sequence[RecordedStep]) -> tuple[tuple[str, str, str, int], ...]:
    """The values as the last step that touched each left them: name, value, how sure, step."""
    last = {
        present_name(card.key): (card.title, card.new, card.how_sure, step.number)
        for step in steps
        for card in step.values
    }
    return tuple(last.values())


def _step(entry: HistoryEntry, installed: int, labels: Mapping[str, str]) -> RecordedStep:
    said: Mapping[str, Any] = entry.reasons or {}
    kept = {change.get("id", change["quantity"]): change for change in said.get("changes", ())}
    title = STEP_TITLES.get(entry.kind, entry.kind)
    if entry.kind == "revert" and installed:
        title += f": step {installed}"
    return RecordedStep(
        number=entry.number,
        title=title,
        time=entry.time,
        packet=entry.packet,
        people=_people(said) if said else "",
        values=tuple(
            replace(_card(name, old, new, kept.get(name)), title=_called(name, labels))
            for name, old, new in dict.fromkeys(entry.values)  # a value in two places is told once
        ),
        by_hand=(
            *((item["what"], item["why"], _verdict(item)) for item in said.get("by_hand", ())),
            *((item, "", "") for item in said.get("done", ())),
        ),
        doubts=tuple(said.get("doubts", ())),
        problem=entry.problem,
    )


def _people(said: Mapping[str, Any]) -> str:
    prepared = said.get("prepared_by") or "somebody who is not named"
    if not said.get("reviewer"):
        return f"Prepared by {prepared}; not reviewed by a second person."
    return f"Prepared by {prepared}; reviewed by {said['reviewer']} on {said['reviewed']}."


def _called(name: str, labels: Mapping[str, str]) -> str:
    """What people call a value, by any step that said it, else by what it is of; and whose it is."""
    base, at, holder = present_name(name).partition(" @ ")
    return wording.capital(labels.get(name) or (quantity(base).label if known(base) else base)) + at + holder


def _card(name: str, old: str, new: str, said: Mapping[str, Any] | None) -> Card:
    return recorded_card(name, old, new, said, _verdict(said) if said else "")


def _verdict(item: Mapping[str, Any]) -> str:
    note = f": {item['note']}" if item.get("note") else ""
    return f"{item['verdict']}{note}" if item.get("verdict") else ""
