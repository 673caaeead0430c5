"""What a revert did, and a history, on one screen where they are longer than that.

What fits is shown as `outcome_text.py` has it. What does not is shortened: conflicts and what has to be undone by hand
keep every line, what was put back is counted; of a history each entry takes a line, and the oldest are counted.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable, Mapping
from typing import TYPE_CHECKING, Any

from cfgmigrate.apply.asked_machine import sentences_of_others
from cfgmigrate.apply.going_back import TO_THE_LETTER
from cfgmigrate.apply.made_for_the_new import how_many_asked
from cfgmigrate.reports.console import ALARM, print_lines
from cfgmigrate.reports.feeders_called import named
from cfgmigrate.reports.outcome_text import (
    answers_to,
    conflict_line,
    kept_heading,
    restored_line,
    reverted_heading,
    stays_line,
    taken_out_heading,
)
from cfgmigrate.reports.screen import ScreenLine, wrapped
from cfgmigrate.reports.sections import SCREENFUL, one_screen, section
from cfgmigrate.reports.wording import count

if TYPE_CHECKING:
    from rich.console import Console

Outcome = Mapping[str, Any]


def show_fitting(
    console: Console,
    whole: Callable[[Console], None],
    short: Callable[[int], list[ScreenLine]] | None,
) -> None:
    """Print all of it where it fits a screen or there is no shorter form, else the shorter form."""
    if short is None or _fits(whole, console.width):
        whole(console)
    else:
        print_lines(console, short(console.width))


class _FullScreen(Exception):
    """More lines than a screen has."""


class _OneScreen(io.StringIO):
    """A screen; what does not fit need not be laid out any further."""

    def write(self, text: str) -> int:
        written = super().write(text)
        if self.getvalue().count("\n") > SCREENFUL:
            raise _FullScreen
        return written


def _fits(whole: Callable[[Console], None], width: int) -> bool:
    from rich.console import Console

    try:
        whole(Console(file=_OneScreen(), width=width, markup=False, emoji=False, highlight=False))
    except _FullScreen:
        return False
    return True


def revert_screen(report: Outcome, width: int, *, dry_run: bool) -> list[ScreenLine]:
    """What a revert put back, kept and left, and what is to be undone by hand."""
    ends, called = list(report["notes"]), report.get("called", {})
    if report["written"]:
        ends += [
            f"entry {report['entry']} of the history at {report['root']}",
            "Load the files into the machine again before you move anything.",
        ]
    answers = [answers_to(report["conflicts"])] if report["conflicts"] else []
    if report["kept"] or report["conflicts"]:
        ends.append(f"{TO_THE_LETTER}.")
    if asked := how_many_asked(report["notes"]):
        ends.append(asked)
    return one_screen(
        [
            section(
                reverted_heading(report, dry_run=dry_run),
                [named(text, called) for text in _told(report["restored"], restored_line)],
                width,
                "  · ",
            ),
            section(kept_heading(report), _told(report["kept"], stays_line), width, "  · "),
            section(taken_out_heading(report), _told(report.get("taken_out", ()), stays_line), width, "  · "),
            section("Left as they are", _told(report["left"], stays_line), width, "  · "),
            section(
                "Conflicts: nothing is written until you answer each",
                [*_told(report["conflicts"], conflict_line), *answers],
                width,
                "  ! ",
                style=ALARM,
                whole=True,
            ),
            section(
                "Done by hand: no file holds these, so undo by hand the ones you did",
                [named(text, called) for text in report["by_hand"]],
                width,
                "  - ",
                most=1,
            ),
            section("", ends, width, "  ! ", whole=True),
        ]
    )


def _told(items: Iterable[Outcome], tell: Callable[[Outcome], str]) -> list[str]:
    return [tell(item) for item in items]


def history_screen(report: Outcome, width: int, before: int = 0) -> list[ScreenLine]:
    """The entries, a line each, oldest first; the oldest are counted where there are too many, with the `before` that
    the report has not."""
    lines = []
    for entry in report["entries"]:
        fault = f" ({entry['problem']})" if entry.get("problem") else ""
        step = f"{entry['time']}: {entry['kind']}{fault}, {count(len(entry['values']), 'value')}"
        lines += wrapped(step, width, f"{entry['number']}. ", most=1)
    told = [
        *sentences_of_others(report.get("others", ())),
        *(f"the chain is broken: {text}" for text in report["problems"]),
    ]
    problems = [line for text in told for line in wrapped(text, width, "! ")]
    room = max(SCREENFUL - len(problems) - 1, 1)
    left = before + max(len(lines) - room, 0)
    older = [f"and {left:,} older: --full"] if left else []
    return [
        *(ScreenLine(line) for line in (*older, *lines[-room:])),
        *(ScreenLine(line, ALARM) for line in problems),
    ]
