"""Options that several commands share, each said once."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from cfgmigrate.ground.findings import BadInput, Place

if TYPE_CHECKING:
    from cfgmigrate.files.roles import FileSet
    from cfgmigrate.files.telling import FilesUnclear
    from cfgmigrate.packet.folder import Packet
    from cfgmigrate.plan.model import Plan

T = TypeVar("T")
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
    help="What doubtful settings mean, in place of the meanings in cfgmigrate.yaml (explain names).",
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
machine: Decorator = click.option(
    "--machine",
    "machine",
    multiple=True,
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="This file is in force, whatever its name looks like; may be repeated.",
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
    help="Replace another packet in this place, unless that one is installed.",
)
full: Decorator = click.option("--full", is_flag=True, help="Print everything, not just one screen.")
quiet: Decorator = click.option("-q", "--quiet", is_flag=True, help="Print only the next step.")
dry_run: Decorator = click.option("--dry-run", is_flag=True, help="Say what would be done; write nothing.")


def lane(command: Callable[..., Any]) -> Callable[..., Any]:
    """Which feeder and profile are meant, where the machine has several."""
    said = (
        ("feeder", "The feeder that is meant, by its number or name."),
        ("filament", "The filament profile that is meant, by its name."),
        ("print", "The print profile that is meant, instead of a filament's."),
    )
    for name, text in reversed(said):
        place = "print_profile" if name == "print" else name
        command = click.option(f"--{name}", place, default="", metavar="NAME", help=text)(command)
    return command


def of_a_packet(command: Callable[..., Any]) -> Callable[..., Any]:
    """What every command takes that works out a packet, in the order in which its help shows them."""
    for option in (as_json, quiet, full, rules, machine, dialect, names, replace):
        command = option(command)
    return command


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


def say_files(config: Sequence[Path], dialects: dict[str, str], machine: Sequence[Path]) -> None:
    """Say, on standard error, which files are taken as the machine and which are left."""
    from cfgmigrate.files.configuration import open_configuration

    say(open_configuration(config, dialects, machine).roles, err=True)


def say(files: FileSet, err: bool = False) -> None:
    """Say which files are taken as the machine and which are left."""
    from cfgmigrate.files.telling import told_of
    from cfgmigrate.reports.safe_text import inert

    for text in told_of(files):
        click.echo(inert(text, 0), err=err)


def plan_files(plan: Plan) -> list[str]:
    """Which files a plan takes as the machine and which it leaves, in sentences."""
    from cfgmigrate.files.gaps import of_gaps
    from cfgmigrate.files.gaps import told as told_gap
    from cfgmigrate.files.roles import Role
    from cfgmigrate.files.telling import told, with_decimal_commas
    from cfgmigrate.reports import wording
    from cfgmigrate.reports.safe_text import inert

    roles = {file.path: Role(file.role) for file in plan.files}
    roles |= {file.path: Role(file.role) for file in plan.left_out}
    missing = [told_gap(doubt) for doubt in of_gaps(plan.doubts)]
    whys = {file.path: file.why for file in plan.left_out}
    old = [f"{file.path} ({wording.count(len(file.lines), 'line')})" for file in plan.left_out if file.lines]
    still = (
        [f"Old numbers stand in what I left, too: {', '.join(old)}. The checklist has the lines."]
        if old
        else []
    )
    commas = with_decimal_commas([file.path for file in plan.files if file.decimals])
    return [inert(text, 0) for text in (*missing, *told(roles, whys), *commas, *still)]


def answered(run: Callable[[tuple[Path, ...]], T], machine: tuple[Path, ...]) -> T:
    """What `run` gives for files that are in force. Where it can't be told which are, that is asked, on a terminal
    only; elsewhere its error goes on."""
    from cfgmigrate.files.telling import FilesUnclear

    while True:
        try:
            return run(machine)
        except FilesUnclear as unclear:
            if not (sys.stdin.isatty() and sys.stderr.isatty()):
                raise
            machine = (*machine, *_ask(unclear))


def _ask(unclear: FilesUnclear) -> list[Path]:
    """The files that the user says are in force; kept in the site file if that is wanted."""
    from cfgmigrate.files.roles import Role
    from cfgmigrate.files.site_reading import site_at
    from cfgmigrate.files.site_writing import answered_text, write_site
    from cfgmigrate.files.telling import question_lines, roles_by
    from cfgmigrate.reports.safe_text import inert

    say(unclear.files, err=True)
    answers: dict[str, Role] = {}
    for question in unclear.files.questions:
        for text in question_lines(question):
            click.echo(inert(text, 0), err=True)
        first = 0 if question.none else 1
        number = click.prompt("Which", type=click.IntRange(first, len(question.options)), err=True)
        answers.update(roles_by(question, number))
    if click.confirm("Keep this in cfgmigrate.yaml, so that it isn't asked again?", default=True, err=True):
        site = site_at(unclear.root)
        write_site(unclear.root, site, answered_text(site, answers))
    return [unclear.root / path for path, role in answers.items() if role is Role.IN_FORCE]


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
    """A command's one JSON document, with the ids that scripts know."""
    import json

    from cfgmigrate.cli.json_ids import with_first_ids
    from cfgmigrate.ground.plain_json import inert_json

    # where the encoding lacks a letter, JSON's own escape keeps it exactly
    whole = (getattr(sys.stdout, "encoding", None) or "utf-8").lower().replace("-", "") == "utf8"
    click.echo(inert_json(json.dumps(with_first_ids(data), indent=2, ensure_ascii=not whole)))


def say_other_readers(packet: Packet) -> None:
    """Say which files that a packet edits another machine seems to read, too."""
    from cfgmigrate.apply.other_readers import told_before_install
    from cfgmigrate.reports.safe_text import inert

    for text in told_before_install(packet.plan):
        click.echo(f"  ! {inert(text)}")


def print_changes(packet: Packet) -> None:
    """What a packet's changes.json says, as a command's one JSON document."""
    import json

    print_json(json.loads((packet.folder / "changes.json").read_bytes()))
