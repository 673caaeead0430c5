"""`cfgmigrate revert`: put the old values back."""

from __future__ import annotations

from pathlib import Path

import click

from cfgmigrate.cli import options


@click.command("revert", short_help="Put the old values back.")
@click.argument("packet", type=click.Path(path_type=Path), metavar="PACKET")
@options.dry_run
@click.option("--only", multiple=True, metavar="NAME", help="Revert only this one (may be repeated).")
@click.option("--keep", multiple=True, metavar="NAME", help="Leave this one as it is now.")
@click.option("--force", multiple=True, metavar="NAME", help="Revert this one though it was changed since.")
@click.option(
    "--whole",
    is_flag=True,
    help="Every file to the letter as it was, without the edits made since; those are kept beside.",
)
@click.option(
    "--to",
    "entry",
    metavar="ENTRY",
    help="Go back to an entry of the history, or to 'start'; PACKET is then the configuration.",
)
@click.option(
    "--all-machines", is_flag=True, help="With --to, where several machines share the history: all of them."
)
@options.root
@options.full
@options.as_json
def command(
    packet: Path,
    dry_run: bool,
    only: tuple[str, ...],
    keep: tuple[str, ...],
    force: tuple[str, ...],
    whole: bool,
    entry: str | None,
    all_machines: bool,
    root: Path | None,
    full: bool,
    as_json: bool,
) -> None:
    """Put the old values back. Files untouched since come back byte for byte; other edits are kept."""
    from cfgmigrate import api

    if entry is not None:
        done = api.revert_to(
            packet,
            entry,
            dry_run=dry_run,
            only=only,
            keep=keep,
            force=force,
            whole=whole,
            all_machines=all_machines,
        )
    else:
        done = api.revert(packet, root, dry_run=dry_run, only=only, keep=keep, force=force, whole=whole)
    report = done.to_json()
    if as_json:
        options.print_json(report)
        return
    from cfgmigrate.reports.console import make_console
    from cfgmigrate.reports.outcome_screen import revert_screen, show_fitting
    from cfgmigrate.reports.outcome_text import show_revert

    show_fitting(
        make_console(),
        lambda console: show_revert(report, console, dry_run=dry_run),
        None if full else lambda width: revert_screen(report, width, dry_run=dry_run),
    )
