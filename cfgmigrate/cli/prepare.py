"""`cfgmigrate prepare`: work out every value the swap touches and write a packet for review."""

from __future__ import annotations

from pathlib import Path

import click

from cfgmigrate.cli import options
from cfgmigrate.ground.findings import BadInput, Place


@click.command("prepare", short_help="Work out the swap and write a packet.")
@click.argument("config", nargs=-1, type=click.Path(path_type=Path), metavar="CONFIG...")
@click.option("--sheet", type=click.Path(path_type=Path), metavar="FILE", help="The swap sheet.")
@click.option(
    "-o", "out", required=True, type=click.Path(path_type=Path), metavar="PACKET", help="The folder to write."
)
@click.option(
    "--fleet",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Many machines at once, from a fleet file; -o is then the folder for their packets.",
)
@click.option(
    "--workers",
    type=click.IntRange(1, 1024),
    metavar="N",
    help="With --fleet: how many machines at a time, if not one per core.",
)
@click.option("--pages", is_flag=True, help="With --fleet: also a page for a browser, for each machine.")
@click.option(
    "--from",
    "source",
    multiple=True,
    type=click.Path(path_type=Path),
    metavar="OLDCONFIG",
    help="Carry this configuration's values over into CONFIG (may be repeated).",
)
@click.option(
    "--rest",
    is_flag=True,
    help="The last install was a part of this swap, though the sheet was mended since: work out what is left.",
)
@options.of_a_packet
def command(
    config: tuple[Path, ...],
    sheet: Path | None,
    out: Path,
    fleet: Path | None,
    workers: int | None,
    pages: bool,
    source: tuple[Path, ...],
    rest: bool,
    replace: bool,
    names: Path | None,
    dialects: tuple[str, ...],
    machine: tuple[Path, ...],
    rules: Path | None,
    full: bool,
    quiet: bool,
    as_json: bool,
) -> int:
    """Work out every value the swap touches and write a packet for review. Your files are not touched.

    With --fleet FILE instead of CONFIG and --sheet: a packet for each machine and a summary of them all. Exit status
    1 where a machine has none; run again, it goes on where it stopped, and replaces packets whose sheet or files
    changed, but for installed ones.

    \b
    A fleet file has:  sheet: FILE, names: FILE (meanings for all), machines:
    a machine:         NAME: FOLDER, or NAME: with config: (files, folders), sheet:,
                       names:, dialect:, machine: (a file in force) and differs:
                       (fields of the sheet that differ there); of one that is
                       not swapped: keeps_drive: yes, and no sheet
    """
    if fleet is not None:
        if config or sheet or source or rest or dialects or machine:
            raise BadInput(
                "a fleet file says itself which files and sheet each machine has",
                Place("--fleet"),
                "Give only -o, --names, --rules, --workers, --pages and --json beside it.",
            )
        from cfgmigrate.cli.fleet import prepare_fleet

        return prepare_fleet(fleet, out, names, rules, workers, pages, as_json)
    if not config or sheet is None:
        missing = "the configuration's files" if not config else "a swap sheet"
        raise BadInput(
            f"{missing} must be given",
            Place("prepare"),
            "Write cfgmigrate prepare CONFIG... --sheet FILE -o PACKET, or --fleet FILE -o FOLDER.",
        )
    from cfgmigrate import api

    options.put_in_order(*config)
    if source:
        options.put_in_order(*source)
    swap = sheet
    packet = options.answered(
        lambda machine: api.prepare(
            config,
            swap,
            out=out,
            names=names,
            dialects=options.said_dialects(dialects),
            rules=rules,
            source=source,
            rest=rest,
            replace=replace,
            machine=machine,
        ),
        machine,
    )
    if as_json:
        options.print_changes(packet)
        return 0
    from cfgmigrate.cli.next_step import show_packet
    from cfgmigrate.reports.safe_text import inert, shell_word

    asking = " ".join(("cfgmigrate sheet", *map(shell_word, config), f"--ask -o {shell_word(sheet)}"))
    show_packet(packet.plan, out, full=full, quiet=quiet, made=packet, ask="" if source else asking)
    options.say_other_readers(packet)
    from cfgmigrate.workflow.reviewing import verdicts_beside

    if beside := verdicts_beside(packet):
        from cfgmigrate.reports.review_text import beside_lines

        for told in beside_lines(beside, out):
            click.echo(inert(told))
    if not source and {path for path, _ in packet.plan.swap} <= {"machine"}:
        click.echo(
            f'{inert(str(sheet))} says nothing of a swap yet: take away the "# " before what you know.'
        )
    if not source and not quiet:
        from cfgmigrate.cli.interview import offer

        offer(packet.plan, config, swap, names, options.said_dialects(dialects), machine)
    return 0
