"""`cfgmigrate install`: carry a packet's changes out, all or none."""

from __future__ import annotations

from pathlib import Path

import click

from cfgmigrate.cli import options
from cfgmigrate.ground.findings import BadInput, Place


@click.command("install", short_help="Write a packet's changes into your files.")
@options.packet
@click.option(
    "--require-review", is_flag=True, help="Only what someone other than the preparer has accepted."
)
@click.option(
    "--signed-by",
    "signers",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="With --require-review: only what was accepted and signed by those in FILE (OpenSSH's allowed signers).",
)
@click.option(
    "--accept-unknown",
    "accepted",
    multiple=True,
    metavar="LIGHT",
    help="Install although this light is unknown, by its name, such as 'retraction @ filament petg'.",
)
@click.option(
    "--despite-hold",
    "despite",
    multiple=True,
    metavar="CHANGE",
    help="Install this change although somebody holds it, or questions a feed, current, retraction or height, by its number or name, such as C4.",
)
@click.option(
    "--accept-unproven",
    is_flag=True,
    help="Install although not all of a packet from elsewhere can be proven; verify says what.",
)
@options.dry_run
@options.root
@options.as_json
def command(
    packet: Path,
    require_review: bool,
    signers: Path | None,
    accepted: tuple[str, ...],
    despite: tuple[str, ...],
    accept_unproven: bool,
    dry_run: bool,
    root: Path | None,
    as_json: bool,
) -> None:
    """Write a packet's changes into your files, all or none. Refused where a file is no longer what was read."""
    from cfgmigrate import api

    if signers is not None and not require_review:
        raise BadInput("--signed-by says whose reviews count", Place("install"), "Give --require-review too.")
    report = api.install(
        packet,
        root,
        require_review=require_review,
        dry_run=dry_run,
        accept_unknown=accepted,
        signed_by=signers,
        accept_unproven=accept_unproven,
        despite_hold=despite,
    ).to_json()
    if as_json:
        options.print_json(report)
        return
    from cfgmigrate.reports.console import make_console
    from cfgmigrate.reports.outcome_text import show_install

    show_install(report, make_console(), dry_run=dry_run, packet=str(packet))
