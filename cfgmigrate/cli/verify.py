"""`cfgmigrate verify`: work the packet out again from what lies in it, and check every hash."""

from __future__ import annotations

from pathlib import Path

import click

from cfgmigrate.cli import options, streams

HOLDS = "The packet holds: every hash is right, and working it out again gives the same, by its rules and by a second way."

UNPROVEN = "Nothing speaks against the packet, but not all of it can be proven by the packet alone:"


@click.command("verify", short_help="Work a packet out again and check its hashes.")
@options.packet
@options.as_json
def command(packet: Path, as_json: bool) -> int:
    """Work the plan out again from the packet's own files, sheet and rules, and every value by a second way; check
    every hash, read the files again before and after, and see that the pages are those of the plan. Exit status 1
    where it does not hold."""
    from cfgmigrate import api
    from cfgmigrate.reports.safe_text import inert

    found = api.verified(packet)
    status = streams.answers(1 if found.problems else 0)
    problems, notes = found.problems, () if found.problems else found.notes
    if as_json:
        options.print_json(
            {
                "holds": not problems,
                "proven": not problems and not found.unproven,
                "problems": list(problems),
                "notes": list(notes),
                "unproven": list(() if problems else found.unproven),
            }
        )
        return status
    if problems:
        click.echo("The packet does not hold:")
    elif found.unproven:
        click.echo(UNPROVEN)
    else:
        click.echo(HOLDS)
    for said in (*problems, *notes):
        click.echo(f"  {inert(said)}")
    return status
