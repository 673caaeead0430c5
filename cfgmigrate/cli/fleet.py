"""`cfgmigrate prepare --fleet`: many machines at once, with a bar that shows how far it is.

The bar is on standard error and only on a terminal. Each machine's error is told on standard error as it would
be for that machine alone, behind its name.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cfgmigrate.cli import options

if TYPE_CHECKING:
    from rich.progress import Progress

    from cfgmigrate.fleet.groups import Record


def prepare_fleet(
    fleet_file: Path,
    out: Path,
    names: Path | None,
    rules: Path | None,
    workers: int | None,
    pages: bool,
    as_json: bool,
) -> int:
    """Exit status 1 where a machine has no packet, or the run was interrupted."""
    from cfgmigrate.fleet import run
    from cfgmigrate.reports.safe_text import inert

    bar = _Bar()
    try:
        with bar:
            found = run.prepare_fleet(
                fleet_file,
                out,
                names=names,
                rules=rules,
                workers=workers,
                pages=pages,
                begun=bar.begin,
                took=bar.step,
            )
    except KeyboardInterrupt:
        click.echo(
            inert(f"Stopped. The packets in {out} are whole; the same command goes on where it stopped.", 0),
            err=True,
        )
        return 1
    for text in found.unused:
        click.echo(inert(f"cfgmigrate: {text}", 0), err=True)
    for record in found.records:
        if record.error:
            click.echo(
                "\n".join(
                    inert(line, 0) for line in f"cfgmigrate: {record.name}: {record.error}".split("\n")
                ),
                err=True,
            )
    if as_json:
        from cfgmigrate.fleet.summary import summary

        options.print_json(summary(found.fleet, found.records, found.beside))
    else:
        from cfgmigrate.fleet.terminal import show
        from cfgmigrate.reports.console import make_console

        show(found.fleet, found.records, out, make_console(), found.beside, found.kept)
    return 0 if found.whole else 1


class _Bar:
    """How many machines are done, on a terminal; nothing elsewhere."""

    def __init__(self) -> None:
        self.progress: Progress | None = None
        self.add: Callable[[Record], None] = lambda record: None

    def begin(self, machines: int) -> None:
        if not sys.stderr.isatty():
            return
        from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

        from cfgmigrate.reports.console import make_console

        columns = (TextColumn("machines"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
        failed = TextColumn("{task.fields[failed]}", markup=False)
        progress = Progress(*columns, failed, console=make_console(error=True), transient=True)
        task = progress.add_task("machines", total=machines, failed="")
        without = 0

        def add(record: Record) -> None:
            nonlocal without
            without += bool(record.error)
            progress.update(task, advance=1, failed=f"{without} without a packet" if without else "")

        self.progress, self.add = progress, add
        progress.start()

    def step(self, record: Record) -> None:
        self.add(record)

    def __enter__(self) -> None:
        pass

    def __exit__(self, *raised: object) -> None:
        if self.progress is not None:
            self.progress.stop()
