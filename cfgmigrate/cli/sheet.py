"""`cfgmigrate sheet`: a commented starter swap sheet, filled with what the files already say."""

from __future__ import annotations

from pathlib import Path

import click

from cfgmigrate.cli import options
from cfgmigrate.ground.findings import Place, Refused
from cfgmigrate.reports.safe_text import shell_word


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
@options.names
@options.dialect
@options.machine
def command(
    config: tuple[Path, ...],
    out: Path | None,
    ask: bool,
    whole: bool,
    names: Path | None,
    dialects: tuple[str, ...],
    machine: tuple[Path, ...],
) -> None:
    """Write a commented starter swap sheet from the files, with what they already say filled in."""
    from cfgmigrate import api
    from cfgmigrate.workflow.look import starter_text

    options.put_in_order(*config)
    if ask:
        _ask(config, out or Path("swap.yaml"), names, options.said_dialects(dialects), machine)
        return
    if out is not None and out.exists():
        raise Refused("there is a file already", Place(str(out)), "Name another one, or move it away.")
    said = options.said_dialects(dialects)
    configuration, found = api.read_machine(config, names, said, machine)
    options.say(configuration.roles, err=True)
    text = starter_text(found, configuration.root.name, whole)
    if out is None:
        click.echo(text, nl=False)
        return
    out.write_text(text, encoding="utf-8")
    click.echo(f"Written to {out}. Fill in what you know; whatever is missing is left alone and says so.")


def _ask(
    config: tuple[Path, ...], out: Path, names: Path | None, said: dict[str, str], machine: tuple[Path, ...]
) -> None:
    """The interview, once it is told which files are the machine's."""
    from cfgmigrate import api
    from cfgmigrate.cli.interview import ask_at
    from cfgmigrate.plan.unlocking import Bench
    from cfgmigrate.rules import library

    configuration, found = options.answered(
        lambda machine: api.read_machine(config, names, said, machine, certain=True), machine
    )
    options.say(configuration.roles)
    bench = Bench(library.book(), found, library.tables())
    ask_at(out, bench, configuration.root.name, " ".join(shell_word(path) for path in config))
