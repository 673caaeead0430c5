"""A card in a terminal, whole: what `--full` and `review` show.

Everything that the card holds is printed, in the order in which a person asks for it: what moves, where, why, how
it follows, what to mind, how to check it.

This module deliberately prints only to the console it is given.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from cfgmigrate.reports import wording
from cfgmigrate.reports.card import Card, Kind
from cfgmigrate.reports.console import ALARM, DIM, heading, line
from cfgmigrate.reports.safe_text import inert

if TYPE_CHECKING:
    from rich.console import Console


def show_card(console: Console, card: Card) -> None:
    """One card with all its texts."""
    heading(console, ": ".join(filter(None, [f"{card.number}. {card.title}", _moves(card)])))
    whose = [card.quantity, card.how_sure, card.way, "" if card.holder == "machine" else card.holder]
    line(console, ", ".join(filter(None, [*whose, card.when])), style=DIM)
    for edit in card.edits:
        line(console, f"{edit.file}:{edit.line}:{edit.column}: {inert(edit.old)} → {inert(edit.new)}")
    if not card.edits:
        for place in card.places:
            line(console, place)
    if card.kind is not Kind.DOUBT and card.instruction:
        line(console, card.instruction)
    if card.says:
        line(console, wording.sentence(card.says))
    if card.kind is Kind.DOUBT and card.instruction:
        line(console, f"to settle it: {card.instruction}")
    for number, text in enumerate(card.steps, start=1):
        line(console, text, bullet=f"{number}.")
    _show_calculation(console, card)
    for name, text in card.facts:
        line(console, f"{name[:1].lower()}{name[1:]}: {text}", bullet="·")
    for text in card.notes:
        line(console, f"note: {text}", bullet="·")
    for text in card.warnings:
        line(console, f"warning: {text}", bullet="!", style=ALARM)
    for text in card.cautions:
        line(console, f"caution: {text}", bullet="!")
    if card.check:
        line(console, f"check at the machine: {card.check}", bullet=">")


def _moves(card: Card) -> str:
    return f"{card.old} → {card.new}" if card.old else card.new


def _show_calculation(console: Console, card: Card) -> None:
    if card.calculation is None:
        return
    for text in card.calculation.lines:
        line(console, text, indent=4)
    for given in card.calculation.legend:
        shared = f", {given.share} of the uncertainty" if given.share else ""
        line(console, f"{given.label}: {given.value} ({given.origin}{shared})", indent=4, bullet="·")
