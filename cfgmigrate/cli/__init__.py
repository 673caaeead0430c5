"""The command line: one module a command, each of them thin over `cfgmigrate.api`.

A command's module is imported when that command is called, so that `--help` and `--version` load nothing
but click. Errors that the tool foresees come out as one message on standard error and the exit status of
their kind: 2 for wrong usage or unreadable input, 3 for a refusal. What it doesn't foresee is a defect: one line
says so and where the report of it is, and the exit status is 70 (EX_SOFTWARE of sysexits.h), never 1.
"""

from __future__ import annotations

import gc
import importlib
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

import click

from cfgmigrate.ground.findings import CfgError

DEFECT = 70
"""The exit status of what the program did not foresee."""

OBJECTS_BETWEEN = 250_000
"""So many objects are made before Python looks for those that only hold each other. A command makes few of these, and keeps
most of the others to its end: `prepare` keeps some 115,000, and one look at them takes a twentieth of its time."""
#: what an option begins with, in a line that is there to be copied
_OPTION = " --"

#: when each command is used, in the order of the work, and the sentence that `--help` shows for it
GROUPS = {
    "Before": {
        "demo": "Go through a whole swap on a made-up machine.",
        "desk": "Do the whole job step by step in a browser.",
        "survey": "Show what is understood in your files, where, and what is not.",
        "sheet": "Write a commented starter swap sheet, filled from the files.",
        "prepare": "Work out every value the swap touches and write a packet for review.",
        "review": "Give verdicts on a packet, and see who said what.",
        "verify": "Recompute every value of a packet and check every hash.",
    },
    "On the day": {
        "install": "Write a packet's changes into your files, all or none.",
        "revert": "Put the old values back.",
    },
    "After": {
        "trial": "Write a test script for the machine as it is configured.",
        "tune": "Work out what follows from measurements and write a packet.",
        "guide": "Say what to look at next for a fault you see.",
    },
    "Look up": {
        "compare": "Compare two configurations by meaning, across dialects.",
        "explain": "Show a rule: its ways, formulas, sources and cautions.",
        "history": "List what was installed and reverted here.",
        "status": "Show what is in force, what is open, and what comes next.",
        "report": "Write the machine's record: each step, value, why, and who reviewed it.",
    },
}
COMMANDS = {name: said for group in GROUPS.values() for name, said in group.items()}


class _Unread(Exception):
    """Nobody reads what is printed. click would end the process with 1 for it, which here is an answer."""


@contextmanager
def _reading() -> Iterator[None]:
    try:
        yield
    except BrokenPipeError as error:
        raise _Unread from error


class _Commands(click.Group):
    """Finds each command in the module of its name."""

    def make_context(self, *arguments: Any, **options: Any) -> click.Context:
        with _reading():
            return super().make_context(*arguments, **options)

    def invoke(self, context: click.Context) -> Any:
        with _reading():
            return super().invoke(context)

    def list_commands(self, context: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, context: click.Context, name: str) -> click.Command | None:
        if name not in COMMANDS:
            return None
        found: click.Command = importlib.import_module(f"cfgmigrate.cli.{name}").command
        return found

    def resolve_command(
        self, context: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            import difflib

            near = difflib.get_close_matches(args[0], COMMANDS, n=1, cutoff=0.0)[0]
            raise click.UsageError(f"There is no command {args[0]!r}. Did you mean {near!r}?")
        return super().resolve_command(context, args)

    def format_commands(self, context: click.Context, formatter: click.HelpFormatter) -> None:
        width = max(map(len, COMMANDS))
        for when, commands in GROUPS.items():
            with formatter.section(when):
                formatter.write_dl([(f"{name:{width}}", said) for name, said in commands.items()])


def _version(context: click.Context, _: click.Parameter, wanted: bool) -> None:
    if wanted and not context.resilient_parsing:
        from cfgmigrate import __version__

        click.echo(f"cfgmigrate {__version__}")
        context.exit()


COMPLETION = """\
Exit status: 0 done; 1 the answer is no (compare: they differ; verify: it does not hold; prepare --fleet: a machine has no
packet); 2 wrong usage or unreadable input; 3 refused, and nothing was changed.

For completion in bash, zsh or fish, add one line to the shell's own start file:

\b
  eval "$(_CFGMIGRATE_COMPLETE=bash_source cfgmigrate)"       ~/.bashrc
  eval "$(_CFGMIGRATE_COMPLETE=zsh_source cfgmigrate)"        ~/.zshrc
  _CFGMIGRATE_COMPLETE=fish_source cfgmigrate | source        ~/.config/fish/config.fish
"""


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]}, epilog=COMPLETION)
@click.option(
    "--version", is_flag=True, expose_value=False, is_eager=True, callback=_version, help="Show the version."
)
def group() -> None:
    """Works out every configuration value that a change of filament drive touches, shows each with its
    derivation, installs them, and puts the old setup back in one step.

    The usual order: survey, sheet, prepare, review, install. And revert, whenever you like.
    After the swap: trial, tune (a packet like the first), and guide for a fault you see.
    """


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line and end the process with its exit status."""
    from cfgmigrate.cli import streams
    from cfgmigrate.cli.progress import told

    streams.take_every_text()
    streams.answers(0)
    gc.set_threshold(OBJECTS_BETWEEN)
    try:
        with told():
            status = run(list(sys.argv[1:] if arguments is None else arguments))
        streams.flush()
    except BrokenPipeError:
        streams.let_go()
        status = streams.answered()
    gc.freeze()  # what is left goes with the process: Python need not look through it once more
    sys.exit(status)


def _told(line: str) -> str:
    """A line of an error, as it is shown. One with options in it is there to be copied, so it is shown to its end, unless
    it is longer than any of ours."""
    from cfgmigrate.reports.safe_text import LIMIT, PROSE_LIMIT, inert

    return inert(line, PROSE_LIMIT if _OPTION in line else LIMIT)


def _stopped(said: str) -> int:
    """Say that the command was stopped, and give its exit status: where the files were written by then, it is done."""
    store = sys.modules.get("cfgmigrate.store.transaction")
    if store is not None and store.FILES_WRITTEN.is_set():
        click.echo("Stopped, after the files were written: history tells what was done.", err=True)
        return 0
    click.echo(said, err=True)
    return 3


def _by_interrupt(error: BaseException | None) -> bool:
    """Whether an error only wraps a Ctrl-C, as one that comes while a class is made."""
    while error is not None:
        if isinstance(error, KeyboardInterrupt):
            return True
        error = error.__cause__
    return False


def run(arguments: Sequence[str]) -> int:
    """Run one command line and give its exit status. Raises BrokenPipeError where nobody reads what it prints."""
    if store := sys.modules.get("cfgmigrate.store.transaction"):
        store.FILES_WRITTEN.clear()
    try:
        found: Any = group.main(list(arguments), prog_name="cfgmigrate", standalone_mode=False)
    except click.UsageError as error:
        error.show()
        return 2
    except click.Abort:
        return _stopped("Stopped; nothing was changed.")
    except click.ClickException as error:
        error.show()
        return 2
    except CfgError as error:
        click.echo("\n".join(map(_told, f"cfgmigrate: {error}".split("\n"))), err=True)
        return error.status
    except _Unread:
        raise BrokenPipeError from None
    except Exception as error:
        if _by_interrupt(error):
            return _stopped("Stopped.")
        from cfgmigrate.cli.defect import report

        click.echo(report(error, arguments), err=True)
        return DEFECT
    return int(found or 0)
