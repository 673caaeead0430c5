"""Lines of files that are no configuration and that hold an old number all the same: a script in no dialect, a console's
print-out, somebody's notes.

The machine or its owner may go by them, so a person is told where they stand. They are looked at as lines of text, a
few hundred thousand bytes at most, and nothing is taken from them. Kept copies, other machines' files and pictures
are passed over.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from msgspec.structs import replace

from cfgmigrate.dialects.document import readable
from cfgmigrate.files.configuration import Configuration
from cfgmigrate.files.roles import Role
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.user_file import NotRead, read_bounded
from cfgmigrate.machine.model import Machine
from cfgmigrate.plan.model import Plan
from cfgmigrate.plan.old_numbers import FEEDS, LONGEST_LINE, OldNumbers, old_numbers

#: bytes of a file, files, and lines of one that are looked at
LARGEST_TEXT, MOST_TEXTS, MOST_TEXT_LINES = 256 * 1024, 50, 5000
#: so many lines of a file are told
MOST_TOLD_LINES = 20
_LINE_END = pattern(rb"\r\n?|\n")


def with_their_lines(plan: Plan, machine: Machine, configuration: Configuration) -> Plan:
    """The plan with the lines of each left-out text that hold an old number."""
    olds = old_numbers(plan.changes, plan.findings, machine.documents, machine.feeder_names, plan.by_hand)
    looked_at = [each.path for each in plan.left_out if each.role == Role.NONE][:MOST_TEXTS]
    left = tuple(
        replace(each, lines=tuple(_lines(configuration.root / each.path, olds)))
        if each.path in looked_at
        else each
        for each in plan.left_out
    )
    return replace(plan, left_out=left)


def _lines(path: Path, olds: OldNumbers) -> Iterator[str]:
    """`12: what stands there (why)` for each line to be told of, and how many more there are."""
    found = [
        f"{number}: {' '.join(line.split())[:80]} ({why})"
        for number, line in enumerate(_text(path), start=1)
        if (why := olds.said_of(line) or _feeds(line, olds))
    ]
    yield from found[:MOST_TOLD_LINES]
    if len(found) > MOST_TOLD_LINES:
        yield f"and {len(found) - MOST_TOLD_LINES} more lines"


def _feeds(line: str, olds: OldNumbers) -> str:
    return "it feeds filament" if olds.paths and not olds.of_another(line) and FEEDS.match(line) else ""


def _text(path: Path) -> list[str]:
    """The first lines of a plain text; none of anything else."""
    try:
        data = read_bounded(path, LARGEST_TEXT, links=False)
    except NotRead:
        return []
    if b"\0" in data:
        return []
    return [readable(line[:LONGEST_LINE]) for line in _LINE_END.split(data)[:MOST_TEXT_LINES]]
