"""A console for people, and the few ways of printing to it.

Width, colour and pipe are the console's business: rich reads the terminal's width and leaves colour out
where it is not wanted (`NO_COLOR`, `TERM=dumb`, output into a pipe), and nothing here is said by colour
alone. Every text is inert and put in as `Text`, so that `[brackets]` of a file are never markup.

This module deliberately knows nothing of plans: it only prints what it is given.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, TextIO

from cfgmigrate.reports.safe_text import PROSE_LIMIT, inert

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    from cfgmigrate.reports.screen import ScreenLine

ALARM = "bold"
DIM = "dim"
MOST_LISTED = 1000
"""So many items of one list are shown; a broken file can have a doubt for each of its lines."""


def make_console(file: TextIO | None = None, *, error: bool = False) -> Console:
    """A console for standard output (or `file`, or standard error) that takes no text for markup. A pipe that is
    closed raises BrokenPipeError, which the command line knows how to take."""
    from rich.console import Console

    class Plain(Console):
        def on_broken_pipe(self) -> None:
            raise BrokenPipeError

    return Plain(file=file, stderr=error, markup=False, emoji=False, highlight=False)


def print_lines(console: Console, lines: Iterable[ScreenLine]) -> None:
    """Lines that fit the console already; nothing of them is wrapped again."""
    from rich.text import Text

    for one in lines:
        console.print(Text(one.text, style=one.style), soft_wrap=True)


def heading(console: Console, text: str) -> None:
    """A heading of its own: bold where the console can, underlined by a rule of text where it can't."""
    from rich.text import Text

    shown = inert(text)
    console.print()
    console.print(Text(shown, style="bold"))
    console.print(Text("─" * min(Text(shown).cell_len, console.width), style=DIM))


def line(console: Console, text: str, indent: int = 2, bullet: str = "", style: str = "") -> None:
    """One paragraph, wrapped at the console's width with its indentation kept and no trailing spaces."""
    from rich.text import Text

    lead = " " * indent + (f"{bullet} " if bullet else "")
    width = max(console.width - len(lead), 10)
    for index, part in enumerate(plain(text, style).wrap(console, width)):
        part.rstrip()
        console.print(Text(lead if index == 0 else " " * len(lead), style=style) + part, soft_wrap=True)


def plain(text: str, style: str = "") -> Text:
    """Inert text for rich, nothing in it markup."""
    from rich.text import Text

    return Text(inert(text.strip("\n"), PROSE_LIMIT), style=style, overflow="fold")


def make_table(*columns: str) -> Table:
    """An empty table in the house style: no colour, thin rules, long cells folded."""
    from rich import box
    from rich.table import Table

    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False, header_style="bold")
    for column in columns:
        table.add_column(column, overflow="fold")
    return table
