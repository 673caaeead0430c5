"""A result of the rules as what a plan holds of it: a change with its edits, a step by hand, a finding.

Whose it is, and by which fields of the sheet it moves, comes along as `Whose`. This module decides nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from cfgmigrate.ground.number_text import alone, for_hand, measure, with_unit
from cfgmigrate.machine.model import Reading
from cfgmigrate.plan.encoding import EncodedValue, lost_of_every_move
from cfgmigrate.plan.identity import WHOLE_MACHINE
from cfgmigrate.plan.model import ByHand, Change, Edit, Finding, NewValue, OldValue
from cfgmigrate.rules.result import Result
from cfgmigrate.rules.rule import Rule

#: written values closer than this (relative) are the same value in another spelling
SAME_WRITTEN = 1e-9


class Whose(Struct, frozen=True):
    """The holder of a result, and the fields of the sheet (path, text) by which it moves."""

    holder: str = WHOLE_MACHINE
    cause: tuple[tuple[str, str], ...] = ()


def means_the_same(result: Result, reading: Reading, written: EncodedValue) -> bool:
    """Whether the file already says it: its number is the new one in another spelling, or as near as the
    rounding of the new one. Neither value may be None."""
    assert result.value is not None and reading.value is not None
    if abs(written.value - reading.value) <= SAME_WRITTEN * max(abs(written.value), abs(reading.value)):
        return True
    return abs(result.value - reading.value) <= 0.501 * written.quantum


def change_of(
    result: Result, reading: Reading, moved: Sequence[tuple[Reading, EncodedValue]], whose: Whose
) -> Change:
    """The change of a reading, and of what moves along with it, each as it will be written."""
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
        warnings=(*result.warnings, *_not_whole(result, reading, written)),
        notes=result.notes,
        verify=result.verify,
        depends=result.depends,
        rule=result.rule,
        check_at=result.check_at,
        holder=whose.holder,
        cause=whose.cause,
        form=reading.form,
    )


def _not_whole(result: Result, reading: Reading, written: EncodedValue) -> tuple[str, ...]:
    """That a number gets a point in a file of whole numbers, or what is lost where it was cut to one."""
    if lost := lost_of_every_move(result, reading, written.text):
        return (
            f"This file has whole numbers only, so {written.text} was written for "
            f"{alone(reading.form.to_written(result.value or 0.0), 0.0, '')}: every move of the filament is wrong by "
            f"{100 * lost:.2g} %. Where what reads it takes a point, write it with its decimals.",
        )
    if not reading.form.whole or "." not in written.text:
        return ()
    return (
        f"This file has whole numbers only, and {written.text} is none: see whether what reads it takes a point, "
        "or the build stops or the number is cut off.",
    )


def _edit(reading: Reading, written: EncodedValue) -> Edit:
    place = reading.place
    return Edit(place.file, place.line, place.column, reading.start, reading.end, reading.text, written.text)


def hand_item(result: Result, rule: Rule, whose: Whose) -> ByHand:
    """What a rule asks of hands."""
    return ByHand(
        what=result.hand,
        value=result.value,
        unit=result.unit,
        why=result.says,
        derivation=result.derivation,
        text=result.word or shown(result),
        uncertainty=result.uncertainty,
        cautions=result.cautions,
        warnings=result.warnings,
        verify=result.verify,
        rule=result.rule,
        # a value that is kept elsewhere may stand in a file that install compares with what was read
        when=rule.moment if rule.by_hand else "after install",
        check_at=rule.check_at,
        label=result.label,
        steps=result.steps,
        holder=whose.holder,
        cause=whose.cause,
        form=result.form,
    )


def finding_of(result: Result, whose: Whose) -> Finding:
    """A number that is worth knowing."""
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
        holder=whose.holder,
        cause=whose.cause,
    )


def shown(result: Result) -> str:
    return result.word if result.value is None else measure(result.value, result.uncertainty, result.unit)


def to_write(result: Result) -> str:
    """The same for a person to write there; a current in no more digits than can be set."""
    if result.value is not None and result.unit == "A" and not result.uncertainty:
        return with_unit(for_hand(result.value), result.unit)
    return result.word if result.value is None else alone(result.value, result.uncertainty, result.unit)


def to_write_there(result: Result, reading: Reading) -> str:
    """The same in the unit of the line in which it is to be written."""
    factor, unit = reading.form.told_in(result.unit)
    if result.value is None or unit == result.unit or factor <= 0:
        return to_write(result)
    return alone(result.value / factor, result.uncertainty / factor, unit)


def finding_instead(change: Change) -> Finding:
    """What a change that is not made would have come to: others may rest on it."""
    return Finding(
        change.rule,
        change.label,
        change.unrounded,
        change.unit,
        change.new.uncertainty,
        change.derivation,
        change.says,
        change.warnings,
        cautions=change.cautions,
        verify=change.verify,
        holder=change.holder,
        cause=change.cause,
    )
