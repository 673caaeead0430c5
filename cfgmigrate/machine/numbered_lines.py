"""Scripts that a file holds line by line: settings of one section whose keys are numbers, `1 = G91`, `2 = G1 E25`.

Such a run is one script, from its first value to its last. It is one where at least two settings follow each other, their
numbers grow, and most of their values are word-address lines (a letter and a number, as in RS-274). Its occasion is what
the section's words say. A row of a table, whose values are numbers, is none.

What stands between one value and the next belongs to the file; whoever reads the script looks past it.
"""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.machine.model import Form, Reading
from cfgmigrate.machine.script_role import is_code_line, occasion
from cfgmigrate.machine.words import read_name

#: the most digits of a line's number
_MOST_DIGITS = 5
_FEWEST_LINES = 2


class NumberedScript(Struct, frozen=True):
    """The reading of a script, and where its settings begin."""

    reading: Reading
    starts: frozenset[int]


def numbered_scripts(document: Document) -> Iterator[NumberedScript]:
    """The scripts of a document that stand in numbered settings."""
    for run in _runs(document):
        if len(run) < _FEWEST_LINES or 2 * sum(is_code_line(each.value) for each in run) <= len(run):
            continue
        first, last = run[0], run[-1]
        text = document.slice(first.start, last.end)
        role = occasion(read_name(first.section, ""))
        reading = Reading(role, None, text, document.place(first), first.start, last.end, Form(), first)
        yield NumberedScript(reading, frozenset(each.start for each in run))


def _runs(document: Document) -> Iterator[list[Setting]]:
    """Settings in force that follow each other in one section, with numbers that grow."""
    run: list[Setting] = []
    for setting in document.settings:
        number = _number(setting)
        if number is None:
            yield run
            run = []
        elif run and setting.section == run[-1].section and number > (_number(run[-1]) or 0):
            run.append(setting)
        else:
            yield run
            run = [setting]
    yield run


def _number(setting: Setting) -> int | None:
    key = setting.key.strip("\"' ")
    is_one = key.isascii() and key.isdigit() and len(key) <= _MOST_DIGITS
    return int(key) if is_one and setting.state is State.ACTIVE and setting.value else None
