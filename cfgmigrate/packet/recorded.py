"""What a packet records of its files and its sheet, against these files and this sheet.

For packets that can't be worked out again, because another release knew other rules: what they say that they read
must still stand where they say so. This release may know a setting by other words, or not at all; so only what it
reads itself, and reads otherwise, is a fault.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping

from cfgmigrate.machine.model import Machine
from cfgmigrate.packet.folder import Packet
from cfgmigrate.plan.model import ByHand, Change, Finding, Plan
from cfgmigrate.rules.result import Input
from cfgmigrate.sheet.model import Sheet

#: as far as two releases may convert the same text otherwise (relative)
SAME_WITHIN = 1e-6
_PLACE = re.compile(r"(.+):(\d+)")


def misquoted(packet: Packet, machine: Machine, sheets: Mapping[str, Sheet]) -> list[str]:
    """Where a packet says that something stands in its files or its sheets that does not; a sentence each. `machine` is
    what this release reads in the files as they were, `sheets` by their paths."""
    plan = packet.plan
    found = [*_other_old_values(plan, machine)]
    for item in _reasoned(plan):
        if item.derivation is None:
            continue
        for given in item.derivation.inputs:
            found += _other_input(item.id, given, machine, sheets)
    return list(dict.fromkeys(found))


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
            same = at and reading.quantity == change.quantity and reading.text == old.text
            if same and reading.value is not None and not _close(reading.value, old.value):
                yield f"{change.id}: its old value is recorded as {old.value:.9g}, and is {reading.value:.9g}"


def _other_input(name: str, given: Input, machine: Machine, sheets: Mapping[str, Sheet]) -> Iterator[str]:
    match = _PLACE.fullmatch(given.origin)
    if match is None or given.value is None:
        return
    path, line = match[1], int(match[2])
    if path in sheets:
        lines = sheets[path].source.count(b"\n") + 1
        entry = sheets[path].entries.get(given.name)
        if line > lines:
            yield f"{name}: {given.name} comes from {given.origin}, and the sheet has {lines} lines"
        elif entry is not None and entry.value is not None and entry.place.line == line:
            if _close(entry.value, given.value):
                return
            said = f"{given.name} is recorded as {given.value:.9g}, and {given.origin} says {entry.value:.9g}"
            yield f"{name}: {said}"
        return
    there = [each for each in machine.every_reading if (each.place.file, each.place.line) == (path, line)]
    same = [each.value for each in there if f"was.{each.quantity}" == given.name and each.value is not None]
    if same and not any(_close(value, given.value) for value in same):
        yield f"{name}: {given.name} is recorded as {given.value:.9g}, and {given.origin} says {same[0]:.9g}"


def _close(one: float, other: float) -> bool:
    return math.isclose(one, other, rel_tol=SAME_WITHIN, abs_tol=1e-12)
