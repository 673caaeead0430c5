"""`cfgmigrate desk`: the whole job in a browser."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cfgmigrate.cli import options

if TYPE_CHECKING:
    from cfgmigrate.desk.guard import Pass
    from cfgmigrate.desk.share import SharedSheet

ENDED = {
    "stopped": "The desk was stopped.",
    "ended": "The desk was ended from the browser.",
    "idle": "Nobody used the desk for a while, so it ended.",
}


@click.command("desk", short_help="Do the whole job step by step in a browser.")
@click.argument("config", type=click.Path(path_type=Path), metavar="CONFIG")
@click.option(
    "--work",
    type=click.Path(path_type=Path, exists=True, file_okay=False),
    default=Path(),
    metavar="DIR",
    help="Where swap.yaml, measured.yaml, packets and test scripts lie; here where not said.",
)
@click.option(
    "--port", type=click.IntRange(0, 65535), default=0, metavar="N", help="Use this port, not any free one."
)
@click.option(
    "--idle",
    type=click.FloatRange(min=0, min_open=True),
    default=60.0,
    metavar="MINUTES",
    help="End after so long without use; 60 where not said.",
)
@click.option(
    "--share",
    is_flag=True,
    help="Let other devices in this network fill in the sheet, and nothing else, by a code that is shown.",
)
@click.option("--no-browser", is_flag=True, help="Only print the address; open no browser.")
def command(config: Path, work: Path, port: int, idle: float, no_browser: bool, share: bool) -> None:
    """Open a page in the browser that leads through the whole job: which machine, what is understood, the swap, the
    packet, and after.

    Everything is kept where the commands keep it, so you can go on at the terminal at any time. Only this computer can
    reach the page; with --share the sheet alone can be filled in from the network too. Ctrl-C ends it; nothing is lost.
    """
    from cfgmigrate.desk.server import run
    from cfgmigrate.desk.session import Desk, own_root
    from cfgmigrate.desk.share import network_address

    options.put_in_order(config)
    own_root(config)

    def ready(entry: Pass, shared: SharedSheet | None) -> None:
        if shared is not None:
            click.echo(
                f"Other devices in this network fill in the sheet, and nothing else, at\n  {shared.address}\n"
                f"with the code {shared.code}. What they send can be read by whoever listens in the network."
            )
        click.echo(
            f"The desk is open at\n  {entry.address}\nCtrl-C ends it; everything you answered is kept."
        )
        if not no_browser:
            import webbrowser

            from cfgmigrate.desk.doorway import way_in

            webbrowser.open(way_in(entry))

    def defect(error: Exception) -> str:
        from cfgmigrate.cli.defect import report

        return report(error, ["desk", str(config)])

    why = run(
        Desk(config, work),
        idle * 60,
        port,
        share=network_address() if share else "",
        ready=ready,
        defect=defect,
    )
    click.echo(f"{ENDED[why]} Everything you answered is kept; go on with cfgmigrate desk.")
