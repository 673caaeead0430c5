"""Many machines side by side: which are alike, which stand out, which need hands.

A `Record` is what one machine's preparation came to, without the files: enough for a summary, small enough
for thousands. Machines are alike when the same quantities change alike (`forms.py`): to the same value, or by the same.
A machine stands out where more than half of the machines with the same sheet change a quantity otherwise than it does,
or change one that it doesn't, or where its files lack settings that nearly all others have. Values are compared in the
quantity's own unit, to nine digits, so that dialects don't matter.

This module works out no value and words nothing for people.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from msgspec import Struct, field
from msgspec.structs import replace

from cfgmigrate.apply.disputed_lines import Claim
from cfgmigrate.fleet.forms import VALUE_ITSELF, ChangeForm, form_of
from cfgmigrate.fleet.moved import Moved
from cfgmigrate.fleet.pieces import FleetPiece, Shared, shared
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.plan.model import ByHand, Change, Finding, Plan

#: so many others of a sheet are needed to say what nearly all have, and which part of them that is
SISTERS, NEARLY_ALL = 4, 0.8


class Hand(Struct, frozen=True):
    """One thing to do by hand. `about` is the same for the same thing on every machine."""

    about: str
    what: str
    when: str


class Record(Struct, frozen=True):
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
    #: the machine's lights: which, and the worst state that one of its holders has
    lights: tuple[tuple[str, str], ...] = ()
    #: the names of the settings in its files, in words alone
    settings: tuple[str, ...] = ()
    #: the files that it was read from, and those of them that its packet edits, each by its whole path
    read: tuple[str, ...] = ()
    edited: tuple[str, ...] = ()
    #: those of them that files beside the machine's own name, each with the lines that do
    readers: tuple[tuple[str, tuple[str, ...]], ...] = ()

    #: what its packet writes or would, and what it knows that others would write against it, each with the file's whole path
    claims: tuple[tuple[str, Claim], ...] = ()
    disputed: tuple[tuple[str, Claim], ...] = ()

    @property
    def done(self) -> bool:
        return not self.error and not self.unreached


def in_common(record: Record, known: dict[Any, Any]) -> Record:
    """The record, with what earlier ones said as well (`known`) as the very same objects: records come from other processes,
    each with objects of its own, and of a thousand machines most is alike. A doubt has more to it than tells it from others
    (`ground/findings.py`), so every record keeps its own."""

    def one(value: Any) -> Any:
        return known.setdefault(value, value)

    return replace(
        record,
        by_hand=tuple(map(one, record.by_hand)),
        warnings=tuple(map(one, record.warnings)),
        pieces=tuple(map(one, record.pieces)),
        settings=one(tuple(map(one, record.settings))),
    )


class Group(Struct, frozen=True):
    """Machines that are alike, in the fleet's order, the changes that they share, and the items that one verdict can be
    on for several of them."""

    machines: tuple[str, ...]
    changes: tuple[Moved, ...]
    shared: tuple[Shared, ...] = ()
    #: in which form each change is the same, in their order
    forms: tuple[ChangeForm, ...] = ()


class Outlier(Struct, frozen=True):
    """A machine that gets another value than most with its sheet. `here` or `usual` is None where the value is
    not changed; `many` of `of` machines have the usual one."""

    machine: str
    quantity: str
    here: Moved | None
    usual: Moved | None
    many: int
    of: int
    form: ChangeForm = VALUE_ITSELF


class FleetComparison(Struct, frozen=True):
    groups: tuple[Group, ...]
    outliers: tuple[Outlier, ...]
    #: each thing to do by hand with the machines that need it, by what is to be done exactly
    hands: Mapping[str, Mapping[str, tuple[str, ...]]] = field(default_factory=dict)
    #: each warning with the machines that have it
    warnings: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    #: each question, without its place, with the machines that have it
    questions: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    #: fields of the sheet that machines say otherwise: for each its texts, with the machines that say so
    differs: Mapping[str, Mapping[str, tuple[str, ...]]] = field(default_factory=dict)
    #: the settings that nearly all others have, by the machine that lacks them
    lacking: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


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
    asked: dict[str, list[str]] = {}
    for record in done:
        for text in dict.fromkeys(f"{doubt.text}: {doubt.why}" for doubt in record.doubts):
            asked.setdefault(text, []).append(record.name)
    return FleetComparison(
        groups(done),
        outliers(done),
        {about: {what: tuple(names) for what, names in found.items()} for about, found in hands.items()},
        {warning: tuple(names) for warning, names in warned.items()},
        {text: tuple(names) for text, names in asked.items()},
        differing(records),
        lacking(records),
    )


def differing(records: Sequence[Record]) -> dict[str, dict[str, tuple[str, ...]]]:
    """What machines say otherwise than the sheet for all: each field, its texts, and who says so."""
    found: dict[str, dict[str, list[str]]] = {}
    for record in records:
        for path, text in record.differs:
            found.setdefault(path, {}).setdefault(text or "not so here", []).append(record.name)
    return {
        path: {text: tuple(names) for text, names in texts.items()} for path, texts in sorted(found.items())
    }


def lacking(records: Sequence[Record]) -> dict[str, tuple[str, ...]]:
    """The settings that nearly all other machines with the same sheet have and a machine lacks, by machine."""
    by_sheet: dict[str, list[Record]] = {}
    for record in records:
        if record.settings:
            by_sheet.setdefault(record.sheet, []).append(record)
    found: dict[str, tuple[str, ...]] = {}
    for alike in by_sheet.values():
        having = Counter(name for record in alike for name in record.settings)
        usual = [name for name, many in having.items() if many >= NEARLY_ALL * (len(alike) - 1)]
        for record in alike if len(alike) > SISTERS else ():
            own = set(record.settings)
            if missing := tuple(name for name in usual if name not in own):
                found[record.name] = missing
    return {record.name: found[record.name] for record in records if record.name in found}


def groups(records: Iterable[Record]) -> tuple[Group, ...]:
    """Machines that are alike, the largest group first and otherwise in the fleet's order."""
    every = list(records)
    forms = _forms(every)
    found: dict[frozenset[tuple[str, str]], list[Record]] = {}
    for record in every:
        same = ((one.quantity, forms[record.sheet, one.quantity].same(one)) for one in record.changes)
        found.setdefault(frozenset(same), []).append(record)
    made = [
        Group(
            tuple(record.name for record in alike),
            alike[0].changes,
            shared([(record.name, record.pieces) for record in alike]),
            tuple(forms[alike[0].sheet, one.quantity] for one in alike[0].changes),
        )
        for alike in found.values()
    ]
    return tuple(sorted(made, key=lambda group: -len(group.machines)))


def _forms(records: Iterable[Record]) -> dict[tuple[str, str], ChangeForm]:
    """The form in which each quantity's changes are compared, among the machines with one sheet."""
    moves: dict[tuple[str, str], list[Moved]] = {}
    for record in records:
        for one in record.changes:
            moves.setdefault((record.sheet, one.quantity), []).append(one)
    return {key: form_of(found) for key, found in moves.items()}


def outliers(records: Sequence[Record]) -> tuple[Outlier, ...]:
    """Who changes otherwise than more than half of the machines with the same sheet; in the fleet's order."""
    forms = _forms(records)
    by_sheet: dict[str, list[dict[str, Moved]]] = {}
    own = {record.name: {one.quantity: one for one in record.changes} for record in records}
    for record in records:
        by_sheet.setdefault(record.sheet, []).append(own[record.name])
    usual = {sheet: _usual(machines, sheet, forms) for sheet, machines in by_sheet.items()}
    return tuple(
        Outlier(record.name, quantity, here, most, many, len(by_sheet[record.sheet]), form)
        for record in records
        for quantity, (most, many) in usual[record.sheet].items()
        if _same(here := own[record.name].get(quantity), form := forms[record.sheet, quantity])
        != _same(most, form)
    )


def _usual(
    machines: Sequence[Mapping[str, Moved]], sheet: str, forms: Mapping[tuple[str, str], ChangeForm]
) -> dict[str, tuple[Moved | None, int]]:
    """How more than half of the machines change each quantity (None: it stays), and how many they are."""
    found: dict[str, tuple[Moved | None, int]] = {}
    for quantity in dict.fromkeys(name for machine in machines for name in machine):
        form = forms[sheet, quantity]
        values = [machine.get(quantity) for machine in machines]
        same, many = Counter(_same(value, form) for value in values).most_common(1)[0]
        if 2 * many > len(machines):
            found[quantity] = next(value for value in values if _same(value, form) == same), many
    return found


def _same(value: Moved | None, form: ChangeForm) -> str:
    return form.same(value) if value is not None else ""
