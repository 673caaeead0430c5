"""`cfgmigrate history`: what was installed and reverted here."""

from __future__ import annotations

from pathlib import Path

import click

from cfgmigrate.cli import options


@click.command("history", short_help="List what was installed and reverted here.")
@options.configuration
@options.full
@options.as_json
def command(config: tuple[Path, ...], full: bool, as_json: bool) -> int:
    """List what was installed and reverted at this configuration. Exit status 1 where the chain is broken.

    With --full or --json every entry and every kept copy is read and checked anew.
    """
    from cfgmigrate import api

    options.put_in_order(*config)
    found = api.history(config, anew=full or as_json)
    if as_json:
        options.print_json(found.to_json())
    else:
        from cfgmigrate.reports.console import make_console
        from cfgmigrate.reports.outcome_screen import history_screen, show_fitting
        from cfgmigrate.reports.outcome_text import show_history
        from cfgmigrate.reports.sections import SCREENFUL

        # one more than fits, so that what fits is all
        said = found.to_json(newest=None if full else SCREENFUL + 1)
        older = len(found) - len(said["entries"])
        show_fitting(
            make_console(),
            lambda console: show_history(said, console),
            None if full else lambda width: history_screen(said, width, older),
        )
    return 0 if found.whole else 1
