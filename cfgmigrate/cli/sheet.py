"""`cfgmigrate sheet`: a commented starter swap sheet, filled with what the files already say."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cfgmigrate.cli import options
from cfgmigrate.ground.new_text import refuse_taken, write_new_text
from cfgmigrate.reports.safe_text import shell_word

if TYPE_CHECKING:
    from cfgmigrate.machine.model import Machine
    from cfgmigrate.sheet.several import Known


@click.command("sheet", short_help="Write a commented starter swap sheet.")
@options.configuration
@click.option(
    "-o", "out", type=click.Path(path_type=Path), metavar="FILE", help="Write it here instead of printing it."
)
@click.option(
    "--ask",
    is_flag=True,
    help="Ask, one question at a time, and keep each answer at once (in swap.yaml, or -o).",
)
@click.option(
    "--all", "whole", is_flag=True, help="Write every field there is, not only what this swap needs."
)
@click.option(
    "--slip",
    is_flag=True,
    help="Write a slip of what takes a multimeter, for someone who has one.",
)
@click.option(
    "--filled",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="SLIP",
    help="Put what a filled slip says into the sheet (swap.yaml, or -o).",
)
@options.full
@options.names
@options.dialect
@options.machine
def command(
    config: tuple[Path, ...],
    out: Path | None,
    ask: bool,
    whole: bool,
    slip: bool,
    filled: Path | None,
    full: bool,
    names: Path | None,
    dialects: tuple[str, ...],
    machine: tuple[Path, ...],
) -> None:
    """Write a commented starter swap sheet from the files, with what they already say filled in.

    On a terminal, without -o, --ask or --full, it only tells what the sheet will ask for.
    """
    from cfgmigrate import api
    from cfgmigrate.workflow.lane import known_feeders
    from cfgmigrate.workflow.look import starter_text

    options.put_in_order(*config)
    if ask:
        from cfgmigrate.cli.interview import ask as interview

        interview(config, out or Path("swap.yaml"), names, options.said_dialects(dialects), machine)
        return
    if filled is not None:
        _take_in_slip(
            filled, out or Path("swap.yaml"), config, names, options.said_dialects(dialects), machine
        )
        return
    refuse_taken(out)
    said = options.said_dialects(dialects)
    configuration, found = api.read_machine(config, names, said, machine)
    options.say(configuration.roles, err=True)
    if slip:
        text = _slip_text(configuration.root.name, config, known_feeders(configuration.site, found))
    elif out is None and not (whole or full) and sys.stdout.isatty():
        _show(found, config)
        return
    else:
        text = starter_text(found, configuration.root.name, whole)
    if out is None:
        click.echo(text, nl=False)
        return
    write_new_text(out, text)
    click.echo(
        f"Written to {out}."
        if slip
        else f"Written to {out}. Fill in what you know; values that need more are left alone, and listed."
    )


def _slip_text(machine: str, config: Sequence[Path], known: Known) -> str:
    """The slip, without what the sheet in swap.yaml says already."""
    from cfgmigrate.plan.open_fields import said_in
    from cfgmigrate.reports.slip import slip
    from cfgmigrate.sheet.reader import read_sheet

    sheet = Path("swap.yaml")
    said = said_in(read_sheet(sheet, known)) if sheet.is_file() else ()
    return slip(machine, said, " ".join(map(shell_word, config)))


def _take_in_slip(
    filled: Path,
    out: Path,
    config: Sequence[Path],
    names: Path | None,
    dialects: dict[str, str],
    machine: tuple[Path, ...],
) -> None:
    """Put what a slip says into the sheet, in one step; nothing where a line can't be right."""
    from cfgmigrate import api
    from cfgmigrate.ground.positioned_yaml import LONGEST_YAML
    from cfgmigrate.ground.user_file import read_given
    from cfgmigrate.reports.safe_text import inert
    from cfgmigrate.sheet import keeping
    from cfgmigrate.sheet.filled_slip import filled_slip
    from cfgmigrate.sheet.several import NO_NAMES
    from cfgmigrate.workflow.lane import known_feeders

    data = read_given(filled, "the slip", LONGEST_YAML)
    said = filled_slip(data.decode("utf-8-sig", "replace"), str(filled))
    known = NO_NAMES
    if out.exists():  # it may call a feeder as the files do
        configuration, found = api.read_machine(config, names, dialects, machine)
        known = known_feeders(configuration.site, found)
    kept = keeping.open_kept(out, config[0].resolve().name, known)
    keeping.answered_together(kept, {each.entry.path: each.text for each in said.values()})
    for path, each in said.items():
        click.echo(inert(f"{path}: {each.text}"))
    named = " ".join(map(shell_word, config))
    click.echo(f"Kept in {out}. Go on with: cfgmigrate sheet {named} --ask -o {shell_word(out)}")


def _show(machine: Machine, config: Sequence[Path]) -> None:
    from cfgmigrate.cli.lines import screen_width, show_lines
    from cfgmigrate.plan.asking_order import needed_fields
    from cfgmigrate.plan.unlocking import Workings
    from cfgmigrate.reports.sheet_screen import sheet_screen
    from cfgmigrate.rules import library
    from cfgmigrate.sheet.model import Sheet

    bench = Workings(library.book(), machine, library.tables())
    named = " ".join(map(shell_word, config))
    following = [
        f"cfgmigrate sheet {named} --ask             (asks one by one)",
        f"cfgmigrate sheet {named} -o swap.yaml      (a file to fill in)",
        f"cfgmigrate sheet {named} --slip            (what takes a multimeter, to send)",
    ]
    fields = needed_fields(bench, Sheet("swap.yaml", b""))
    show_lines(sheet_screen(fields, screen_width(), following))
