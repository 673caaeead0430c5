"""The machine's record: each step of its history, each value, why, and who reviewed it; to hand on with the printer.

It is the history's own texts, laid out: nothing is worked out again, and what an older entry did not keep is
said to be missing. A history whose chain is broken says so first.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.apply.asked_machine import sentences_of_others, told_of_below, told_of_several
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
    #: the files that it changed, where the history tells of several machines; and by each value's name where it stood
    files: tuple[str, ...] = ()
    places: Mapping[str, str] = {}


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
        "machine": named[-1] if named and not history.several else machine,
        "problems": history.problems,
        "beside": told_beside(history),
        "steps": steps,
        "in_force": in_force(steps),
        "count": wording.capital(wording.count(len(steps), "step")),
        "legend": LEGEND if MARK in repr(steps) else "",
        "table": gfm.table,
    }


def told_beside(history: History) -> tuple[str, ...]:
    """What is to be said of other machines that share the history, or have their own below."""
    told = (told_of_several(history.several),) if history.several else ()
    below = (f"{told_of_below(history.below)}.",) if history.below else ()
    return (*below, *told, *sentences_of_others([each.to_json() for each in history.others]))


def steps_of(history: History) -> tuple[RecordedStep, ...]:
    """Every entry of the history as a step, oldest first."""
    numbers = {entry.packet: entry.number for entry in history if entry.kind not in ("revert", DONE)}
    labels = {
        change.get("id", change["quantity"]): change["label"]
        for entry in history
        for change in (entry.reasons or {}).get("changes", ())
    }
    several = bool(history.several)
    return tuple(_step(entry, numbers.get(entry.packet, 0), labels, several) for entry in history)


def in_force(steps: Sequence[RecordedStep]) -> tuple[tuple[str, str, str, int], ...]:
    """The values as the last step that touched each left them: name, value, how sure, step. Where the steps are several
    machines', one value is another one in each file, which is told with its name."""
    last = {}
    for step in steps:
        for card in step.values:
            place = step.places.get(card.key, "") if step.files else ""
            title = f"{card.title} ({place})" if place else card.title
            last[present_name(card.key), place] = (title, card.new, card.how_sure, step.number)
    return tuple(last.values())


def _step(entry: HistoryEntry, installed: int, labels: Mapping[str, str], several: bool) -> RecordedStep:
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
        files=tuple(file.path for file in entry.files) if several else (),
        places={span.name: file.path for file in entry.files for span in file.spans} if several else {},
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
