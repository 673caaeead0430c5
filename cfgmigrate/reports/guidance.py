"""What to look at next, in a terminal and as JSON.

This module ranks nothing: the order is that of `rules/symptoms.py`.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from msgspec import to_builtins

from cfgmigrate.reports.console import ALARM, heading, line
from cfgmigrate.reports.safe_text import inert
from cfgmigrate.reports.screen import ScreenLine, wrapped
from cfgmigrate.reports.sections import Section, one_screen, section

if TYPE_CHECKING:
    from rich.console import Console

    from cfgmigrate.rules.symptoms import Guidance, Hint


def to_json(found: Guidance) -> dict[str, Any]:
    plain: dict[str, Any] = to_builtins(found)
    return plain


def show(found: Guidance, console: Console, config: str) -> None:
    """Each thing to look at, in order, and to whom to hand over at the end. `config` is for the
    commands, with the options that say which machine and which feeder."""
    heading(console, f"Seen: {found.seen}")
    line(console, found.says)
    for number, hint in enumerate(found.hints, 1):
        console.print()
        line(console, f"{number}. {hint.at}", indent=0, style="bold")
        _show(hint, console, config)
    console.print()
    line(console, f"If it was none of these: {found.end}")


def guide_screen(found: Sequence[Guidance], width: int, config: str) -> list[ScreenLine]:
    """The same on one screen: of each thing what to check, the script that helps, and what to beware of."""
    sections = []
    for one in found:
        items = []
        for number, hint in enumerate(one.hints, 1):
            told = wrapped(hint.at, width, f"{number}. ")
            told += wrapped(hint.check, width, "  > ", most=2)
            if hint.up_to:
                told += wrapped(value_now(hint), width, "  · ", most=1)
            if hint.trial:
                told += [f"  $ cfgmigrate trial {hint.trial} {inert(config)} -o {hint.trial}.nc"]
            told += [line for caution in hint.cautions for line in wrapped(caution, width, "  ! ", most=1)]
            items.append(tuple(told))
        sections.append(Section(f"Seen: {inert(one.seen)}", tuple(items)))
        sections.append(section("", [f"If it was none of these: {one.end}"], width, "", whole=True))
    return one_screen(sections)


def value_now(hint: Hint) -> str:
    """What the value in question is, and how far it may go."""
    if hint.value and hint.unread:
        most = f", and may go up to {hint.up_to}" if hint.up_to else ""
        return f"read it at the driver: it is to be {hint.value}{most}"
    if hint.full:
        return f"it is {hint.value} now, at its limit already ({hint.up_to})"
    limit = f", and may go up to {hint.up_to}" if hint.up_to else ""
    return f"it is {hint.value} now{limit}" if hint.value else f"it may go up to {hint.up_to}"


def _show(hint: Hint, console: Console, config: str) -> None:
    line(console, hint.why)
    line(console, f"check: {hint.check}", bullet=">")
    if hint.settles:
        line(console, f"settled by: {hint.settles}", bullet="=")
    if hint.value:
        line(console, value_now(hint), bullet="·")
    if hint.trial:
        line(console, f"cfgmigrate trial {hint.trial} {config} -o {hint.trial}.nc", bullet="$")
    if hint.measured:
        line(
            console,
            f"cfgmigrate tune {config} --measured FILE -o PACKET   (measured.{hint.measured})",
            bullet="$",
        )
    if hint.leads_to:
        line(console, f"if that was it: see {hint.leads_to}", bullet="·")
    for caution in hint.cautions:
        line(console, f"caution: {caution}", bullet="!", style=ALARM)
