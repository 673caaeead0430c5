"""`cfgmigrate trial`: a test script for the machine as it is configured."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import click

from cfgmigrate.cli import options
from cfgmigrate.ground.new_text import refuse_taken, write_new_text


def _names() -> Iterable[str]:
    from cfgmigrate.trials import TRIALS

    return TRIALS


def _lines(begin: Path | None) -> tuple[str, ...]:
    return () if begin is None else tuple(begin.read_text(encoding="ascii", errors="replace").splitlines())


@click.command("trial", short_help="Write a test script for the machine.")
@click.argument("name", metavar="NAME", shell_complete=options.completes(_names))
@options.configuration
@click.option(
    "-o", "out", required=True, type=click.Path(path_type=Path), metavar="FILE", help="The script to write."
)
@click.option(
    "--page",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Write a page with a picture of its path too.",
)
@click.option(
    "--sheet",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="The swap sheet, for what the files don't say.",
)
@click.option(
    "--nozzle",
    type=float,
    metavar="DEGREES",
    help="Nozzle temperature in °C, if not that of the machine's scripts.",
)
@click.option("--bed", type=float, metavar="DEGREES", help="Bed temperature in °C; 0 leaves it cold.")
@click.option(
    "--start", type=float, metavar="NUMBER", help="Where it begins: mm of retraction or of z, s of lag."
)
@click.option(
    "--step", type=float, metavar="NUMBER", help="The step from storey to storey, wall to wall, stop to stop."
)
@click.option("--count", type=click.IntRange(1, 100), metavar="N", help="How many repeats, storeys or walls.")
@click.option("--height", type=float, metavar="MM", help="Height of the cylinder, or of one storey.")
@click.option(
    "--setting-line",
    default="",
    metavar="TEXT",
    help="The line by which your machine sets the lag, with {value} in it.",
)
@click.option(
    "--begin",
    type=click.Path(path_type=Path, exists=True, dir_okay=False),
    metavar="FILE",
    help="Your machine's own lines after homing, such as the one that loads its bed map.",
)
@click.option(
    "--pause",
    default="M0",
    metavar="WORD",
    help="The word at which your machine waits for a person; M0 if not said.",
)
@click.option(
    "--display",
    default="",
    metavar="TEXT",
    help="The line by which your machine shows a text, with {text} in it.",
)
@click.option(
    "--feeder-line", default="", metavar="TEXT", help="The line by which your machine takes a feeder."
)
@click.option(
    "--usual-words", is_flag=True, help="Your machine heats by M104 and M109, though no file of it says so."
)
@options.lane
@options.names
@options.dialect
@options.machine
def command(
    name: str,
    config: tuple[Path, ...],
    out: Path,
    page: Path | None,
    sheet: Path | None,
    nozzle: float | None,
    bed: float | None,
    start: float | None,
    step: float | None,
    count: int | None,
    height: float | None,
    setting_line: str,
    begin: Path | None,
    pause: str,
    display: str,
    feeder_line: str,
    usual_words: bool,
    feeder: str,
    filament: str,
    print_profile: str,
    names: Path | None,
    dialects: tuple[str, ...],
    machine: tuple[Path, ...],
) -> None:
    """Write a test script for the machine as it is configured, within its limits.

    NAME is one of: clearance (slow moves of z with stops, cold), feed (a marked length), cylinder (a tall single
    wall), lag (walls at two speeds), retraction (a tower in storeys).
    """
    from cfgmigrate import api
    from cfgmigrate.trials import Wishes

    options.put_in_order(*config)
    refuse_taken(out, page)
    wishes = Wishes(
        nozzle,
        bed,
        start,
        step,
        count or 0,
        height or 0.0,
        setting_line,
        _lines(begin),
        pause,
        display,
        feeder_line,
        usual_words,
    )
    said = options.said_dialects(dialects)
    made = options.answered(
        lambda machine: api.trial(
            name,
            config,
            sheet=sheet,
            feeder=feeder,
            filament=filament,
            print_profile=print_profile,
            wishes=wishes,
            names=names,
            dialects=said,
            machine=machine,
        ),
        machine,
    )
    options.say(made.roles)
    write_new_text(out, made.written.text.encode("ascii", "replace").decode("ascii"))
    click.echo(f"Written to {out}: {made.trial.says}")
    for what, value in made.written.facts:
        click.echo(f"  {what}: {value}")
    if page is not None:
        write_new_text(page, api.trial_page(made))
        click.echo(f"  its path as a picture: {page}")
    click.echo(
        f"You measure: {made.trial.measured}. Read the script before you run it, and stay beside the machine with a hand at the switch."
    )
