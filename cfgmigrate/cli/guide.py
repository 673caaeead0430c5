"""`cfgmigrate guide`: what to look at next, for what is seen."""

from __future__ import annotations

from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cfgmigrate.cli import options


def _seen() -> list[str]:
    """What may be seen, as one word each: a shell would part them at the spaces."""
    from cfgmigrate.rules.symptoms import symptoms

    return [symptom.seen.replace(" ", "-") for symptom in symptoms()]


if TYPE_CHECKING:
    from rich.console import Console


@click.command("guide", short_help="Say what to look at next for a fault you see.")
@click.argument("config", nargs=-1, type=click.Path(path_type=Path), metavar="[CONFIG...]")
@click.option(
    "--seen",
    multiple=True,
    metavar="WORDS",
    help="What you see; may be repeated. Without it: the list of what may be seen.",
    shell_complete=options.completes(_seen),
)
@click.option("--sheet", type=click.Path(path_type=Path), metavar="FILE", help="The swap sheet.")
@click.option("--measured", type=click.Path(path_type=Path), metavar="FILE", help="The measured sheet.")
@options.lane
@options.names
@options.dialect
@options.machine
@options.full
@options.as_json
def command(
    config: tuple[Path, ...],
    seen: tuple[str, ...],
    sheet: Path | None,
    measured: Path | None,
    feeder: str,
    filament: str,
    print_profile: str,
    names: Path | None,
    dialects: tuple[str, ...],
    machine: tuple[Path, ...],
    full: bool,
    as_json: bool,
) -> None:
    """Say what to look at next for a fault you see, cheapest and likeliest first, with this machine's own numbers.

    Without --seen: what may be seen. Each thing ends with a check that settles it, or with whom to hand over to.
    """
    from cfgmigrate import api
    from cfgmigrate.reports import guidance
    from cfgmigrate.reports.safe_text import shell_word

    if not seen:
        from cfgmigrate.rules.symptoms import symptoms

        if as_json:
            options.print_json(
                [{"seen": one.seen, "also": [*one.also], "says": one.says} for one in symptoms()]
            )
            return
        for symptom in symptoms():
            click.echo(f"{symptom.seen:21} {symptom.says}")
        return
    said = options.said_dialects(dialects)
    if config:
        options.put_in_order(*config)
        options.say_files(config, said, machine)
    found = api.guide(
        seen,
        config,
        sheet=sheet,
        measured=measured,
        feeder=feeder,
        filament=filament,
        print_profile=print_profile,
        names=names,
        dialects=said,
        machine=machine,
    )
    if as_json:
        options.print_json([guidance.to_json(one) for one in found])
        return
    from cfgmigrate.reports.console import make_console
    from cfgmigrate.reports.outcome_screen import show_fitting

    said_again = {
        "--sheet": sheet,
        "--feeder": feeder,
        "--filament": filament,
        "--print": print_profile,
        "--names": names,
    }
    several = (("--dialect", each) for each in dialects), (("--machine", each) for each in machine)
    given = (*((name, each) for name, each in said_again.items() if each), *chain(*several))
    files = " ".join(map(shell_word, config)) or "CONFIG"
    files += "".join(f" {name} {shell_word(each)}" for name, each in given)

    def whole(console: Console) -> None:
        for one in found:
            guidance.show(one, console, config=files)

    show_fitting(
        make_console(), whole, None if full else lambda width: guidance.guide_screen(found, width, files)
    )
