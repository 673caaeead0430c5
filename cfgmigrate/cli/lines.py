"""Lines that fit the terminal already, printed as they are: the short reports of one screen.

Such a report breaks its own lines, so it needs a width and now and then bold, and no library that draws tables: rich takes
longer to load than a report to be laid out. Where text has to be wrapped or put into a table, `reports/console.py` has
its console.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable
from contextlib import suppress
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from cfgmigrate.reports.screen import ScreenLine

#: columns where there is no terminal to ask, and kinds of terminals that can only print
USUAL_WIDTH = 80
_ONLY_PRINTS = ("dumb", "unknown")


def screen_width() -> int:
    """How many columns there are: as `COLUMNS` has it, else of the terminal, also where only what is printed goes elsewhere."""
    asked = os.environ.get("COLUMNS", "")
    if asked.isdecimal() and int(asked):
        return int(asked)
    for stream in (0, 1, 2):
        with suppress(OSError):
            return os.get_terminal_size(stream).columns or USUAL_WIDTH
    return USUAL_WIDTH


def show_lines(lines: Iterable[ScreenLine]) -> None:
    """Print the lines, in bold what has a style where the terminal can. A pipe that is closed raises BrokenPipeError."""
    styled = sys.stdout.isatty() and os.environ.get("TERM") not in _ONLY_PRINTS
    for one in lines:
        click.echo(click.style(one.text, bold=True) if styled and one.style else one.text)
