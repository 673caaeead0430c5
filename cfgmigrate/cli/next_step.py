"""What `prepare` and `tune` print once the packet is written: the plan on one screen, all of it, or the next step."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cfgmigrate.cli import options
from cfgmigrate.reports.safe_text import shell_word

if TYPE_CHECKING:
    from cfgmigrate.packet.folder import Packet
    from cfgmigrate.plan.model import Plan

#: an install that takes on more lights than this is not offered ready to copy
MOST_TAKEN_ON = 2


def next_steps(packet: Path, unknown: Sequence[str] = (), ask: str = "", *, asked: bool = True) -> list[str]:
    """What to do with a packet that was just written. While lights are `unknown` (by name), what settles them comes
    first, by the command `ask` where an answer is `asked` for, and an install is offered only with their names in it."""
    page, list_of_the_day = shell_word(packet / "changes.html"), shell_word(packet / "checklist.md")
    install = f"cfgmigrate install {shell_word(packet)}"
    if len(unknown) > MOST_TAKEN_ON:
        install = f"refused while {len(unknown)} lights are unknown; {install} names them"
    elif unknown:
        taken_on = " ".join(f"--accept-unknown {shell_word(name)}" for name in unknown)
        install = f"at your own risk: {install} {taken_on}"
    if not asked:
        ask = f"{shell_word(packet / 'changes.md')} says how"
    return [
        *([f"settle   {ask} (then prepare again)"] if unknown and ask else []),
        f"read     {page} (a second person), and print {list_of_the_day}",
        f"install  {install}",
        f"revert   cfgmigrate revert {shell_word(packet)}",
    ]


def show_packet(
    plan: Plan, packet: Path, *, full: bool, quiet: bool, made: Packet | None = None, ask: str = ""
) -> None:
    """The plan of the packet in that folder, and what is next; of the packet as `made`, what is left of its review.
    `ask` is the command that asks for what settles an unknown light."""
    from cfgmigrate.cli.lines import screen_width, show_lines
    from cfgmigrate.plan.lights_left import unknown
    from cfgmigrate.reports.terminal import SCREEN, make_console, screen, show_full

    lights = unknown(plan.lights)
    dark = [light.name for light in lights]
    asked = any(light.missing for light in lights)
    if quiet:
        settle = f"{', '.join(dark)} unknown. Settle it first: {ask}" if dark and ask else ""
        click.echo(settle or f"Have a second person read {shell_word(packet / 'changes.html')}")
        return
    above = options.plan_files(plan)
    for text in above:
        click.echo(text)
    following = next_steps(packet, dark, ask, asked=asked)
    if full:
        show_full(plan, make_console(), following)
    else:
        width = screen_width()
        show_lines(screen(plan, width, following, SCREEN - sum(_lines(text, width) for text in above)))
    if made is not None and made.review is not None:
        from cfgmigrate.reports.console import line
        from cfgmigrate.reports.review_text import kept_lines

        for told in kept_lines(made):
            line(make_console(), told, indent=0)


def _lines(text: str, width: int) -> int:
    """How many lines of a terminal a text takes that breaks where the screen ends."""
    from cfgmigrate.reports.screen import width_of

    return max(1, -(-width_of(text) // width))
