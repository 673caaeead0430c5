"""What will be done to the files, and what a person has to do: the plan that a packet carries.

A `Change` is one holder's quantity that moves, with the exact byte spans it replaces. A `ByHand` is what no file
can do. A `Plan` holds all of it, with what was left alone and what is in doubt. `to_json` gives the
fields of changes.json (fields may be added, never renamed), `from_json` reads them back, so
that a packet can be shown, reviewed and reverted with nothing else at hand.

Format 1 knew no holders: what it tells is the machine's. It is read by the same types, and never written again: a
packet's hashes are of its own bytes, not of what these types would make of them.

This module deliberately computes nothing: values come from `rules/`, spans from `dialects/`.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import msgspec
from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.files.roles import ListedValue, OwnScript
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.once import once
from cfgmigrate.machine.model import Form
from cfgmigrate.plan.basis import NO_BASIS, Basis, FileInput
from cfgmigrate.plan.identity import WHOLE_MACHINE, name_of
from cfgmigrate.rules.result import CrossCheck, Derivation, Status

FORMAT = 2
#: the formats that are read
FORMATS = (1, 2)


class Edit(Struct, frozen=True):
    """Replace the bytes `start`..`end` of `file`, which read `old`, by `new`. Line and column are for people.

    `old` and `new` are text as people read it; `start` and `end` count bytes of the file before any edit."""

    file: str
    line: int
    column: int
    start: int
    end: int
    old: str
    new: str


class OldValue(Struct, frozen=True):
    """What the file had: `value` in the quantity's unit, `text` as written."""

    value: float | None
    text: str
    file: str
    line: int


class NewValue(Struct, frozen=True):
    """What it becomes: `value` (rounded as written) and `uncertainty` in the quantity's unit, `text` as
    it will stand in the file."""

    value: float | None
    uncertainty: float
    text: str


class Change(Struct, frozen=True):
    """One holder's quantity that moves. `unrounded` is the value before rounding to the file's digits, `cause` the
    fields of the sheet (path, text) by which it moves, `depends` the ids of what it was worked out from."""

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
    holder: str = WHOLE_MACHINE
    cause: tuple[tuple[str, str], ...] = ()
    check_at: str = ""
    #: the form in which the file has it: people are told it so
    form: Form = Form()

    @property
    def id(self) -> str:
        """The name of what moves: its quantity and holder."""
        return name_of(self.quantity, self.holder)


class ByHand(Struct, frozen=True):
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
    check_at: str = ""
    holder: str = WHOLE_MACHINE
    cause: tuple[tuple[str, str], ...] = ()
    form: Form = Form()

    @property
    def id(self) -> str:
        """The name of what is to be done: what it says, and whose it is."""
        return name_of(self.what, self.holder)


class KeptText(Struct, frozen=True):
    """A text of a file that stays because it is what would be written there. `start` counts bytes of the file."""

    file: str
    line: int
    column: int
    start: int
    text: str


class LeftAlone(Struct, frozen=True):
    """A holder's quantity, or a rule, of which nothing came; and why. `already` is true where the files hold the
    new drive's value already, and `at` is then where."""

    quantity: str
    why: str
    holder: str = WHOLE_MACHINE
    already: bool = False
    at: tuple[KeptText, ...] | msgspec.UnsetType = msgspec.UNSET

    @property
    def id(self) -> str:
        return name_of(self.quantity, self.holder)


class Finding(Struct, frozen=True):
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
    cautions: tuple[str, ...] = ()
    verify: str = ""
    holder: str = WHOLE_MACHINE
    cause: tuple[tuple[str, str], ...] = ()

    @property
    def id(self) -> str:
        """The name of what was found: its rule and holder."""
        return name_of(self.rule, self.holder)


class LeftOut(Struct, frozen=True):
    """A file beside the configuration that was not read as part of the machine, with its role, and its `lines` that hold
    an old number: `12: what stands there (which)`. `holds` is what it has of the machine's values, where it may be a
    listing of what the board keeps."""

    path: str
    role: str
    why: str = ""
    lines: tuple[str, ...] = ()
    holds: tuple[ListedValue, ...] = ()
    #: what stands in it where it seems to be a script whose words nobody explained
    own: OwnScript | None = None


#: why a light has nothing to say of a holder that leaves the value to profiles, which have lights of their own
BY_PROFILES = "each profile sets it for itself"
#: the rule of the step that names lines which stay as they are
LINES_LEFT = "files.lines_left"


class Light(Struct, frozen=True):
    """One thing that can wreck a machine or a print when left old, of one holder: set, by hand, unaffected or unknown.

    `missing` asks for what would settle an unknown one, a line each; `rests_on` are the ids of the changes and by-hand
    items without which it would be unknown."""

    light: str
    holder: str
    state: str
    why: str
    missing: tuple[str, ...] = ()
    rests_on: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        return name_of(self.light, self.holder)


class Aged(Struct, frozen=True):
    """How old a reading was taken to be from which a value is scaled: old, new or unknown, with the reason.
    `once_only` is true where nothing but the first run speaks for it."""

    quantity: str
    holder: str
    age: str
    why: str = ""
    once_only: bool = False


class Plan(Struct, frozen=True, dict=True):
    """All that `prepare` or `tune` worked out. `machine` is the sheet's name for the machine, `kind` (install
    or tune) what the history will call it, `rest_of` the packets (their content hashes) of the same swap that
    were installed before. `program` is the release that made it, `knowledge` the hash of what that release knows:
    with the same one the plan can be worked out again."""

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
    #: what is good to know of the files and asks nothing
    notes: tuple[Doubt, ...] = ()
    lights: tuple[Light, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    swap: tuple[tuple[str, str], ...] = ()
    root: str = ""
    kind: str = "install"
    rest_of: tuple[str, ...] = ()
    program: str = ""
    knowledge: str = ""
    #: the feeders (where there are several) and profiles that the files held
    holders: tuple[str, ...] = ()
    #: what the files call feeders beside their number here, by holder: feeder 2, right
    called: tuple[tuple[str, str], ...] = ()
    #: the age of each reading that is scaled from its own value; the history that told it is not in a packet
    ages: tuple[Aged, ...] = ()
    basis: Basis = NO_BASIS

    @once
    def to_json(self) -> dict[str, Any]:
        """The fields of changes.json, without its `hash`. Nobody changes them: they are made once."""
        plain: dict[str, Any] = msgspec.to_builtins(self)
        groups: dict[str, Sequence[Change | ByHand | Finding | LeftAlone]] = {
            "changes": self.changes,
            "by_hand": self.by_hand,
            "findings": self.findings,
            "left_alone": self.left_alone,
        }
        named = {
            group: [{"id": each.id, **fields} for each, fields in zip(items, plain[group], strict=True)]
            for group, items in groups.items()
        }
        return {
            "format": FORMAT,
            **{name: plain[name] for name in ("kind", "machine", "root", "rest_of", "swap")},
            "inputs": {
                "files": plain["files"],
                "left_out": plain["left_out"],
                "holders": plain["holders"],
                "called": plain["called"],
                "sheet": {"path": self.sheet_path, "sha256": self.sheet_sha256},
                "rules": {"sha256": self.rules_sha256},
                "program": {"version": self.program, "knowledge": self.knowledge},
                "basis": plain["basis"],
            },
            "lights": plain["lights"],
            "ages": plain["ages"],
            **named,
            "doubts": [doubt.to_json() for doubt in self.doubts],
            "notes": [note.to_json() for note in self.notes],
        }

    @classmethod
    def from_json(cls, data: dict[str, Any]) -> Plan:
        """The plan that `to_json`, of this release or an older one, wrote. What is missing gets its default, what a
        newer release adds is passed over. Raises KeyError, TypeError or ValueError where fields are missing or
        wrong; `packet/folder.py` turns these into one clear error."""
        inputs = data["inputs"]
        program = inputs.get("program") or {}
        fields = {
            **{name: value for name, value in data.items() if name != "inputs"},
            "files": inputs["files"],
            "left_out": inputs.get("left_out", []),
            "holders": inputs.get("holders", []),
            "called": inputs.get("called", []),
            "basis": inputs.get("basis", {}),
            "sheet_path": inputs["sheet"]["path"],
            "sheet_sha256": inputs["sheet"]["sha256"],
            "rules_sha256": inputs["rules"]["sha256"],
            "program": program.get("version", ""),
            "knowledge": program.get("knowledge", ""),
            "changes": data["changes"],
            "doubts": [],
            "notes": [],
        }
        doubts, notes = (tuple(map(_doubt, data.get(each, ()))) for each in ("doubts", "notes"))
        return replace(msgspec.convert(fields, cls), doubts=doubts, notes=notes)


def _doubt(data: dict[str, Any]) -> Doubt:
    """A doubt, whose place lies flat among its fields."""
    return msgspec.convert({**data, "place": data}, Doubt)
