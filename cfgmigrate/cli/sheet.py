"""`cfgmigrate sheet`: a commented starter swap sheet, filled with what the files already say."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cfgmigrate.cli import options
from cfgmigrate.ground.findings import Place, Refused

if TYPE_CHECKING:
    from cfgmigrate.machine.model import Machine


@click.command("sheet", short_help="Write a commented starter swap sheet.")
@options.configuration
@click.option(
    "-o", "out", type=click.Path(path_type=Path), metavar="FILE", help="Write it here instead of printing it."
)
@click.option("--ask", is_flag=True, help="Ask for each value; an empty answer leaves it out.")
@options.names
@options.dialect
@options.machine
def command(
    config: tuple[Path, ...],
    out: Path | None,
    ask: bool,
    names: Path | None,
    dialects: tuple[str, ...],
    machine: tuple[Path, ...],
) -> None:
    """Write a commented starter swap sheet from the files, with what they already say filled in."""
    from cfgmigrate import api
    from cfgmigrate.sheet.starter import starter_sheet

    options.put_in_order(*config)
    if out is not None and out.exists():
        raise Refused("there is a file already", Place(str(out)), "Name another one, or move it away.")
    said = options.said_dialects(dialects)
    configuration, found = api.read_machine(config, names, said, machine)
    options.say(configuration.roles, err=True)
    text = _asked(found) if ask else starter_sheet(found, configuration.root.name)
    if out is None:
        click.echo(text, nl=False)
        return
    out.write_text(text, encoding="utf-8")
    click.echo(f"Written to {out}. Fill in what you know; whatever is missing is left alone and says so.")


def _asked(machine: Machine) -> str:
    from cfgmigrate.ground.findings import BadInput
    from cfgmigrate.sheet.starter import check_answer, fill, questions

    answers: dict[str, str] = {}
    for question in questions(machine):
        while True:
            hint = f" [{question.default}]" if question.default else ""
            click.echo(f"\n{question.text}", err=True)
            answer = click.prompt(f"{question.path}{hint}", default="", show_default=False, err=True).strip()
            if not answer:
                break
            try:
                check_answer(question.path, answer)
            except BadInput as error:
                click.echo(str(error), err=True)
                continue
            answers[question.path] = answer
            break
    return fill(answers, machine)
