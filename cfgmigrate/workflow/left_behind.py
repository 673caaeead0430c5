"""Lines of files that are no configuration and that hold an old number all the same: a script in no dialect, a console's
print-out, somebody's notes.

The machine or its owner may go by them, so a person is told where they stand. They are looked at as lines of text, a
few hundred thousand bytes at most, and nothing is taken from them. Kept copies, other machines' files and pictures
are passed over.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
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
#: of a log so many; it has so many entries, and so large a part of its lines are some
MOST_OF_A_LOG, FEWEST_ENTRIES, LOGGED = 1, 8, 0.75
_ENTRY = pattern(r"[ \t\[(]*(?:\d{1,4}[./-]\d{1,2}(?:[./-]|\b)|\d{1,2}:\d\d)")
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
    """`12: what stands there (why)` for each line to be told of, and how many more there are. Of a log, which nobody goes by,
    it is the first."""
    text = _text(path)
    found = [
        f"{number}: {' '.join(line.split())[:80]} ({why})"
        for number, line in enumerate(text, start=1)
        if (why := olds.said_of(line) or _feeds(line, olds))
    ]
    most = MOST_OF_A_LOG if _is_log(text) else MOST_TOLD_LINES
    yield from found[:most]
    if len(found) > most:
        yield f"and {len(found) - most} more lines"


def _is_log(text: Sequence[str]) -> bool:
    """Whether nearly every line of a text begins with a day or an hour, as an entry of a log does."""
    lines = [line for line in text if line.strip()]
    return len(lines) >= FEWEST_ENTRIES and sum(bool(_ENTRY.match(line)) for line in lines) >= LOGGED * len(
        lines
    )


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
