"""What will be done to the files, and what a person has to do: the plan that a packet carries.

A `Change` is one quantity that moves, with the exact byte spans it replaces. A `ByHand` is what no file
can do. A `Plan` holds all of it, with what was left alone and what is in doubt. `to_json` gives the
fields of changes.json (format 1: fields may be added, never renamed), `from_json` reads them back, so
that a packet can be shown, reviewed and reverted with nothing else at hand.

This module deliberately computes nothing: values come from `rules/`, spans from `dialects/`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from typing import Any, TypeVar

from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.rules.result import Contribution, CrossCheck, Derivation, Input, Status


@dataclass(frozen=True, slots=True)
class Edit:
    """Replace the bytes `start`..`end` of `file`, which read `old`, by `new`. Line and column are for people.

    `old` and `new` are text as people read it; `start` and `end` count bytes of the file before any edit."""

    file: str
    line: int
    column: int
    start: int
    end: int
    old: str
    new: str

    def to_json(self) -> dict[str, Any]:
        return {name: getattr(self, name) for name in self.__slots__}


@dataclass(frozen=True, slots=True)
class OldValue:
    """What the file had: `value` in the quantity's unit, `text` as written."""

    value: float | None
    text: str
    file: str
    line: int


@dataclass(frozen=True, slots=True)
class NewValue:
    """What it becomes: `value` (rounded as written) and `uncertainty` in the quantity's unit, `text` as
    it will stand in the file."""

    value: float | None
    uncertainty: float
    text: str


@dataclass(frozen=True, slots=True)
class Change:
    """One quantity that moves. `unrounded` is the value before rounding to the file's digits."""

    quantity: str
    label: str
    unit: str
    status: Status
    way: str
    old: OldValue | None
    new: NewValue
    derivation: Derivation
    rounding: str
    edits: tuple[Edit, ...]
    says: str = ""
    unrounded: float | None = None
    low: float | None = None
    high: float | None = None
    step: float | None = None
    cross_checks: tuple[CrossCheck, ...] = ()
    cautions: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    verify: str = ""
    depends: tuple[str, ...] = ()
    rule: str = ""


@dataclass(frozen=True, slots=True)
class ByHand:
    """What no file can do: a screw to turn, a direction to test. `value` is None where there is no number."""

    what: str
    value: float | None
    unit: str
    why: str
    derivation: Derivation | None = None
    text: str = ""
    uncertainty: float = 0.0
    cautions: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    verify: str = ""
    rule: str = ""
    when: str = "power off"
    label: str = ""
    steps: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class LeftAlone:
    quantity: str
    why: str


@dataclass(frozen=True, slots=True)
class Finding:
    """A number worth knowing that neither a file nor a hand sets: the give of a path, a winding's temperature."""

    rule: str
    label: str
    value: float | None
    unit: str
    uncertainty: float
    derivation: Derivation
    says: str = ""
    warnings: tuple[str, ...] = ()
    word: str = ""


@dataclass(frozen=True, slots=True)
class TakenIn:
    """An include line as it was found: what is written, and the files that it takes in."""

    target: str
    files: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FileInput:
    """A file that was read. `includes` are its include lines in their order; roles and include lines are recorded
    because they rest on files that are not in the packet."""

    path: str
    sha256: str
    dialect: str
    role: str = "in force"
    includes: tuple[TakenIn, ...] = ()


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A file beside the configuration that was not read as part of the machine, with its role."""

    path: str
    role: str


@dataclass(frozen=True)
class Plan:
    """All that `prepare` or `tune` worked out. `machine` is the sheet's name for the machine, `kind` (install
    or tune) what the history will call it, `rest_of` the packets (their content hashes) of the same swap that
    were installed before."""

    machine: str
    files: tuple[FileInput, ...]
    sheet_path: str
    sheet_sha256: str
    rules_sha256: str
    changes: tuple[Change, ...] = ()
    by_hand: tuple[ByHand, ...] = ()
    findings: tuple[Finding, ...] = ()
    left_alone: tuple[LeftAlone, ...] = ()
    doubts: tuple[Doubt, ...] = ()
    swap: tuple[tuple[str, str], ...] = ()
    root: str = ""
    kind: str = "install"
    rest_of: tuple[str, ...] = ()
    left_out: tuple[LeftOut, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """The fields of changes.json, without its `hash`."""
        return {
            "format": 1,
            "kind": self.kind,
            "machine": self.machine,
            "root": self.root,
            "rest_of": list(self.rest_of),
            "swap": [list(pair) for pair in self.swap],
            "inputs": {
                "files": [plain(file) for file in self.files],
                "left_out": [plain(file) for file in self.left_out],
                "sheet": {"path": self.sheet_path, "sha256": self.sheet_sha256},
                "rules": {"sha256": self.rules_sha256},
            },
            "changes": [plain(change) for change in self.changes],
            "by_hand": [plain(item) for item in self.by_hand],
            "findings": [plain(item) for item in self.findings],
            "left_alone": [plain(item) for item in self.left_alone],
            "doubts": [doubt.to_json() for doubt in self.doubts],
        }

    @classmethod
    def from_json(cls, data: dict[str, Any]) -> Plan:
        """The plan that `to_json` wrote. Raises KeyError, TypeError or ValueError where fields are
        missing or wrong; `packet.py` turns these into one clear error."""
        inputs = data["inputs"]
        sheet = _built(_SheetInput, inputs["sheet"])
        return _built(
            cls,
            data,
            swap=tuple((str(what), str(text)) for what, text in data.get("swap", ())),
            files=tuple(_file(file) for file in inputs["files"]),
            left_out=tuple(_built(LeftOut, file) for file in inputs.get("left_out", ())),
            sheet_path=sheet.path,
            sheet_sha256=sheet.sha256,
            rules_sha256=str(inputs["rules"]["sha256"]),
            changes=tuple(_change(item) for item in data["changes"]),
            by_hand=tuple(_by_hand(item) for item in data.get("by_hand", ())),
            findings=tuple(_finding(item) for item in data.get("findings", ())),
            left_alone=tuple(_built(LeftAlone, item) for item in data.get("left_alone", ())),
            doubts=tuple(_doubt(item) for item in data.get("doubts", ())),
        )


@dataclass(frozen=True, slots=True)
class _SheetInput:
    path: str
    sha256: str


def plain(value: Any) -> Any:
    """Dataclasses as plain JSON values, field by field."""
    if hasattr(value, "__slots__") and hasattr(value, "__dataclass_fields__"):
        return {name: plain(getattr(value, name)) for name in value.__dataclass_fields__}
    if isinstance(value, tuple | list):
        return [plain(item) for item in value]
    return value


_Built = TypeVar("_Built")

#: what a field's annotation asks of a value that comes from a packet
_FITS: dict[str, Callable[[Any], bool]] = {
    "str": lambda value: isinstance(value, str),
    "int": lambda value: isinstance(value, int),
    "float": lambda value: isinstance(value, int | float),
    "float | None": lambda value: value is None or isinstance(value, int | float),
    "tuple[str, ...]": lambda value: all(isinstance(item, str) for item in value),
}


def _built(kind: type[_Built], data: Mapping[str, Any], **made: Any) -> _Built:
    """A value from its fields, with those in `made` built already. What an older packet lacks gets its
    default, and what a newer one adds is passed over."""
    given: dict[str, Any] = {}
    for field in fields(kind):  # type: ignore[arg-type]
        if field.name in made or field.name not in data:
            continue
        value = data[field.name]
        if field.type in _FITS and not _FITS[str(field.type)](value):
            raise ValueError(f"{field.name} is no {field.type}")
        given[field.name] = tuple(value) if isinstance(value, list) else value
    return kind(**given, **made)


def _derivation(data: dict[str, Any]) -> Derivation:
    return _built(
        Derivation,
        data,
        inputs=tuple(_built(Input, item) for item in data.get("inputs", ())),
        contributions=tuple(_built(Contribution, item) for item in data.get("contributions", ())),
    )


def _file(data: dict[str, Any]) -> FileInput:
    includes = tuple(_built(TakenIn, each) for each in data.get("includes", ()))
    return _built(FileInput, data, includes=includes)


def _change(data: dict[str, Any]) -> Change:
    return _built(
        Change,
        data,
        status=Status(data["status"]),
        old=_built(OldValue, data["old"]) if data.get("old") else None,
        new=_built(NewValue, data["new"]),
        derivation=_derivation(data["derivation"]),
        edits=tuple(_built(Edit, edit) for edit in data["edits"]),
        cross_checks=tuple(_built(CrossCheck, item) for item in data.get("cross_checks", ())),
    )


def _by_hand(data: dict[str, Any]) -> ByHand:
    found = data.get("derivation")
    return _built(ByHand, data, derivation=_derivation(found) if found else None)


def _finding(data: dict[str, Any]) -> Finding:
    return _built(Finding, data, derivation=_derivation(data["derivation"]))


def _doubt(data: dict[str, Any]) -> Doubt:
    return _built(Doubt, data, place=_built(Place, data))
