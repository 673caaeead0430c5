"""`cfgmigrate compare`: two configurations by meaning, across dialects."""

from __future__ import annotations

from pathlib import Path

import click

from cfgmigrate.cli import options, streams
from cfgmigrate.ground.new_text import refuse_taken, write_new_text


@click.command("compare", short_help="Compare two configurations by meaning.")
@click.argument("old", type=click.Path(path_type=Path), metavar="OLD")
@click.argument("new", type=click.Path(path_type=Path), metavar="NEW")
@options.names
@options.machine
@options.full
@options.as_json
@click.option(
    "--markdown", type=click.Path(path_type=Path), metavar="FILE", help="Write it as Markdown, too."
)
@click.option(
    "--page", type=click.Path(path_type=Path), metavar="FILE", help="Write it as one HTML page, too."
)
def command(
    old: Path,
    new: Path,
    names: Path | None,
    machine: tuple[Path, ...],
    full: bool,
    as_json: bool,
    markdown: Path | None,
    page: Path | None,
) -> int:
    """Compare two configurations by meaning, across dialects. Exit status 1 where values that are understood differ."""
    from cfgmigrate import api
    from cfgmigrate.workflow.inputs import within

    refuse_taken(markdown, page)
    options.put_in_order(old)
    options.put_in_order(new)
    for side in (old, new):
        options.say_files([side], {}, within([side], machine))
    found = api.compare(old, new, names=names, machine=machine).to_json()
    if markdown is not None:
        from cfgmigrate.reports.comparison import render_comparison_markdown

        write_new_text(markdown, render_comparison_markdown(found))
    if page is not None:
        from cfgmigrate.reports.comparison import render_comparison_page

        write_new_text(page, render_comparison_page(found))
    status = streams.answers(1 if found["differences"] or found["only_old"] or found["only_new"] else 0)
    if as_json:
        options.print_json(found)
        return status
    if full:
        from cfgmigrate.reports.console import make_console
        from cfgmigrate.reports.survey_text import show_comparison

        show_comparison(found, make_console())
        return status
    from cfgmigrate.cli.lines import screen_width, show_lines
    from cfgmigrate.reports.survey_screen import comparison_screen

    show_lines(comparison_screen(found, screen_width()))
    return status
