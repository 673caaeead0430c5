"""What a packet records of its files and its sheet, against these files and this sheet.

For packets that can't be worked out again, because another release knew other rules: what they say that they read
must still stand where they say so. This release may know a setting by other words, or not at all; so only what it
reads itself, and reads otherwise, is a fault.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from msgspec import Struct

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.quantities import present_id
from cfgmigrate.packet.folder import Packet
from cfgmigrate.plan.model import ByHand, Change, Finding, Plan
from cfgmigrate.rules.former_names import present_name
from cfgmigrate.rules.result import Input
from cfgmigrate.sheet.model import Sheet

#: as far as two releases may convert the same text otherwise (relative)
SAME_WITHIN = 1e-6
_PLACE = pattern(r"(.+):(\d+)")


class Quoted(Struct, frozen=True):
    """What a packet says that it read: `faults` where something else stands there, a sentence each, and of how many
    of its `inputs` what stands there was `seen`."""

    faults: tuple[str, ...]
    seen: int
    inputs: int


def quoted(packet: Packet, machine: Machine, sheets: Mapping[str, Sheet]) -> Quoted:
    """What a packet says that stands in its files or its sheets, held against them. `machine` is what this release reads
    in the files as they were, `sheets` by their paths."""
    plan = packet.plan
    faults = [*_other_old_values(plan, machine)]
    given = [
        (item.id, each)
        for item in _reasoned(plan)
        if item.derivation is not None
        for each in item.derivation.inputs
    ]
    seen = 0
    for name, each in given:
        values, fault = _what_stands_there(each, machine, sheets)
        seen += bool(values)
        if fault or (values and not any(_close(value, each.value or 0.0) for value in values)):
            said = (
                f"{each.name} is recorded as {each.value:.9g}, and {each.origin} says {values[0]:.9g}"
                if values
                else fault
            )
            faults.append(f"{name}: {said}")
    return Quoted(tuple(dict.fromkeys(faults)), seen, len(given))


def _reasoned(plan: Plan) -> tuple[Change | ByHand | Finding, ...]:
    return (*plan.changes, *plan.by_hand, *plan.findings)


def _other_old_values(plan: Plan, machine: Machine) -> Iterator[str]:
    """Old values that are not those of the place that is edited."""
    for change in plan.changes:
        if change.old is None or not change.edits:
            continue
        first, old = change.edits[0], change.old
        if (old.file, old.line) == (first.file, first.line) and old.text != first.old:
            yield f"{change.id}: its old value is {old.text[:60]!a}, and {first.old[:60]!a} is what is replaced"
        if old.value is None or change.quantity.startswith("script."):
            continue
        for reading in machine.every_reading:
            at = (reading.place.file, reading.start, reading.end) == (first.file, first.start, first.end)
            same = at and reading.quantity == present_id(change.quantity) and reading.text == old.text
            if same and reading.value is not None and not _close(reading.value, old.value):
                yield f"{change.id}: its old value is recorded as {old.value:.9g}, and is {reading.value:.9g}"


def _what_stands_there(
    given: Input, machine: Machine, sheets: Mapping[str, Sheet]
) -> tuple[list[float], str]:
    """The values that stand where an input is said to come from, none where that can't be told; and what is wrong
    with the place itself."""
    match = _PLACE.fullmatch(given.origin)
    if match is None or given.value is None:
        return [], ""
    path, line = match[1], int(match[2])
    if path in sheets:
        lines = sheets[path].source.count(b"\n") + 1
        if line > lines:
            return [], f"{given.name} comes from {given.origin}, and the sheet has {lines} lines"
        entry = sheets[path].entries.get(present_name(given.name))
        there = entry is not None and entry.place.line == line
        return ([entry.value] if there and entry is not None and entry.value is not None else []), ""
    readings = [each for each in machine.every_reading if (each.place.file, each.place.line) == (path, line)]
    name = present_name(given.name)
    return [each.value for each in readings if f"was.{each.quantity}" == name and each.value is not None], ""


def _close(one: float, other: float) -> bool:
    return math.isclose(one, other, rel_tol=SAME_WITHIN, abs_tol=1e-12)
