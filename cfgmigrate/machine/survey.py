"""What was understood of a configuration, where it stands, and what was not: the survey as values.

This module deliberately prints nothing; `reports/` shows a survey to people, `to_json` to programs.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Protocol

from msgspec import Struct, field
from msgspec.structs import replace

from cfgmigrate.dialects.document import Document, State
from cfgmigrate.files.roles import FileSet, Question, Role
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.called_feeders import called_by_holder
from cfgmigrate.machine.codes import code_line
from cfgmigrate.machine.commas import COMMA, once_a_file
from cfgmigrate.machine.model import Machine, Reading, Unread
from cfgmigrate.machine.near_lengths import lengths_of, of_the_path
from cfgmigrate.machine.quantities import PROTECTED, label_of, numbered, quantity
from cfgmigrate.machine.rows import taught_as
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.teach import teachable
from cfgmigrate.machine.teachable import Teachable


class HasFiles(Protocol):
    """A configuration, as far as it matters here: every file's role, and those that have no part in the machine."""

    @property
    def skipped(self) -> tuple[tuple[str, str], ...]: ...
    @property
    def roles(self) -> FileSet: ...
    @property
    def left(self) -> tuple[Document, ...]: ...


class FileSurvey(Struct, frozen=True):
    """One file. `settings` counts those that are or may be in force; of these `understood` have a reading."""

    path: str
    dialect: str
    settings: int
    lines: int
    understood: int
    role: str = str(Role.IN_FORCE)
    why: str = ""
    #: `comma` where its numbers have commas for points
    decimals: str = ""

    @property
    def share(self) -> float:
        """The part of the settings that was understood, 0 to 1; 1 for a file without settings."""
        return self.understood / self.settings if self.settings else 1.0


class Survey(Struct, frozen=True):
    """All that was found. `readings` are in force; `unread` stand with the relevant ones first."""

    files: tuple[FileSurvey, ...]
    readings: tuple[Reading, ...]
    protected: tuple[Reading, ...]
    unread: tuple[Unread, ...]
    doubts: tuple[Doubt, ...]
    machine: Machine
    skipped: tuple[tuple[str, str], ...] = ()
    #: which files are the machine, where that can't be told; the roles above are then what is likeliest
    questions: tuple[Question, ...] = ()
    #: for settings that were not understood, what their number is near to
    near: Mapping[Unread, Teachable] = field(default_factory=dict)

    @property
    def relevant(self) -> tuple[Unread, ...]:
        """Settings that were not understood but look as if they mattered."""
        return tuple(
            unread for unread in self.unread if unread.nearest or unread in self.near or of_the_path(unread)
        )

    def to_json(self) -> dict[str, Any]:
        """The document that `survey --json` prints."""
        return {
            "files": [
                {
                    "path": file.path,
                    "role": file.role,
                    "why": file.why,
                    "dialect": file.dialect,
                    "settings": file.settings,
                    "lines": file.lines,
                    "understood": file.understood,
                    "share": round(file.share, 4),
                    **({"decimals": file.decimals} if file.decimals else {}),
                }
                for file in self.files
            ],
            "questions": [_question(question) for question in self.questions],
            "quantities": self._quantities(),
            "readings": list(self._held()),
            "protected": [{"quantity": found.quantity, **self._reading(found)} for found in self.protected],
            "unrecognised": [_unread(unread, self.machine, self.near.get(unread)) for unread in self.unread],
            "doubts": [doubt.to_json() for doubt in self.doubts],
            "skipped": [{"path": path, "why": why} for path, why in self.skipped],
            **({"called": names} if (names := called_by_holder(self.machine)) else {}),
        }

    def _quantities(self) -> dict[str, Any]:
        """What each feeder sees without a profile; a further feeder's own as `feeder2.steps_per_mm`."""
        first = {each.quantity: each for each in self.machine.view().readings}
        found = {name: self._reading(each) for name, each in first.items() if each in self.readings}
        for each in self.readings:
            if each.holder.kind == "feeder" and each.holder.name != "1":
                found[numbered(each.quantity, int(each.holder.name))] = self._reading(each)
        return found

    def _held(self) -> Iterable[dict[str, Any]]:
        """Readings in force and those that move along with them, but for protected ones that are no quantity."""
        for reading in self.machine.readings:
            if not reading.quantity.startswith(PROTECTED):
                yield from (_held(each, follows=True) for each in self.machine.followers(reading))
                yield _held(reading, follows=False)

    def _reading(self, reading: Reading) -> dict[str, Any]:
        found: dict[str, Any] = {
            "label": label_of(reading),
            "value": reading.value,
            "unit": quantity(reading.quantity).unit,
            "text": reading.text,
            "file": reading.place.file,
            "line": reading.place.line,
            "column": reading.place.column,
            "converted": reading.converted,
        }
        twins = self.machine.followers(reading)
        if twins:
            found["also"] = [
                {
                    "text": twin.text,
                    "file": twin.place.file,
                    "line": twin.place.line,
                    "column": twin.place.column,
                }
                for twin in twins
            ]
        return found


def _held(reading: Reading, follows: bool) -> dict[str, Any]:
    """A reading with its holder. One that `follows` moves along with another of its quantity and holder."""
    about = quantity(reading.quantity)
    return {
        "quantity": reading.quantity,
        "holder": str(reading.holder),
        "value": reading.value,
        "unit": about.unit,
        "text": reading.text,
        "file": reading.place.file,
        "line": reading.place.line,
        "column": reading.place.column,
        "converted": reading.converted,
        "follows": follows,
        "protected": about.protected,
        "editable": reading.editable and not about.protected,
        "why_not": "protected: read and compared, never written" if about.protected else reading.why_not,
    }


def survey_of(machine: Machine, configuration: HasFiles | None = None) -> Survey:
    """The survey of a machine; with its configuration it also lists the files that were not read."""
    protected = tuple(found for found in machine.readings if quantity(found.quantity).protected)
    readings = tuple(found for found in machine.readings if not quantity(found.quantity).protected)
    files = tuple(_files(machine, configuration))
    taught = [each for each in teachable(machine, lengths_of(machine)) if each.close_to]
    near = {unread: each for each in taught for unread in each.settings}
    order = {unread: at for at, unread in enumerate(near)}
    unread = sorted(
        machine.unread,
        key=lambda each: (order.get(each, len(order)), not each.nearest, not of_the_path(each)),
    )
    skipped = configuration.skipped if configuration else ()
    questions = configuration.roles.questions if configuration else ()
    return Survey(
        files,
        readings,
        protected,
        tuple(unread),
        once_a_file(machine.doubts),
        machine,
        skipped,
        questions,
        near,
    )


def _files(machine: Machine, configuration: HasFiles | None) -> Iterable[FileSurvey]:
    """Those of the machine first, then what has no part in it."""
    roles = configuration.roles if configuration else FileSet()
    for document in machine.documents:
        found = roles.get(document.path)
        yield replace(
            _file(document, machine), role=str(roles.role(document.path)), why=found.why if found else ""
        )
    left = {document.path: document for document in configuration.left} if configuration else {}
    for path, role in roles.items():
        if not role.role.taken:
            read = left.get(path)
            settings = sum(s.state is not State.INACTIVE for s in read.settings) if read else 0
            lines = read.lines if read else 0
            yield FileSurvey(path, read.dialect if read else "", settings, lines, 0, str(role.role), role.why)


def _question(question: Question) -> dict[str, Any]:
    return {
        "kind": question.kind,
        "text": question.text,
        "options": [{"label": option.label, "files": list(option.files)} for option in question.options],
        "instead": list(question.instead),
    }


def _file(document: Document, machine: Machine) -> FileSurvey:
    own_readings = (each for each in machine.every_reading if each.place.file == document.path)
    spans = {(each.setting.at, each.setting.end) for each in own_readings}
    settings = [setting for setting in document.settings if setting.state is not State.INACTIVE]
    own = {(setting.at, setting.end) for setting in settings}
    scripts = [span for span in spans if span not in own]
    understood = [
        s for s in settings if (s.at, s.end) in spans or any(at <= s.start < end for at, end in scripts)
    ]
    return FileSurvey(
        document.path,
        document.dialect,
        len(settings),
        document.lines,
        len(understood),
        decimals=COMMA if document.commas else "",
    )


def _unread(unread: Unread, machine: Machine, near: Teachable | None) -> dict[str, Any]:
    found: dict[str, Any] = {
        "file": unread.place.file,
        "line": unread.place.line,
        "column": unread.place.column,
        "text": unread.text,
    }
    if near is not None:
        found["may_be" if near.perhaps else "near"] = near.close_to
        if near.close_to:
            found["why"] = near.why
        found["remedy"] = (
            near.by_screw or f"if it is that, add to cfgmigrate.yaml, under {near.under}: {near.meaning}"
        )
    elif of_the_path(unread):
        found["near"] = "the filament's way"
        found["why"] = "it may have to do with the filament's way"
    if unread.nearest and not (near is not None and near.by_screw):
        found["nearest"] = list(unread.nearest)
        found["remedy"] = _remedy(unread, machine)
    return found


def _remedy(unread: Unread, machine: Machine) -> str:
    """A line to copy only for a quantity that nothing else sets: it would otherwise be set twice."""
    document = next((each for each in machine.documents if each.path == unread.place.file), None)
    if document and document.dialect == "command" and (line := code_line(unread.setting, unread.nearest[0])):
        return f"if it is that, add to cfgmigrate.yaml, under codes: {line}"
    free = next((name for name in unread.nearest if machine.get(name) is None), None)
    if free is not None:
        return f"if it is that, add to cfgmigrate.yaml, under meanings: {name_line(unread.setting, taught_as(unread.setting, free))}"
    taken = unread.nearest[0]
    place = machine.by_quantity[taken].place
    line = name_line(unread.setting, "QUANTITY")
    return f"{taken} ({quantity(taken).label}) is set at {place.file}:{place.line} already; if this is another quantity, add to cfgmigrate.yaml, under meanings: {line}"
