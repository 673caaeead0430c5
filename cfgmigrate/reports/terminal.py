"""The plan in a terminal: the same content as changes.md, shorter, through rich.

This module deliberately prints only to the console it is given; how that wraps and colours is in
`console.py`.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from cfgmigrate.plan.model import Plan
from cfgmigrate.reports import overview
from cfgmigrate.reports.card import Card, Cards, cards_of
from cfgmigrate.reports.card_text import show_card
from cfgmigrate.reports.console import ALARM, MOST, heading, line, make_console, make_table, plain
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
    "show_card",
    "show_comparison",
    "show_doubts",
    "show_plan",
    "show_survey",
]


def show_plan(plan: Plan, console: Console) -> None:
    """Everything in the plan, as a person reads it before looking at the page."""
    cards = cards_of(plan)
    show_summary(plan, console)
    for card in (*cards.by_hand, *cards.changes):
        show_card(console, card)
    for picture in pictured(plan):
        heading(console, picture.title)
        for name, value in picture.numbers:
            line(console, f"{name}: {value}", bullet="·")
    for card in cards.findings:
        show_card(console, card)
    if plan.left_alone:
        heading(console, "Left alone")
        for left in plan.left_alone:
            line(console, f"{left.id}: {left.why}", bullet="-")
    show_doubts(cards.doubts, console)
    if cards.legend:
        console.print()
        line(console, cards.legend)


def show_summary(plan: Plan, console: Console) -> None:
    """What was swapped, what to mind, every change in a line and what needs hands."""
    cards = cards_of(plan)
    heading(console, f"Changes for {plan.machine or 'this machine'}")
    line(console, overview.sentence(plan))
    pairs, rest = overview.swap_table(plan)
    for name, old, new in pairs:
        line(console, f"{name}: {old or '–'} → {new or '–'}", bullet="·")
    for name, text in rest:
        line(console, f"{name}: {text}", bullet="·")
    alarms = overview.alarms(cards)
    if alarms:
        heading(console, "Mind first: what could damage the machine or spoil its prints")
        for alarm in alarms:
            line(console, f"{alarm.number}, {alarm.about}: {alarm.text}", bullet="!", style=ALARM)
    if cards.changes or cards.by_hand:
        console.print()
        if cards.changes:
            console.print(_glance(cards))
        for card in cards.by_hand:
            line(console, f"{card.number}, {card.when}: {card.title}", bullet="·")


def show_doubts(doubts: Sequence[Card], console: Console) -> None:
    """What was not guessed, with the place and how to settle it."""
    if not doubts:
        return
    heading(console, "Doubts: not guessed, to be settled")
    for card in doubts[:MOST]:
        line(console, f"{card.number}, {card.places[0]}: {inert(card.title)}", bullet="?")
        line(console, card.says, indent=4)
        if card.instruction:
            line(console, f"to settle it: {card.instruction}", indent=4)
    if len(doubts) > MOST:
        line(console, f"and {len(doubts) - MOST:,} more; --json has them all", bullet="?")


def _glance(cards: Cards) -> Table:
    table = make_table("", "what", "where", "from", "to", "how sure")
    # a line number broken in two reads as two numbers
    longest = max((len(place) for card in cards.changes for place in card.places), default=0)
    table.columns[2].no_wrap = longest <= PLACE
    for card in cards.changes:
        table.add_row(
            card.number,
            plain(card.title),
            plain(", ".join(card.places)),
            plain(card.old),
            plain(card.new, "bold"),
            card.how_sure,
        )
    return table
