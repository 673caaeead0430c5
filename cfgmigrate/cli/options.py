"""Options that several commands share, each said once."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import click

from cfgmigrate.ground.findings import BadInput, Place

Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]


def completes(
    values: Callable[[], Iterable[str]],
) -> Callable[[click.Context, click.Parameter, str], list[str]]:
    """What a shell offers for a parameter that takes one of these words. They are looked up only then."""

    def found(_: click.Context, __: click.Parameter, begun: str) -> list[str]:
        return [value for value in values() if value.startswith(begun)]

    return found


def _dialects() -> Iterable[str]:
    from cfgmigrate.dialects import DIALECTS

    return DIALECTS


#: CONFIG...: files or folders
configuration: Decorator = click.argument(
    "config", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="CONFIG..."
)
#: PACKET: the folder that prepare wrote
packet: Decorator = click.argument("packet", type=click.Path(path_type=Path), metavar="PACKET")
names: Decorator = click.option(
    "--names",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="A names file: what doubtful settings are.",
)
dialect: Decorator = click.option(
    "--dialect",
    "dialects",
    multiple=True,
    metavar="[FILE=]DIALECT",
    shell_complete=completes(_dialects),
    help="Say a file's dialect (or that of all files) where it isn't recognised.",
)
rules: Decorator = click.option(
    "--rules", type=click.Path(path_type=Path), metavar="DIR", help="A folder with rules of your own."
)
as_json: Decorator = click.option(
    "--json", "as_json", is_flag=True, help="Print one JSON document and nothing else."
)
root: Decorator = click.option(
    "--root",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Where the configuration is now, if not where it was prepared.",
)
replace: Decorator = click.option(
    "--replace",
    is_flag=True,
    help="Another packet that stands in this place may go, unless it is installed.",
)
full: Decorator = click.option("--full", is_flag=True, help="Print all there is, not one screen of it.")
quiet: Decorator = click.option("-q", "--quiet", is_flag=True, help="Print the next step alone.")
dry_run: Decorator = click.option("--dry-run", is_flag=True, help="Say what would be done; write nothing.")


def said_dialects(said: tuple[str, ...]) -> dict[str, str]:
    """`frame.conf=sectioned` and `sectioned` as a mapping from path (or *) to dialect."""
    from cfgmigrate.dialects import DIALECTS

    found: dict[str, str] = {}
    for text in said:
        path, joint, name = text.rpartition("=")
        if name not in DIALECTS:
            raise BadInput(
                f"there is no dialect {name!r}",
                Place("--dialect"),
                f"The dialects are {', '.join(sorted(DIALECTS))}.",
            )
        found[path if joint else "*"] = name
    return found


def put_in_order(*paths: Path) -> None:
    """Finish or undo what a kill interrupted at this configuration, and say which."""
    from cfgmigrate import api
    from cfgmigrate.reports.safe_text import inert

    if not all(path.exists() for path in paths):
        return  # reading them says so
    recovered = api.recover(paths)
    if recovered is not None:
        click.echo(inert(str(recovered), 0), err=True)


def print_json(data: Any) -> None:
    import json

    # where the encoding lacks a letter, JSON's own escape keeps it exactly
    whole = (getattr(sys.stdout, "encoding", None) or "utf-8").lower().replace("-", "") == "utf8"
    click.echo(json.dumps(data, indent=2, ensure_ascii=not whole))
