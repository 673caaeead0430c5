"""`cfgmigrate tune`: a packet from measurements made after the first prints."""

from __future__ import annotations

from pathlib import Path

import click

from cfgmigrate.cli import options
from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.ground.new_text import refuse_taken, write_new_text


@click.command("tune", short_help="Work out measurements and write a packet.")
@options.configuration
@click.option("--measured", type=click.Path(path_type=Path), metavar="FILE", help="The measured sheet.")
@click.option(
    "--sheet",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="The swap sheet that it follows, if it doesn't name it itself.",
)
@click.option("-o", "out", type=click.Path(path_type=Path), metavar="PACKET", help="The folder to write.")
@click.option(
    "--starter",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Write a measured sheet to fill in, with what is in force now, and do nothing else.",
)
@options.lane
@options.of_a_packet
def command(
    config: tuple[Path, ...],
    measured: Path | None,
    sheet: Path | None,
    out: Path | None,
    starter: Path | None,
    feeder: str,
    filament: str,
    print_profile: str,
    replace: bool,
    names: Path | None,
    dialects: tuple[str, ...],
    machine: tuple[Path, ...],
    rules: Path | None,
    full: bool,
    quiet: bool,
    as_json: bool,
) -> None:
    """Work out what follows from measurements after the swap and write a packet. Your files are not touched."""
    from cfgmigrate import api

    options.put_in_order(*config)
    said = options.said_dialects(dialects)
    if starter is not None:
        if measured is not None or out is not None:
            raise BadInput("a starter is written by itself", Place("tune"), "Leave out --measured and -o.")
        lane = {"feeder": feeder, "filament": filament, "print_profile": print_profile}
        _write_starter(config, starter, sheet, lane, names, said, machine)
        return
    if feeder or filament or print_profile:
        why = "what was measured is said in the measured sheet"
        raise BadInput(why, Place("tune"), "Write it there: of: {feeder: 1, filament: NAME}.")
    if measured is None or out is None:
        raise BadInput(
            "tuning needs a measured sheet and a place for the packet",
            Place("tune"),
            "Give --measured FILE and -o PACKET; --starter FILE writes a sheet to fill in.",
        )
    own, place = measured, out
    packet = options.answered(
        lambda machine: api.tune(
            config,
            own,
            out=place,
            sheet=sheet,
            names=names,
            dialects=said,
            rules=rules,
            replace=replace,
            machine=machine,
        ),
        machine,
    )
    if as_json:
        options.print_changes(packet)
        return
    from cfgmigrate.cli.next_step import show_packet

    show_packet(packet.plan, out, full=full, quiet=quiet, made=packet)


def _write_starter(
    config: tuple[Path, ...],
    starter: Path,
    sheet: Path | None,
    lane: dict[str, str],
    names: Path | None,
    said: dict[str, str],
    machine: tuple[Path, ...],
) -> None:
    import os

    from cfgmigrate import api

    refuse_taken(starter)
    named = os.path.relpath(sheet, starter.parent) if sheet is not None else ""
    text = options.answered(
        lambda machine: api.measured_starter(
            config, named, swap=sheet, names=names, dialects=said, machine=machine, **lane
        ),
        machine,
    )
    options.say_files(config, said, machine)
    write_new_text(starter, text)
    click.echo(f"Written to {starter}. Fill in what you measured; leave the rest as it is.")
