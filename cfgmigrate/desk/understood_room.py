"""The second room: each file with what was understood marked in its lines, and what was not.

A line that was not understood, or is in doubt, takes a word on what it is; that goes into the site file, and the
files are read again at once.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from msgspec import Struct
from starlette.responses import Response

from cfgmigrate.desk.file_questions import questions_of
from cfgmigrate.desk.session import same_stamp, stamp
from cfgmigrate.desk.web import Visit
from cfgmigrate.dialects.document import Document, Setting, readable
from cfgmigrate.files.configuration import Configuration
from cfgmigrate.ground.findings import BadInput, Doubt, Place
from cfgmigrate.machine.model import Machine, Reading

#: so many lines around a marked one are shown, and so many lines of one file at most
AROUND, MOST_FILE_LINES = 1, 1500
#: so much of a line is shown
MOST_OF_A_LINE = 400


class Mark(Struct, frozen=True):
    """A stretch of a line: its text, and what was understood of it ("" for nothing)."""

    text: str
    reading: Reading | None = None
    label: str = ""
    unread: bool = False


class ShownLine(Struct, frozen=True):
    """A line of a file. `ask` is the setting that may be told on it, with what is likeliest first; `doubts` stand at it."""

    number: int
    marks: tuple[Mark, ...]
    ask: Setting | None = None
    likely: tuple[str, ...] = ()
    near: str = ""
    doubts: tuple[Doubt, ...] = ()


def show(visit: Visit) -> Response:
    from cfgmigrate.machine.survey import survey_of

    configuration, machine = visit.desk.look()
    survey = survey_of(machine, configuration)
    at = _number(visit.asked("file"), len(machine.documents))
    document = machine.documents[at]
    lines = list(lines_of(document, machine, survey))
    holders = sorted({str(each.holder) for each in machine.readings})
    return visit.page(
        "understood.html",
        title="What is understood",
        room="understood",
        files=[each for each in survey.files if each.dialect],
        documents=[each.path for each in machine.documents],
        at=at,
        document=document,
        groups=grouped(lines),
        cut=max(0, len(lines) - MOST_FILE_LINES),
        near=[_place_of(each, machine) for each in survey.relevant],
        doubts=[(each, _at(each.place, machine)) for each in survey.doubts],
        readings=[(each, _about(each), _at(each.place, machine)) for each in survey.readings],
        protected=[(each, _about(each), _at(each.place, machine)) for each in survey.protected],
        holders=holders,
        quantities=_quantities(),
        stamp=stamp(*_shown(configuration, document)),
        **questions_of(visit),
    )


def say_meaning(visit: Visit) -> Response:
    """What a setting is, from a click on its line."""
    from cfgmigrate.workflow import site

    configuration, machine = visit.desk.look()
    at = _number(visit.field("file"), len(machine.documents))
    document = machine.documents[at]
    same_stamp(visit.field("stamp"), *_shown(configuration, document))
    start = visit.field("start")
    setting = next((each for each in document.settings if str(each.start) == start), None)
    if setting is None:
        raise BadInput("there is no such setting any more", Place(document.path), "Look at the file again.")
    chosen = visit.field("quantity")
    if not chosen:
        raise BadInput(
            "nothing was chosen", document.place(setting), "Choose what it is, or that it is none of these."
        )
    code = document.dialect == "command"
    name = f"{setting.section}.{setting.key}" if code else setting.name
    written = site.say_meaning([visit.desk.config], name, chosen, code=code, unit=visit.field("unit").strip())
    note = f"Kept in {written.name}: {name} is {chosen}. The files were read again."
    return visit.go(f"understood?file={at}", note, at=f"line-{setting.line}")


def _shown(configuration: Configuration, document: Document) -> tuple[object, ...]:
    """What a form on a line is about: it names the line by where it begins, so all of its file has to be as it was."""
    return configuration.site.source, document.path, document.dialect, document.data


def lines_of(document: Document, machine: Machine, survey: Any) -> Iterator[ShownLine]:
    """The lines of a file that say something, or where something is not clear, each with its marks."""
    readings: dict[int, list[Reading]] = {}
    for reading in machine.every_reading:
        if reading.place.file == document.path:
            readings.setdefault(reading.place.line, []).append(reading)
    unread = {each.place.line: each for each in machine.unread if each.place.file == document.path}
    doubts: dict[int, list[Doubt]] = {}
    for doubt in survey.doubts:
        if doubt.place.file == document.path:
            doubts.setdefault(doubt.place.line, []).append(doubt)
    settings: dict[int, Setting] = {}
    for setting in document.settings:
        settings.setdefault(setting.line, setting)
    start = 0
    for number, raw in enumerate(document.data.splitlines(keepends=True), 1):
        found, open_ = readings.get(number, []), unread.get(number)
        ask = open_.setting if open_ is not None else settings.get(number) if number in doubts else None
        taught = survey.near.get(open_) if open_ is not None else None
        likely = (
            tuple(taught.candidates) if taught is not None else open_.nearest if open_ is not None else ()
        )
        marks = tuple(_marks(raw, start, found, open_.setting if open_ is not None else None))
        yield ShownLine(
            number,
            marks,
            ask,
            likely,
            taught.hint if taught is not None else "",
            tuple(doubts.get(number, ())),
        )
        start += len(raw)


def grouped(lines: Sequence[ShownLine]) -> list[list[ShownLine]]:
    """The lines worth a look, with one around each, in groups; what is between is left out."""
    shown: set[int] = set()
    for line in lines:
        if line.ask or line.doubts or any(mark.reading for mark in line.marks):
            shown.update(range(line.number - AROUND, line.number + AROUND + 1))
    groups: list[list[ShownLine]] = []
    for line in lines[:MOST_FILE_LINES]:
        if line.number in shown:
            if not groups or groups[-1][-1].number != line.number - 1:
                groups.append([])
            groups[-1].append(line)
    return groups


def _marks(raw: bytes, start: int, readings: Sequence[Reading], unread: Setting | None) -> Iterator[Mark]:
    """A line cut into what is understood, what is not, and the rest."""
    spans: list[tuple[int, int, Reading | None]] = [(each.start, each.end, each) for each in readings]
    if unread is not None:
        spans.append((unread.start, unread.end, None))
    at, end = start, start + min(len(raw.rstrip(b"\r\n")), MOST_OF_A_LINE)
    for low, high, reading in sorted(spans, key=lambda each: each[:2]):
        if low < at or high > end:
            continue
        if low > at:
            yield Mark(readable(raw[at - start : low - start]))
        text = readable(raw[low - start : high - start])
        yield Mark(text, reading, _about(reading) if reading else "not understood", unread=reading is None)
        at = high
    if at < end:
        yield Mark(readable(raw[at - start : end - start]))


def _about(reading: Reading) -> str:
    """What a reading is, in words."""
    from cfgmigrate.ground.number_text import number
    from cfgmigrate.machine.quantities import quantity

    about = quantity(reading.quantity)
    value = f": {number(reading.value, digits=6)} {about.unit}".rstrip() if reading.value is not None else ""
    only = "" if reading.editable and not about.protected else "; never written"
    return f"{about.label}{value} ({reading.holder}){only}"


def _quantities() -> Mapping[str, str]:
    """What a setting may be said to be: ids and labels."""
    from cfgmigrate.machine.quantities import all_quantities

    return {each.id: each.label for each in all_quantities() if not each.protected}


def _at(place: Place, machine: Machine) -> int | None:
    """The number of the file that a place is in, as addresses have it."""
    paths = [document.path for document in machine.documents]
    return paths.index(place.file) if place.file in paths else None


def _place_of(unread: Any, machine: Machine) -> tuple[Any, int | None]:
    return unread, _at(unread.place, machine)


def _number(text: str, count: int) -> int:
    number = int(text) if text.isascii() and text.isdecimal() and len(text) < 6 else 0
    if number >= count:
        raise BadInput("there is no such file any more", Place("file"), "Look at the list of files again.")
    return number
