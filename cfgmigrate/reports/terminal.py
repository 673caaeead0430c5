"""The plan in a terminal: the same content as changes.md, shorter, through rich.

This module deliberately prints only to the console it is given; how that wraps and colours is in
`console.py`.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from cfgmigrate.ground.findings import Doubt
from cfgmigrate.plan.model import ByHand, Change, Plan
from cfgmigrate.reports import overview, wording
from cfgmigrate.reports.console import ALARM, DIM, MOST, heading, line, make_console, make_table, plain
from cfgmigrate.reports.picture_text import pictured
from cfgmigrate.reports.safe_text import inert
from cfgmigrate.reports.survey_text import show_comparison, show_survey

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

PLACE = 24
"""A place up to this length is not broken in a table; longer ones have to be."""

__all__ = [
    "make_console",
    "show_by_hand",
    "show_change",
    "show_comparison",
    "show_doubts",
    "show_plan",
    "show_survey",
]


def show_plan(plan: Plan, console: Console) -> None:
    """Everything in the plan, as a person reads it before looking at the page."""
    show_summary(plan, console)
    for index, change in enumerate(plan.changes, start=1):
        show_change(console, index, change)
    if plan.by_hand:
        heading(console, "By hand")
        for item in plan.by_hand:
            show_by_hand(console, item)
    for picture in pictured(plan):
        heading(console, picture.title)
        for name, value in picture.numbers:
            line(console, f"{name}: {value}", bullet="·")
    if plan.findings:
        heading(console, "Worth knowing")
        for finding in plan.findings:
            line(console, f"{overview.title(finding)}: {overview.finding_value(finding)}", bullet="-")
    if plan.left_alone:
        heading(console, "Left alone")
        for left in plan.left_alone:
            line(console, f"{left.quantity}: {left.why}", bullet="-")
    show_doubts(plan.doubts, console)


def show_summary(plan: Plan, console: Console) -> None:
    """What was swapped, what to mind, every change in a line and what needs hands."""
    heading(console, f"Changes for {plan.machine or 'this machine'}")
    line(console, overview.sentence(plan))
    pairs, rest = overview.swap_table(plan)
    for name, old, new in pairs:
        line(console, f"{name}: {old or '–'} → {new or '–'}", bullet="·")
    for name, text in rest:
        line(console, f"{name}: {text}", bullet="·")
    alarms = overview.alarms(plan)
    if alarms:
        heading(console, "Mind first: what could damage the machine or spoil its prints")
        for alarm in alarms:
            line(console, f"{alarm.about}: {alarm.text}", bullet="!", style=ALARM)
    if plan.changes or plan.by_hand:
        console.print()
        if plan.changes:
            console.print(_glance(plan))
        for item in plan.by_hand:
            line(console, f"by hand, {item.when}: {overview.title(item)}", bullet="·")


def show_doubts(doubts: Iterable[Doubt], console: Console) -> None:
    """What was not guessed, with the place and how to settle it."""
    doubts = list(doubts)
    if not doubts:
        return
    heading(console, "Doubts: not guessed, to be settled")
    for doubt in doubts[:MOST]:
        line(console, f"{doubt.place}: {inert(doubt.text)}", bullet="?")
        line(console, doubt.why, indent=4)
        if doubt.remedy:
            line(console, f"to settle it: {doubt.remedy}", indent=4)
    if len(doubts) > MOST:
        line(console, f"and {len(doubts) - MOST:,} more; --json has them all", bullet="?")


def _glance(plan: Plan) -> Table:
    table = make_table("", "what", "where", "from", "to", "how sure")
    # a line number broken in two reads as two numbers
    longest = max((len(place) for change in plan.changes for place in overview.places(change)), default=0)
    table.columns[2].no_wrap = longest <= PLACE
    for index, change in enumerate(plan.changes, start=1):
        sure = " ".join(filter(None, [change.status.value, overview.sureness(change)]))
        table.add_row(
            str(index),
            plain(overview.title(change)),
            plain(", ".join(overview.places(change))),
            plain(overview.old_value(change)),
            plain(overview.new_value(change), "bold"),
            sure,
        )
    return table


def show_change(console: Console, index: int, change: Change) -> None:
    """One change with its derivation, cautions and check."""
    heading(console, f"{index}. {overview.title(change)}")
    line(
        console,
        f"{change.quantity}, {change.status.value}{', ' if change.way else ''}{change.way}",
        style=DIM,
    )
    for edit in change.edits:
        line(console, f"{edit.file}:{edit.line}:{edit.column}: {inert(edit.old)} → {inert(edit.new)}")
    if change.says:
        line(console, change.says)
    for text in overview.derivation_lines(change.derivation, overview.worked_out(change)):
        line(console, text, indent=4)
    for given in change.derivation.inputs:
        part = wording.share(given.share)
        shared = f", {part} of the uncertainty" if part else ""
        label = given.label or given.name
        line(
            console, f"{label}: {overview.input_value(given)} ({given.origin}{shared})", indent=4, bullet="·"
        )
    behind = overview.deeper_text(change.derivation)
    if behind:
        line(console, f"the uncertainty comes from {behind}", indent=4)
    line(console, f"rounding: {change.rounding or 'none'}", indent=4)
    for check in change.cross_checks:
        value = overview.check_value(check, change)
        line(console, f"cross-check by {check.way}: {value}; {check.note}", bullet="=")
    if overview.try_range(change):
        line(console, f"try {overview.try_range(change)}", bullet="~")
    for text in change.notes:
        line(console, f"note: {text}", bullet="·")
    _show_cautions(console, change)


def show_by_hand(console: Console, item: ByHand) -> None:
    """One thing that no file can do."""
    value = overview.by_hand_value(item)
    line(
        console,
        f"{overview.title(item)}{': ' if value else ''}{value} ({item.when})",
        bullet="-",
        style="bold",
    )
    if overview.instruction(item):
        line(console, overview.instruction(item), indent=4)
    line(console, wording.sentence(item.why), indent=4)
    for text in overview.by_hand_lines(item):
        line(console, text, indent=6)
    for number, text in enumerate(item.steps, start=1):
        line(console, text, indent=4, bullet=f"{number}.")
    _show_cautions(console, item, indent=4)


def _show_cautions(console: Console, item: Change | ByHand, indent: int = 2) -> None:
    for text in item.warnings:
        line(console, f"warning: {text}", indent=indent, bullet="!", style=ALARM)
    for text in item.cautions:
        line(console, f"caution: {text}", indent=indent, bullet="!")
    if item.verify:
        line(console, f"verify: {item.verify}", indent=indent, bullet=">")
