"""`cfgmigrate survey`: what was understood, where it stands, and what was not."""

from __future__ import annotations

from pathlib import Path

import click

from cfgmigrate.cli import options


@click.command("survey", short_help="What was understood of the files.")
@options.configuration
@options.names
@options.dialect
@options.as_json
def command(config: tuple[Path, ...], names: Path | None, dialects: tuple[str, ...], as_json: bool) -> None:
    """What was understood of the files, where it stands, and what was not. CONFIG: files or folders."""
    from cfgmigrate import api

    options.put_in_order(*config)
    found = api.survey(config, names, dialects=options.said_dialects(dialects)).to_json()
    if as_json:
        options.print_json(found)
        return
    from cfgmigrate.reports.terminal import make_console, show_survey

    show_survey(found, make_console())
