"""From results to changes: which bytes of which file a value replaces, and what is left for hands.

A result whose quantity stands in the files becomes a change with its edits; where the files already say
the same, it is left alone. A result that no file can take becomes a by-hand item if its rule says where
else it is set. Everything that did not come about is listed with its reason.

This module computes no value and touches no file.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence

from cfgmigrate.dialects.document import State
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.number_text import measure
from cfgmigrate.ground.version import VERSION
from cfgmigrate.machine.model import Machine, Reading
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.plan.encoding import Written, write
from cfgmigrate.plan.model import (
    ByHand,
    Change,
    Edit,
    FileInput,
    Finding,
    LeftAlone,
    NewValue,
    OldValue,
    Plan,
    TakenIn,
)
from cfgmigrate.plan.other_feeders import further_members, left_members, warned
from cfgmigrate.rules.book import Book
from cfgmigrate.rules.engine import Outcome
from cfgmigrate.rules.library import knowledge_hash
from cfgmigrate.rules.result import Result
from cfgmigrate.rules.rule import MOMENTS, Rule
from cfgmigrate.scripts.effects import script_findings
from cfgmigrate.scripts.number_change import ScriptChange
from cfgmigrate.sheet.model import Sheet

#: written values closer than this (relative) are the same value in another spelling
SAME = 1e-9


def plan_changes(
    outcome: Outcome, book: Book, machine: Machine, sheet: Sheet, root: str, kind: str = "install"
) -> Plan:
    """The plan for these results. `root` is where the configuration lies, for the packet to remember, and
    `kind` what it is (install or tune)."""
    changes: list[Change] = []
    by_hand: list[ByHand] = []
    findings: list[Finding] = []
    left = [LeftAlone(silent.quantity or silent.rule, silent.why) for silent in outcome.silent]
    doubts: list[Doubt] = [*machine.doubts, *outcome.doubts]
    for result in outcome.results:
        rule = book.rule(result.rule)
        if not result.target:
            if rule is not None and rule.by_hand:
                by_hand.append(_hand_item(result, rule))
            else:
                findings.append(_finding(result))
            continue
        found = _settle(result, rule, machine)
        match found:
            case Change():
                changes.append(found)
                doubts += _doubled(result, machine)
            case ByHand():
                by_hand.append(found)
            case LeftAlone():
                left.append(found)
                findings.append(_finding(result))
    scripts = script_findings(machine, outcome, sheet, _written(changes))
    changes += [_script_change(found) for found in scripts.changes]
    doubts += scripts.doubts
    left += [LeftAlone(silent.quantity, silent.why) for silent in scripts.silent]
    left += left_members(machine, changes)
    changes = warned(changes, further_members(machine))
    return Plan(
        machine=sheet.machine,
        root=root,
        kind=kind,
        files=tuple(
            FileInput(
                document.path,
                hashlib.sha256(document.data).hexdigest(),
                document.dialect,
                includes=tuple(TakenIn(each.target, each.files) for each in document.includes),
            )
            for document in machine.documents
        ),
        sheet_path=sheet.path,
        sheet_sha256=hashlib.sha256(sheet.source).hexdigest(),
        rules_sha256=book.sha256,
        changes=tuple(sorted(changes, key=_file_order)),
        by_hand=tuple(sorted(by_hand, key=_by_the_day)),
        findings=tuple(findings),
        left_alone=tuple(left),
        doubts=tuple(dict.fromkeys(doubts)),
        swap=tuple((path, entry.text) for path, entry in sheet.entries.items()),
        program=VERSION,
        knowledge=knowledge_hash(),
    )


def _file_order(change: Change) -> tuple[str, int]:
    return (change.edits[0].file, change.edits[0].line)


def _settle(result: Result, rule: Rule | None, machine: Machine) -> Change | ByHand | LeftAlone:
    reading = machine.get(result.target)
    if quantity(result.target).protected:
        return LeftAlone(result.target, "protected: read and compared, never written")
    if reading is None:
        if rule is not None and rule.elsewhere:
            return _hand_item(result, rule)
        return LeftAlone(result.target, f"no file sets it; it would be {_shown(result)}")
    if result.value is None or reading.value is None:
        return LeftAlone(result.target, "the file's value is no number that can be replaced")
    if not quantity(result.target).plausible(result.value):
        return LeftAlone(
            result.target, f"it would be {_shown(result)}, which no machine has: check the sheet"
        )
    places = [reading, *machine.twins.get(result.target, ())]
    pairs = [(place, write(result, place)) for place in places if place.setting.state is State.ACTIVE]
    moved = [(place, written) for place, written in pairs if not means_the_same(result, place, written)]
    if not moved:
        return LeftAlone(
            result.target, f"already {reading.text} at {reading.place.file}:{reading.place.line}"
        )
    return _change(result, reading, moved)


def means_the_same(result: Result, reading: Reading, written: Written) -> bool:
    """Whether the file already says it: its number is the new one in another spelling, or as near as the
    rounding of the new one. Neither value may be None."""
    assert result.value is not None and reading.value is not None
    if abs(written.value - reading.value) <= SAME * max(abs(written.value), abs(reading.value)):
        return True
    return abs(result.value - reading.value) <= 0.501 * written.quantum


def _change(result: Result, reading: Reading, moved: Sequence[tuple[Reading, Written]]) -> Change:
    written = moved[0][1]
    return Change(
        quantity=result.target,
        label=result.label,
        unit=result.unit,
        status=result.status,
        way=result.way,
        old=OldValue(reading.value, reading.text, reading.place.file, reading.place.line),
        new=NewValue(written.value, result.uncertainty, written.text),
        derivation=result.derivation,
        rounding=written.rounding,
        edits=tuple(_edit(place, text) for place, text in moved),
        says=result.says,
        unrounded=result.value,
        low=result.low,
        high=result.high,
        step=result.step,
        cross_checks=result.cross_checks,
        cautions=result.cautions,
        warnings=result.warnings,
        notes=result.notes,
        verify=result.verify,
        depends=result.depends,
        rule=result.rule,
    )


def _written(changes: Iterable[Change]) -> dict[str, float]:
    """The values that the files will hold, by quantity."""
    return {change.quantity: change.new.value for change in changes if change.new.value is not None}


def _script_change(found: ScriptChange) -> Change:
    pairs = [(place, write(found.result, place)) for place in found.places]
    return _change(found.result, found.places[0], pairs)


def _edit(reading: Reading, written: Written) -> Edit:
    place = reading.place
    return Edit(place.file, place.line, place.column, reading.start, reading.end, reading.text, written.text)


def _hand_item(result: Result, rule: Rule) -> ByHand:
    return ByHand(
        what=result.hand,
        value=result.value,
        unit=result.unit,
        why=result.says,
        derivation=result.derivation,
        text=result.word or _shown(result),
        uncertainty=result.uncertainty,
        cautions=result.cautions,
        warnings=result.warnings,
        verify=result.verify,
        rule=result.rule,
        when=rule.moment,
        label=result.label,
        steps=result.steps,
    )


def _by_the_day(item: ByHand) -> int:
    return MOMENTS.index(item.when)


def _finding(result: Result) -> Finding:
    return Finding(
        rule=result.rule,
        label=result.label,
        value=result.value,
        unit=result.unit,
        uncertainty=result.uncertainty,
        derivation=result.derivation,
        says=result.says,
        warnings=result.warnings,
        word=result.word,
        cautions=result.cautions,
        verify=result.verify,
    )


def _shown(result: Result) -> str:
    return result.word if result.value is None else measure(result.value, result.uncertainty, result.unit)


def _doubled(result: Result, machine: Machine) -> Iterable[Doubt]:
    """A quantity set in two files may be carried out twice; retraction often is."""
    reading = machine.get(result.target)
    others = machine.twins.get(result.target, ())
    if reading is None or all(other.place.file == reading.place.file for other in others):
        return
    places = ", ".join(str(other.place) for other in (*others, reading))
    yield Doubt(
        reading.place,
        reading.setting.name,
        f"{result.label} is set in {len(others) + 1} places ({places}); all of them move together",
        "If the machine carries out both, keep one and switch the other off.",
    )
