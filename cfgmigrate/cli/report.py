"""`cfgmigrate report`: the machine's record, to hand on with the printer."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from cfgmigrate.cli import options
from cfgmigrate.ground.new_text import refuse_taken, write_new_texts

#: the two forms and their files
FORMS = {"markdown": "record.md", "html": "record.html"}


@click.command("report", short_help="Write the machine's record.")
@options.configuration
@click.option(
    "-o", "out", type=click.Path(path_type=Path), metavar="PLACE",
    help="A folder for record.md and record.html, or a file ending in .md or .html. Without it: print Markdown.",
)  # fmt: skip
@options.full
def command(config: tuple[Path, ...], out: Path | None, full: bool) -> None:
    """Write the machine's record: each step of the history at CONFIG, each value, why, and who reviewed it.

    On a terminal, without -o or --full, the steps are told in short.
    """
    from cfgmigrate import api

    options.put_in_order(*config)
    if out is None and not full and sys.stdout.isatty():
        from cfgmigrate.cli.lines import screen_width, show_lines
        from cfgmigrate.reports.record_screen import record_screen
        from cfgmigrate.reports.safe_text import shell_word

        show_lines(record_screen(api.history(config), " ".join(map(shell_word, config)), screen_width()))
        return
    if out is None:
        click.echo(api.report(config, "markdown"), nl=False)
        return
    suffixes = {Path(name).suffix: form for form, name in FORMS.items()}
    wanted = (
        {out: suffixes[out.suffix]}
        if out.suffix in suffixes
        else {out / name: form for form, name in FORMS.items()}
    )
    refuse_taken(*wanted)
    if out not in wanted and out.exists() and not out.is_dir():
        refuse_taken(out)
    texts = {place: api.report(config, form) for place, form in wanted.items()}
    write_new_texts(texts)
    for place in texts:
        click.echo(f"Written to {place}.")
