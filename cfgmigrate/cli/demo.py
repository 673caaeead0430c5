"""`cfgmigrate demo`: the whole way on a made-up machine, with real files and real commands."""

from __future__ import annotations

import shutil
from pathlib import Path

import click

from cfgmigrate.ground.findings import Place, Refused

SAMPLE = "wren"


@click.command("demo", short_help="Go through a whole swap on a made-up machine.")
@click.argument("folder", required=False, type=click.Path(path_type=Path), metavar="[DIR]")
def command(folder: Path | None) -> None:
    """The whole way on a made-up machine: survey, prepare, install, verify and revert, in DIR (or ./cfgmigrate-demo)."""
    from cfgmigrate import api
    from cfgmigrate.dialects.grammar import data_folder
    from cfgmigrate.reports.outcome_text import show_install, show_revert
    from cfgmigrate.reports.survey_text import show_survey
    from cfgmigrate.reports.terminal import make_console, show_plan

    place = folder or Path("cfgmigrate-demo")
    if place.exists() and (not place.is_dir() or any(place.iterdir())):
        raise Refused(
            "is in use already", Place(str(place)), "Name another folder for the demo, or remove this one."
        )
    samples = data_folder("sample_configs")
    config, sheet, packet = place / SAMPLE, place / "swap.yaml", place / "packet"
    try:
        place.mkdir(parents=True, exist_ok=True)
        shutil.copytree(samples / SAMPLE, config)
        shutil.copyfile(samples / "sheets" / f"{SAMPLE}.yaml", sheet)
    except OSError as error:
        why = f"the demo can't be put here: {error.strerror or error}"
        raise Refused(why, Place(str(place)), "Name another folder for the demo.") from error
    original = {path: path.read_bytes() for path in sorted(config.iterdir())}
    console = make_console()

    _said(f"cfgmigrate survey {config}")
    show_survey(api.survey(config).to_json(), console)
    _said(f"cfgmigrate prepare {config} --sheet {sheet} -o {packet}")
    made = api.prepare(config, sheet, out=packet)
    show_plan(made.plan, console)
    click.echo(
        f"\n  Every derivation stands in {packet / 'changes.md'} and, to look at, in {packet / 'changes.html'}."
    )
    _said(f"cfgmigrate verify {packet}")
    problems = api.verify(packet)
    click.echo("\n".join(problems) or "The packet holds: every value comes out the same by a second way.")
    _said(f"cfgmigrate install {packet}")
    show_install(api.install(packet).to_json(), console, dry_run=False, packet=str(packet))
    _said(f"cfgmigrate revert {packet}")
    show_revert(api.revert(packet).to_json(), console, dry_run=False)
    same = all(path.read_bytes() == data for path, data in original.items())
    click.echo(f"\nThe files are {'byte for byte' if same else 'NOT'} what they were before.")
    click.echo("\nWhere to look now:")
    click.echo(f"  {packet / 'changes.html'}   every change with its derivation, for a browser")
    click.echo(f"  {packet / 'checklist.md'}   the day's order of work")
    click.echo(f"  {packet / 'revert.patch'}   the way back without this program")
    click.echo(f"  {sheet}   what was swapped; change a number and prepare again")


def _said(line: str) -> None:
    click.echo(f"\n$ {line}\n")
