"""Lines of files that are no configuration and that hold an old number all the same: a script in no dialect, a console's
print-out, somebody's notes.

The machine or its owner may go by them, so a person is told where they stand. They are looked at as lines of text, a
few hundred thousand bytes at most, and nothing is taken from them. A row of a listing that has a changed value by a word of its
setting, `stride X80 Y80 A93` beside `FEED_STRIDE 93`, is told with what to have there: what the machine keeps may win over its
files. Kept copies, other machines' files and pictures are passed over.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.dialects.document import readable
from cfgmigrate.dialects.lettered_rows import is_near, lettered_row
from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.files.configuration import Configuration
from cfgmigrate.files.roles import Role
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.user_file import NotRead, read_bounded
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.words import split
from cfgmigrate.plan.model import Plan
from cfgmigrate.plan.old_numbers import FEEDS, LONGEST_LINE, TO_HAVE, OldNumbers, old_numbers

#: bytes of a file, files, and lines of one that are looked at
LARGEST_TEXT, MOST_TEXTS, MOST_TEXT_LINES = 256 * 1024, 50, 5000
#: so many lines of a file are told
MOST_TOLD_LINES = 20
#: of a log so many; it has so many entries, and so large a part of its lines are some
MOST_OF_A_LOG, FEWEST_ENTRIES, LOGGED = 1, 8, 0.75
_ENTRY = pattern(r"[ \t\[(]*(?:\d{1,4}[./-]\d{1,2}(?:[./-]|\b)|\d{1,2}:\d\d)")
_AXES = "XYZ"
_OF_AN_AXIS = pattern(r"[._]([xyz])(?:\.|$)")
_LINE_END = pattern(rb"\r\n?|\n")


def with_their_lines(plan: Plan, machine: Machine, configuration: Configuration) -> Plan:
    """The plan with the lines of each left-out text that hold an old number."""
    olds = old_numbers(plan.changes, plan.findings, machine.documents, machine.feeder_names, plan.by_hand)
    changed = tuple(_changed(plan, machine))
    looked_at = [each.path for each in plan.left_out if each.role == Role.NONE][:MOST_TEXTS]
    left = tuple(
        replace(each, lines=tuple(_lines(configuration.root / each.path, olds, changed)))
        if each.path in looked_at
        else each
        for each in plan.left_out
    )
    return replace(plan, left_out=left)


class ChangedWord(Struct, frozen=True):
    """A value that changes, by the words of its setting: the axis it is of ("" for the feeder), its number as it was, and the
    new text."""

    words: frozenset[str]
    axis: str
    old: float
    text: str
    label: str


def _changed(plan: Plan, machine: Machine) -> Iterator[ChangedWord]:
    for change in plan.changes:
        axis = _OF_AN_AXIS.search(change.quantity)
        for edit in change.edits:
            old = read_value(edit.old)
            settings = machine.document(edit.file).settings
            of = next((each for each in settings if each.start <= edit.start < each.end), None)
            if of is not None and isinstance(old, Number) and old.value:
                words = frozenset(word for word in split(of.key) if len(word) > 1)
                yield ChangedWord(words, axis[1].upper() if axis else "", old.value, edit.new, change.label)


def _to_have(line: str, changed: Iterable[ChangedWord]) -> str:
    """What a row of a listing is to have for the new drive, in words; "" for any other line."""
    row = lettered_row(line)
    if row is None:
        return ""
    word, numbers = row
    words = frozenset(split(word))
    pairs = [
        (letter, number, each)
        for letter, number in numbers
        for each in changed
        if words <= each.words and _is_of(letter, float(number), each)
    ]
    letters, values = Counter(letter for letter, *_ in pairs), Counter(each for *_, each in pairs)
    found = [
        f"{letter}{number} → {letter}{each.text}, {each.label}"
        for letter, number, each in pairs
        if letters[letter] == values[each] == 1  # of two that may be it neither is told
        and not _has(number, each)
    ]
    return f"{TO_HAVE}: {'; '.join(found)}" if found else ""


def _is_of(letter: str, number: float, changed: ChangedWord) -> bool:
    """Whether a number of a row, behind this letter, may be what a value was."""
    named = letter == changed.axis if changed.axis else letter not in _AXES
    return named and is_near(number, changed.old)


def _has(number: str, changed: ChangedWord) -> bool:
    """Whether a number of a row is the new value already."""
    new = read_value(changed.text)
    return isinstance(new, Number) and new.value == float(number)


def _lines(path: Path, olds: OldNumbers, changed: Sequence[ChangedWord]) -> Iterator[str]:
    """`12: what stands there (why)` for each line to be told of, and how many more there are. Of a log, which nobody goes by,
    it is the first."""
    text = _text(path)
    found = [
        f"{number}: {' '.join(line.split())[:80]} ({why})"
        for number, line in enumerate(text, start=1)
        if (why := _to_have(line, changed) or olds.said_of(line) or _feeds(line, olds))
    ]
    found.sort(key=lambda each: f" ({TO_HAVE}: " not in each)
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
