"""What `prepare` and `tune` print once the packet is written: the plan on one screen, all of it, or the next step."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cfgmigrate.cli import options
from cfgmigrate.reports.safe_text import shell_word

if TYPE_CHECKING:
    from cfgmigrate.packet.folder import Packet
    from cfgmigrate.plan.model import Plan


def next_steps(packet: Path) -> list[str]:
    """What to do with a packet that was just written."""
    page, list_of_the_day = shell_word(packet / "changes.html"), shell_word(packet / "checklist.md")
    return [
        f"read     {page} (a second person), and print {list_of_the_day}",
        f"install  cfgmigrate install {shell_word(packet)}",
        f"revert   cfgmigrate revert {shell_word(packet)}",
    ]


def show_packet(plan: Plan, packet: Path, *, full: bool, quiet: bool, made: Packet | None = None) -> None:
    """The plan of the packet in that folder, and what is next; of the packet as `made`, what is left of its review."""
    from cfgmigrate.reports.terminal import make_console, show_full, show_plan

    if quiet:
        click.echo(f"Have a second person read {shell_word(packet / 'changes.html')}")
        return
    options.say_plan_files(plan)
    console = make_console()
    (show_full if full else show_plan)(plan, console, next_steps(packet))
    if made is not None and made.review is not None:
        from cfgmigrate.reports.console import line
        from cfgmigrate.reports.review_text import kept_lines

        for told in kept_lines(made):
            line(console, told, indent=0)
