"""`cfgmigrate prepare`: work out every value the swap touches and write a packet for review."""

from __future__ import annotations

from pathlib import Path

import click

from cfgmigrate.cli import options


@click.command("prepare", short_help="Work the swap out and write a packet.")
@options.configuration
@click.option(
    "--sheet", required=True, type=click.Path(path_type=Path), metavar="FILE", help="The swap sheet."
)
@click.option(
    "-o", "out", required=True, type=click.Path(path_type=Path), metavar="PACKET", help="The folder to write."
)
@click.option(
    "--from",
    "source",
    multiple=True,
    type=click.Path(path_type=Path),
    metavar="OLDCONFIG",
    help="Carry this configuration's values over into CONFIG (may be repeated).",
)
@click.option(
    "--rest",
    is_flag=True,
    help="The last install was a part of this swap, though the sheet was mended since: work out what is left.",
)
@options.names
@options.dialect
@options.rules
@options.as_json
def command(
    config: tuple[Path, ...],
    sheet: Path,
    out: Path,
    source: tuple[Path, ...],
    rest: bool,
    names: Path | None,
    dialects: tuple[str, ...],
    rules: Path | None,
    as_json: bool,
) -> None:
    """Work out every value the swap touches and write a packet for review. Your files are not touched."""
    from cfgmigrate import api

    options.put_in_order(*config)
    if source:
        options.put_in_order(*source)
    packet = api.prepare(
        config, sheet, out, names, options.said_dialects(dialects), rules, source=source, rest=rest
    )
    if as_json:
        import json

        options.print_json(json.loads((packet.folder / "changes.json").read_bytes()))
        return
    from cfgmigrate.reports.terminal import make_console, show_plan

    console = make_console()
    show_plan(packet.plan, console)
    click.echo(f"\nThe packet is in {out}. Nothing was installed yet.")
    click.echo(
        f"  Look through it:   {out / 'changes.html'} (or changes.md), and print {out / 'checklist.md'}"
    )
    click.echo(f"  Carry it out:      cfgmigrate install {out}")
    click.echo(f"  Take it back:      cfgmigrate revert {out}")
