"""What a survey and a comparison have to say, in a terminal.

Both take the JSON of their command and print only to the console they are given.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from cfgmigrate.files.gaps import told_first
from cfgmigrate.files.roles import Role
from cfgmigrate.files.telling import told, with_decimal_commas
from cfgmigrate.machine.precedence import TO_KNOW
from cfgmigrate.reports import comparison
from cfgmigrate.reports.console import ALARM, MOST_LISTED, heading, line, make_table, plain
from cfgmigrate.reports.feeders_called import named
from cfgmigrate.reports.survey_screen import NAME_WIDTH, asked_of, which_is_swapped

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Column


WIDE = 80
"""From this width on, names and places stand on one line, to be copied whole."""

LEAST_OF_A_VALUE = 10
"""So wide is a column of values at most where not all fits; what is left is for the place, which may go on in a second line."""

BETWEEN_COLUMNS = 3
"""Blanks between two columns of a table."""


def show_survey(survey: dict[str, Any], console: Console) -> None:
    """What was understood, where it stands, and what was not. `survey` is what `survey --json` prints."""
    roles = {file["path"]: Role(file["role"]) for file in survey["files"] if "role" in file}
    for text in (
        *told_first(survey),
        *told(roles, {file["path"]: file["why"] for file in survey["files"] if "why" in file}),
        *with_decimal_commas([file["path"] for file in survey["files"] if file.get("decimals")]),
    ):
        line(console, text)
    for text in which_is_swapped(survey):
        line(console, f"To be asked: {text}", bullet="?", style=ALARM)
    for question in survey.get("questions", []):
        line(console, f"To be asked: {question['text']}", bullet="?", style=ALARM)
        for option in question["options"]:
            line(console, option["label"], indent=4, bullet="-")
    heading(console, "What was understood")
    files = make_table("file", "dialect", "lines", "settings", "understood")
    for file in survey["files"]:
        if not roles.get(file["path"], Role.IN_FORCE).taken:
            continue
        known = f"{file['understood']} of {file['settings']}" if file["settings"] else "–"
        files.add_row(
            plain(file["path"]), plain(file["dialect"]), str(file["lines"]), str(file["settings"]), known
        )
    console.print(files)
    skipped = [item for item in survey.get("skipped", []) if item["why"] != "it is hidden"]
    _show_list(console, "Left alone", [f"{item['path']}: {item['why']}" for item in skipped])
    for holder, readings in _by_holder(survey["readings"]).items():
        _show_readings(console, named(holder, survey.get("called", {})), readings)
    _show_list(console, "Protected: read and compared, never written", survey.get("protected", []))
    relevant = [
        item
        for item in survey.get("unrecognised", [])
        if isinstance(item, str) or any(item.get(each) for each in ("nearest", "near", "may_be"))
    ]
    _show_list(console, "Looks relevant, but was not understood", relevant)
    _show_list(console, "Questions: not guessed, to be settled", asked_of(survey), bullet="?")
    to_know = [each for each in survey.get("doubts", []) if each.get("remedy") in TO_KNOW]
    _show_list(console, "Good to know: nothing has to be done about it", to_know)


def _by_holder(readings: Sequence[Mapping[str, Any]]) -> dict[str, list[Mapping[str, Any]]]:
    """What may be written, by whose it is: the machine, its feeders, filaments, prints."""
    found: dict[str, list[Mapping[str, Any]]] = {}
    for reading in readings:
        if not (reading.get("follows") or reading.get("protected")):
            found.setdefault(str(reading["holder"]), []).append(reading)
    kinds = ("machine", "feeder", "filament", "print")
    return dict(sorted(found.items(), key=lambda pair: kinds.index(pair[0].partition(" ")[0])))


def _show_readings(console: Console, holder: str, readings: Sequence[Mapping[str, Any]]) -> None:
    """The readings of one holder."""
    heading(console, "The machine" if holder == "machine" else holder[:1].upper() + holder[1:])
    converted = any(reading.get("converted") for reading in readings)
    table = make_table("what", "value", "as written", "where", *(["converted"] if converted else []))
    for reading in readings:
        table.add_row(
            plain(comparison.called(reading)),
            plain(_in_a_line(comparison.value_text(reading))),
            plain("" if reading.get("value") is None else str(reading["text"])),
            plain(comparison.place_text(reading)),
            *([plain(str(reading.get("converted") or ""))] if converted else []),
        )
    if console.width >= WIDE:
        name, where = table.columns[0], table.columns[3]
        values = [column for column in table.columns if column not in (name, where)]
        gaps = BETWEEN_COLUMNS * (len(table.columns) - 1)
        where.no_wrap = True
        name.width = min(_widest(name), NAME_WIDTH)
        if name.width + sum(map(_widest, (*values, where))) + gaps > console.width:
            for column in values:
                column.width = min(_widest(column), LEAST_OF_A_VALUE)
            room = console.width - name.width - sum(column.width or 0 for column in values) - gaps
            where.no_wrap, where.width = False, max(LEAST_OF_A_VALUE, min(_widest(where), room))
    console.print(table)
    held_back = [reading for reading in readings if not reading.get("editable", True)]
    _show_list(
        console, "Read, and not to be written", [{**each, "why": each["why_not"]} for each in held_back]
    )


def _widest(column: Column) -> int:
    from rich.cells import cell_len

    return max(cell_len(str(text)) for text in (column.header, *column.cells))


def _in_a_line(text: str) -> str:
    """A value for a table: of a script only its length, the script itself stands in its file."""
    lines = [line for line in re.split(r"\\n|[\r\n]+", text) if line.strip()]
    return text if len(lines) < 2 else f"{len(lines)} lines"


def _show_list(console: Console, title: str, items: Sequence[Any], bullet: str = "-") -> None:
    """Things with a place: whatever fields an item has are shown in the order place, text, why, remedy."""
    if not items:
        return
    heading(console, title)
    for item in items[:MOST_LISTED]:
        if isinstance(item, str):
            line(console, item, bullet=bullet)
            continue
        what = comparison.called(item) if item.get("quantity") else str(item.get("text") or "")
        value = comparison.value_text(item) if "value" in item else ""
        line(console, ": ".join(filter(None, [comparison.place_text(item), what, value])), bullet=bullet)
        for name in ("why", "remedy"):
            if item.get(name):
                line(console, str(item[name]), indent=4)
        if item.get("nearest"):
            line(console, f"nearest: {', '.join(item['nearest'])}", indent=4)
    if len(items) > MOST_LISTED:
        line(console, f"and {len(items) - MOST_LISTED:,} more; --json has them all", bullet=bullet)


def show_comparison(found: Mapping[str, Any], console: Console) -> None:
    """Two configurations by meaning: protected differences first, then the others, then what only one has."""
    heading(console, "Compared by meaning")
    line(console, comparison.sentence(found))
    for title, rows in comparison.groups(found):
        heading(console, title)
        table = make_table("what", "old", "where", "new", "where")
        for row in rows:
            table.add_row(
                plain(row.quantity, ALARM if row.protected else ""),
                plain(row.old),
                plain(row.old_place),
                plain(row.new),
                plain(row.new_place),
            )
        if console.width >= WIDE:
            table.columns[0].width = min(_widest(table.columns[0]), NAME_WIDTH)
        console.print(table)
