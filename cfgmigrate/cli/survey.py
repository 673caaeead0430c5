"""`cfgmigrate survey`: what was understood, where it stands, and what was not."""

from __future__ import annotations

from pathlib import Path

import click

from cfgmigrate.cli import options


@click.command("survey", short_help="Show what is understood in your files.")
@options.configuration
@options.names
@options.dialect
@options.machine
@click.option(
    "--write-site",
    is_flag=True,
    help="Write cfgmigrate.yaml beside the files, with what each of them is, and do nothing else.",
)
@options.full
@options.as_json
def command(
    config: tuple[Path, ...],
    names: Path | None,
    dialects: tuple[str, ...],
    machine: tuple[Path, ...],
    write_site: bool,
    full: bool,
    as_json: bool,
) -> None:
    """Show what is understood in your files, where, and what is not. CONFIG: files or folders."""
    from cfgmigrate import api

    options.put_in_order(*config)
    said = options.said_dialects(dialects)
    if write_site:
        written = api.write_site(config, dialects=said, machine=machine)
        click.echo(
            f"Written to {written}. Look through it; whatever it says counts before what the files look like."
        )
        return
    found = api.survey(config, names, dialects=said, machine=machine).to_json()
    if as_json:
        options.print_json(found)
        return
    if full:
        from cfgmigrate.reports.console import make_console
        from cfgmigrate.reports.survey_text import show_survey

        show_survey(found, make_console())
        return
    from cfgmigrate.cli.lines import screen_width, show_lines
    from cfgmigrate.reports.safe_text import shell_word
    from cfgmigrate.reports.survey_screen import survey_screen

    show_lines(survey_screen(found, screen_width(), " ".join(map(shell_word, config))))
    from cfgmigrate.cli.interview import at_a_terminal

    if at_a_terminal():
        click.echo(f"or be asked for it: cfgmigrate sheet {' '.join(map(shell_word, config))} --ask")
