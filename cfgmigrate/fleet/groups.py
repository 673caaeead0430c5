"""Many machines side by side: which are alike, which stand out, which need hands.

A `Record` is what one machine's preparation came to, without the files: enough for a summary, small enough
for thousands. Machines are alike when the same quantities get the same new values. A machine stands out where
more than half of the machines with the same sheet get another value of a quantity than it does, or get one
and it doesn't. Values are compared in the quantity's own unit, to nine digits, so that dialects don't matter.

This module works out no value and words nothing for people.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from cfgmigrate.fleet.pieces import FleetPiece, Shared, shared
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.plan.model import ByHand, Change, Finding, Plan

DIGITS = 9


@dataclass(frozen=True, slots=True)
class Moved:
    """One value that changes. `old` is None where the file had none that is a number; `text` and `old_text` are
    as the files have them."""

    quantity: str
    label: str
    unit: str
    old: float | None
    old_text: str
    value: float | None
    text: str
    status: str

    @property
    def same(self) -> str:
        """What is the same for the same value, however it is written."""
        return self.text if self.value is None else f"{self.value:.{DIGITS}g}"


@dataclass(frozen=True, slots=True)
class Hand:
    """One thing to do by hand. `about` is the same for the same thing on every machine."""

    about: str
    what: str
    when: str


@dataclass(frozen=True, slots=True)
class Record:
    """What became of one machine. `error` is "" where it has its packet; `unreached` where the run ended before
    its turn came; `standing` where its packet stood there already, `installed` where that is installed; `browsed` where it
    has a page for a browser."""

    name: str
    sheet: str
    config: tuple[str, ...]
    differs: tuple[tuple[str, str | None], ...] = ()
    hash: str = ""
    changes: tuple[Moved, ...] = ()
    by_hand: tuple[Hand, ...] = ()
    warnings: tuple[str, ...] = ()
    doubts: tuple[Doubt, ...] = ()
    notes: tuple[str, ...] = ()
    error: str = ""
    status: int = 0
    unreached: bool = False
    standing: bool = False
    installed: bool = False
    browsed: bool = True
    pieces: tuple[FleetPiece, ...] = ()

    @property
    def done(self) -> bool:
        return not self.error and not self.unreached


@dataclass(frozen=True, slots=True)
class Group:
    """Machines that are alike, in the fleet's order, the changes that they share, and the items that one verdict can be
    on for several of them."""

    machines: tuple[str, ...]
    changes: tuple[Moved, ...]
    shared: tuple[Shared, ...] = ()


@dataclass(frozen=True, slots=True)
class Outlier:
    """A machine that gets another value than most with its sheet. `here` or `usual` is None where the value is
    not changed; `many` of `of` machines have the usual one."""

    machine: str
    quantity: str
    here: Moved | None
    usual: Moved | None
    many: int
    of: int


@dataclass(frozen=True)
class FleetComparison:
    groups: tuple[Group, ...]
    outliers: tuple[Outlier, ...]
    #: each thing to do by hand with the machines that need it, by what is to be done exactly
    hands: Mapping[str, Mapping[str, tuple[str, ...]]] = field(default_factory=dict)
    #: each warning with the machines that have it
    warnings: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


def moved(change: Change) -> Moved:
    old = change.old
    return Moved(
        change.id,
        change.label,
        change.unit,
        old.value if old else None,
        old.text if old else "",
        change.new.value,
        change.new.text,
        change.status.value,
    )


def hand(item: ByHand) -> Hand:
    return Hand(item.label or item.rule or item.what, item.what, item.when)


def warnings_of(plan: Plan) -> tuple[str, ...]:
    """Every warning of a plan once: by-hand items first, since a wrong screw does harm before any file is read."""
    items: tuple[ByHand | Change | Finding, ...] = (*plan.by_hand, *plan.changes, *plan.findings)
    return tuple(dict.fromkeys(warning for item in items for warning in item.warnings))


def compare(records: Sequence[Record]) -> FleetComparison:
    """The machines that have a packet, side by side."""
    done = [record for record in records if record.done]
    hands: dict[str, dict[str, list[str]]] = {}
    for record in done:
        for item in dict.fromkeys(record.by_hand):
            hands.setdefault(item.about, {}).setdefault(item.what, []).append(record.name)
    warned: dict[str, list[str]] = {}
    for record in done:
        for warning in record.warnings:
            warned.setdefault(warning, []).append(record.name)
    return FleetComparison(
        groups(done),
        outliers(done),
        {about: {what: tuple(names) for what, names in found.items()} for about, found in hands.items()},
        {warning: tuple(names) for warning, names in warned.items()},
    )


def groups(records: Iterable[Record]) -> tuple[Group, ...]:
    """Machines that are alike, the largest group first and otherwise in the fleet's order."""
    found: dict[frozenset[tuple[str, str]], list[Record]] = {}
    for record in records:
        found.setdefault(frozenset((one.quantity, one.same) for one in record.changes), []).append(record)
    made = [
        Group(
            tuple(record.name for record in alike),
            alike[0].changes,
            shared([(record.name, record.pieces) for record in alike]),
        )
        for alike in found.values()
    ]
    return tuple(sorted(made, key=lambda group: -len(group.machines)))


def outliers(records: Sequence[Record]) -> tuple[Outlier, ...]:
    """Who gets another value than more than half of the machines with the same sheet; in the fleet's order."""
    by_sheet: dict[str, list[dict[str, Moved]]] = {}
    own = {record.name: {one.quantity: one for one in record.changes} for record in records}
    for record in records:
        by_sheet.setdefault(record.sheet, []).append(own[record.name])
    usual = {sheet: _usual(machines) for sheet, machines in by_sheet.items()}
    return tuple(
        Outlier(record.name, quantity, here, most, many, len(by_sheet[record.sheet]))
        for record in records
        for quantity, (most, many) in usual[record.sheet].items()
        if _same(here := own[record.name].get(quantity)) != _same(most)
    )


def _usual(machines: Sequence[Mapping[str, Moved]]) -> dict[str, tuple[Moved | None, int]]:
    """What more than half of the machines get of each quantity (None: it stays), and how many they are."""
    found: dict[str, tuple[Moved | None, int]] = {}
    for quantity in dict.fromkeys(name for machine in machines for name in machine):
        values = [machine.get(quantity) for machine in machines]
        same, many = Counter(map(_same, values)).most_common(1)[0]
        if 2 * many > len(machines):
            found[quantity] = next(value for value in values if _same(value) == same), many
    return found


def _same(value: Moved | None) -> str:
    return value.same if value is not None else ""
