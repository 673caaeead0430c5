"""`cfgmigrate sheet`: a commented starter swap sheet, filled with what the files already say."""

from __future__ import annotations

from pathlib import Path

import click

from cfgmigrate.cli import options
from cfgmigrate.ground.findings import Place, Refused


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
        from cfgmigrate.cli.interview import ask as interview

        interview(config, out or Path("swap.yaml"), names, options.said_dialects(dialects), machine)
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
