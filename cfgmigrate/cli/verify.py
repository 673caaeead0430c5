"""`cfgmigrate verify`: recompute every value from the packet alone and check every hash."""

from __future__ import annotations

from pathlib import Path

import click

from cfgmigrate.cli import options


@click.command("verify", short_help="Recompute a packet's values and check its hashes.")
@options.packet
@options.as_json
def command(packet: Path, as_json: bool) -> int:
    """Recompute every value from the packet alone, check every hash, read the files again before and after, and
    see that the pages are those of the plan. Exit status 1 where it does not hold."""
    from cfgmigrate import api
    from cfgmigrate.reports.safe_text import inert

    problems = api.verify(packet)
    notes = () if problems else api.unverified(packet)
    if as_json:
        options.print_json({"holds": not problems, "problems": list(problems), "notes": list(notes)})
        return 1 if problems else 0
    if problems:
        click.echo("The packet does not hold:")
    else:
        click.echo(
            "The packet holds: every hash is right, and every value comes out the same by a second way."
        )
    for said in (*problems, *notes):
        click.echo(f"  {inert(said)}")
    return 1 if problems else 0
