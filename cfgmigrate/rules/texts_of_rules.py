"""What is told of a rule: its texts filled with the values they speak of, which of its warnings hold, and why it is silent.

A warning that holds is said; where its rule says so it is a doubt as well, or keeps the value from being written. Of
what a way lacks the nearest is told: the ways that lack least, and behind another rule's result that rule's own reason.

Nothing is worked out here, and no way is chosen: that is `engine.py`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from msgspec.structs import replace

from cfgmigrate.ground.findings import Doubt, Likeness
from cfgmigrate.rules import derivation
from cfgmigrate.rules.age import Age, Told
from cfgmigrate.rules.cross_checks import NOT_WRITTEN_FOR
from cfgmigrate.rules.formula import holds
from cfgmigrate.rules.result import Result, Silent
from cfgmigrate.rules.rule import OWN, Rule, Way
from cfgmigrate.rules.scope import NamedValue, Scope

#: how many ways to a value are named where none is open
MOST_REASONS = 3
#: how the reason begins for which a value is not scaled whose age is open
AGE_OPEN = "not written: "
Used = tuple[Mapping[str, Any], Mapping[str, str]]
"""What a rule uses: the numbers by name, in base units, and the words."""
Behind = Callable[[str], Silent | None]
"""Gives the silent rule whose result a name would be."""


def with_texts(
    rule: Rule, way: Way, result: Result, own: NamedValue, scope: Scope, used: Used
) -> tuple[Result, list[Doubt]]:
    """The result with every text of its rule that holds, each filled now that the rule's `own` value is known; and
    what of it is a doubt."""
    values, words = used
    if own.base is not None:
        values = {**values, OWN: own.base}
    doubts: list[Doubt] = []
    verify = derivation.fill(rule.verify, scope, own, whole=True)
    said, held = [], result.unsettled
    for warning in rule.warnings:
        if not holds(warning.when, values, words):
            continue
        text = derivation.fill(warning.say, scope, own)
        said.append(text)
        if warning.hold:
            held = held or f"{NOT_WRITTEN_FOR} {text}"
        if warning.doubt:
            # a way that needs constants alone has no place: then it is the value's own
            stands = [*way.needs, *(name for name in rule.uses if name.startswith("was."))]
            # a value that waits can't be checked at the machine; its own text says what it waits for
            remedy = "" if warning.hold else verify
            like = (
                Likeness(warning.question, own=f"{rule.label} {warning.its_own}".rstrip())
                if warning.question
                else None
            )
            doubts.append(Doubt(scope.place(stands), rule.label, text, remedy, like=like))
    whole = replace(
        result,
        says=derivation.fill(rule.says, scope, own),
        hand=derivation.fill(rule.by_hand or rule.elsewhere, scope, own),
        steps=tuple(derivation.fill(step, scope, own) for step in rule.steps),
        verify=verify,
        check_at=rule.check_at,
        form=own.form,
        cautions=tuple(derivation.fill(caution, scope, own, whole=True) for caution in rule.cautions),
        warnings=tuple(said),
        unsettled=held,
    )
    return whole, doubts


def otherwise(rule: Rule, scope: Scope, used: Used) -> str:
    """Why a rule is silent: the first of its reasons that holds, else what it says in general."""
    values, words = used
    reasons = (each.say for each in rule.because if holds(each.when, values, words))
    return derivation.fill(next(reasons, rule.otherwise), scope)


def why_shut(told: Told) -> str:
    """Why a value is not scaled once more: its age is open, or it is the new drive's already."""
    if told.age is Age.UNKNOWN:
        return f"{AGE_OPEN}{told.why}"
    return (
        f"taken to be the new drive's already: {told.why}; if it is still the old drive's, say so in the sheet"
        " with `values: old`"
    )


def why_silent(rule: Rule, open_ways: Sequence[Way], scope: Scope, used: Used, behind: Behind) -> str:
    """What the nearest of the ways lacks that are open; where none is, why the rule is silent."""
    lacking = [
        [_why_missing(name, scope, behind) for name in way.needs if scope.given(name) is None]
        for way in open_ways
        if not way.check_only
    ]
    if not lacking:
        return otherwise(rule, scope, used) or "no way of working it out fits this swap"
    least = min(len(names) for names in lacking)
    nearest = dict.fromkeys("; ".join(dict.fromkeys(names)) for names in lacking if len(names) == least)
    return "not known: " + "; or: ".join(list(nearest)[:MOST_REASONS])


def _why_missing(name: str, scope: Scope, behind: Behind) -> str:
    """What a name lacks; where it is another rule's result, that rule's own reason."""
    silent = behind(name)
    if silent is None:
        return scope.missing(name)
    label = f"{scope.missing(name)}" if silent.quantity else name
    return f"{label} ({silent.why.removeprefix('not known: ')})"
