"""`cfgmigrate status`: what is in force, what is open, and what is next."""

from __future__ import annotations

from pathlib import Path

import click

from cfgmigrate.cli import options, streams


@click.command("status", short_help="Show what is in force, what is open, and what comes next.")
@options.configuration
@click.option(
    "--sheet",
    type=click.Path(path_type=Path),
    default=Path("swap.yaml"),
    metavar="FILE",
    help="The swap sheet, if there is one; swap.yaml here where not said.",
)
@click.option(
    "--done",
    metavar="ITEM",
    help="Tick what was done by hand: its number here, several with commas (1,3,4), or its name in the packet.",
)
@options.as_json
def command(config: tuple[Path, ...], sheet: Path, done: str | None, as_json: bool) -> int:
    """What is in force at CONFIG, which lights are on, what is still estimated or open by hand, which measurement
    would help most, and the next command. Exit status 1 where the history is broken."""
    from cfgmigrate import api
    from cfgmigrate.reports.safe_text import inert

    options.put_in_order(*config)
    if done is not None:
        for each in _meant(config, done):
            item = api.mark_done(config, each)
            if not as_json:
                click.echo(inert(f"{'Undone' if item.undo else 'Done'}: {item.what}"))
    found = api.status(config, sheet=sheet).to_json()
    status = streams.answers(1 if found["problems"] else 0)
    if as_json:
        options.print_json(found)
    else:
        from cfgmigrate.cli.lines import screen_width, show_lines
        from cfgmigrate.reports.status_text import status_lines

        show_lines(status_lines(found, screen_width()))
    return status


def _meant(config: tuple[Path, ...], said: str) -> list[str]:
    """The items that are meant: of several numbers their names, since a number may go to another one once one is ticked."""
    from cfgmigrate import api

    numbers = [each.strip() for each in said.split(",")]
    if len(numbers) < 2 or not all(each.isdecimal() for each in numbers):
        return [said]
    named = {str(item.number): item.id for item in api.status(config).by_hand}
    return list(dict.fromkeys(named.get(number, number) for number in numbers))
