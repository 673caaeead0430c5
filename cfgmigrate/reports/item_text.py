"""The texts of one item of a plan: its title, its values, its places, how it follows.

`card.py` puts them together; nothing else asks for them. What is said of a plan as a whole is in `overview.py`.

This module deliberately knows no output format.
"""

from __future__ import annotations

import re

from cfgmigrate.ground import number_text
from cfgmigrate.plan.model import ByHand, Change, Finding
from cfgmigrate.reports import wording
from cfgmigrate.reports.safe_text import inert
from cfgmigrate.rules.result import Contribution, CrossCheck, Derivation, Input


def title(item: ByHand | Change | Finding) -> str:
    """What the item is about. Of a by-hand item, which may be a paragraph, its first sentence."""
    return wording.capital(_first_sentence(item.what) if isinstance(item, ByHand) else item.label)


def instruction(item: ByHand) -> str:
    """The rest of a by-hand item's `what`, after the sentence that is its title; often ""."""
    return item.what.strip()[len(_first_sentence(item.what)) :].strip()


def _first_sentence(text: str) -> str:
    return re.split(r"(?<=[a-z)][.!?])\s", text.strip(), maxsplit=1)[0]


def old_value(change: Change) -> str:
    if change.old is None:
        return "not set"
    return _as_written(change.old.value, change.old.text, change)


def new_value(change: Change) -> str:
    """The value as it will be written, without its uncertainty."""
    return _as_written(change.new.value, change.new.text, change)


def _as_written(value: float | None, text: str, change: Change) -> str:
    """A value with its unit, both as in the file; words and gear stages (`47:12`) as they stand there."""
    if value is None or ":" in text:
        return inert(text)
    factor, unit = change.form.told_in(change.unit)
    return number_text.measure(value / factor, name=unit)


def sureness(change: Change) -> str:
    """`± 0.034 mm`, or nothing where no uncertainty is known."""
    if not change.new.uncertainty:
        return ""
    factor, unit = change.form.told_in(change.unit)
    spread = change.new.uncertainty / abs(factor)
    return f"± {number_text.with_unit(number_text.number(spread, spread), unit)}"


def worked_out(change: Change) -> str:
    """The result before it was rounded for the file, with its uncertainty."""
    value = change.new.value if change.unrounded is None else change.unrounded
    return (
        number_text.measure(value, change.new.uncertainty, change.unit)
        if value is not None
        else new_value(change)
    )


def by_hand_value(item: ByHand) -> str:
    """The number to set, without its ±; "" where there is none or `what` says it already."""
    if item.value is None or (item.text and item.text in item.what):
        return ""
    factor, unit = item.form.told_in(item.unit)
    value, spread = item.value / factor, item.uncertainty / factor
    about = f"about {number_text.with_unit(number_text.for_hand(value), unit)}"
    if about in item.what or number_text.measure(value, spread, unit) in item.what:
        return ""
    return number_text.alone(value, spread, unit)


def by_hand_result(item: ByHand) -> str:
    """What its derivation came to: a number or a word."""
    if item.value is None:
        return inert(item.text)
    return number_text.measure(item.value, item.uncertainty, item.unit)


def by_hand_amount(item: ByHand) -> str:
    """The same number as a person is told it, in the unit of the line that it is for."""
    factor, unit = item.form.told_in(item.unit)
    return number_text.measure((item.value or 0.0) / factor, item.uncertainty / factor, unit)


def finding_value(finding: Finding) -> str:
    if finding.value is None:
        return inert(finding.word)
    return number_text.measure(finding.value, finding.uncertainty, finding.unit, wording.WORKED_OUT)


def try_range(change: Change) -> str:
    """For an estimate: what to try. `0.2 mm to 0.8 mm in steps of 0.1 mm`."""
    if change.low is None or change.high is None:
        return ""
    factor, unit = change.form.told_in(change.unit)
    # what is round in RMS is not round in peak
    digits = 2 if unit.endswith(" peak") else number_text.SIGNIFICANT
    low, high, step = (
        number_text.measure(value / factor, name=unit, digits=digits) if value is not None else ""
        for value in (change.low, change.high, change.step)
    )
    step = f" in steps of {step}" if change.step else ""
    return f"{low} to {high}{step}"


def places(change: Change) -> list[str]:
    """`machine.ini:12`: every line where the change is written."""
    return list(dict.fromkeys(inert(f"{edit.file}:{edit.line}") for edit in change.edits))


def input_value(given: Input) -> str:
    if given.value is None:
        return inert(given.word)
    digits = wording.WORKED_OUT if given.origin.startswith("rule ") else number_text.SIGNIFICANT
    return number_text.measure(given.value, given.uncertainty, given.unit, digits)


def check_value(check: CrossCheck, change: Change) -> str:
    """A cross-check's value; one without an uncertainty of its own gets the digits of the change's."""
    if check.uncertainty:
        return number_text.measure(check.value, check.uncertainty, change.unit)
    return number_text.with_unit(number_text.number(check.value, change.new.uncertainty), change.unit)


def deeper(derivation: Derivation) -> list[Contribution]:
    """What the uncertainty comes from, where it comes from further back than the formula's own inputs."""
    behind = [part for part in derivation.contributions if part.share > 0]
    direct = {given.name for given in derivation.inputs if given.share}
    return behind if {part.name for part in behind} - direct else []


def is_bare_name(formula: str) -> bool:
    """Whether a formula is one name, so that putting numbers in would only repeat the result."""
    return re.fullmatch(r"[\w.]+", formula.strip()) is not None
