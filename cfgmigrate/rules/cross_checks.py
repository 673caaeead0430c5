"""One value by several ways: how far they are apart, and what that means.

Ways that are further apart than measuring explains are a doubt, told with both numbers. Where the rule says that it shall
`hold`, the value is a question besides: nobody knows which of the ways is wrong, and the one that would be written may be.
What the uncertainty of the numbers themselves explains is no such question: a diameter of 7 to 8 mm beside a maker's
figure makes nothing doubtful.

A ratio of 2, 4 or 8 is no slip of measuring. It is what comes of a maker's figure that holds for another number of
microsteps than the driver's; a rule names that number (`twos`), and the one with which the ways would agree is asked for.

This module decides nothing about files.
"""

from __future__ import annotations

import math
from typing import Any

from cfgmigrate.ground.findings import BadInput, Doubt, Likeness
from cfgmigrate.ground.number_text import measure
from cfgmigrate.rules import derivation, dimensions
from cfgmigrate.rules.formula import FormulaError, evaluate, nominal
from cfgmigrate.rules.result import CrossCheck
from cfgmigrate.rules.rule import Rule, Way
from cfgmigrate.rules.scope import Scope

#: standard uncertainties that two ways may be apart: a coverage of 95 % (GUM, JCGM 100:2008, 6.2 and annex G)
COVERAGE = 2.0
#: the counts that a driver may be set to, and a maker's figure may hold for
COUNTS = tuple(2**power for power in range(9))
_MEASURE_AGAIN = "Measure again, or look for the wrong figure in the sheet and take it out."
#: what is asked where two ways would agree if a count were another one
ANOTHER_COUNT = "whether a count is another one"
#: how every reason begins why a question is not written
HELD_BACK_FOR = "it is not written, for it"
NOT_WRITTEN_FOR = f"{HELD_BACK_FOR} is a question:"
_RESTS = f"{HELD_BACK_FOR} rests on"
#: a ratio that is said as so many times, and not in percent
_SEVERAL = 1.9


def value_of(rule: Rule, way: Way, scope: Scope) -> Any:
    """What a way comes to, in base units. Raises BadInput where its formula has no value for these inputs."""
    assert way.formula is not None
    try:
        return evaluate(way.formula, scope.bases(way.needs))
    except FormulaError as error:
        numbers = derivation.substituted(way.formula, scope)
        raise BadInput(
            f"the rule {rule.name} {error}: {way.text} = {numbers}",
            way.place,
            "Correct the values in the sheet or the files.",
        ) from None


def cross_checks(
    rule: Rule, winner: Way, usable: list[Way], base: Any, scope: Scope
) -> tuple[tuple[CrossCheck, ...], list[Doubt]]:
    """The value by every other way, and a doubt for each that is too far from it."""
    checks, doubts = [], []
    unit = dimensions.unit(rule.unit)
    for way, other in _others(rule, winner, usable, scope):
        apart = _apart(base, other)
        note = f"{way.source}; {100 * apart:.2g} % away" if apart else f"{way.source}; the same"
        shown = unit.from_base(nominal(other))
        checks.append(CrossCheck(way.name, shown, note, getattr(other, "std_dev", 0.0) / unit.factor))
        if rule.agree is not None and (apart > rule.agree or _too_much(base, other, rule.agree)):
            why = (
                f"{_both(rule, winner, base, way, other)}, more than the"
                f" {100 * rule.agree:g} % that measuring explains"
            )
            asked = _other_count(rule, winner, base, way, other, scope)
            stands = (
                scope.given(own)
                if rule.hold is not None and (own := f"was.{rule.sets}") in rule.uses
                else None
            )
            place = stands.place if stands and stands.place else scope.place(winner.needs)
            like = Likeness(ANOTHER_COUNT, of=asked) if asked else None
            doubts.append(Doubt(place, rule.label, why, asked or _MEASURE_AGAIN, like=like))
    return tuple(checks), doubts


def held_back(rule: Rule, winner: Way, usable: list[Way], base: Any, scope: Scope) -> str:
    """Why a value is a question and not written, "" where it is none: its own ways contradict each other, or what it
    rests on is one."""
    for given in (scope.given(name) for name in winner.needs):
        if given is not None and given.unsettled:
            inner = given.unsettled.startswith(_RESTS)
            return given.unsettled if inner else f"{_RESTS} {given.label}, which is a question"
    for way, other in _others(rule, winner, usable, scope) if rule.hold is not None else ():
        assert rule.hold is not None
        unsure = COVERAGE * float(getattr(base - other, "std_dev", 0.0))
        if _apart(base, other) > rule.hold and abs(nominal(base) - nominal(other)) > unsure:
            asked = _other_count(rule, winner, base, way, other, scope)
            return f"{NOT_WRITTEN_FOR} {_both(rule, winner, base, way, other)}. {asked or _MEASURE_AGAIN}"
    return ""


def _others(rule: Rule, winner: Way, usable: list[Way], scope: Scope) -> list[tuple[Way, Any]]:
    ways = (way for way in usable if way is not winner and way.formula is not None and not way.fallback)
    return [(way, value_of(rule, way, scope)) for way in ways]


def _apart(base: Any, other: Any) -> float:
    return abs(nominal(other) - nominal(base)) / abs(nominal(base)) if nominal(base) else 0.0


def _too_much(base: Any, other: Any, agree: float) -> bool:
    """Whether the value is a good deal more than another way says, which parts of itself can't show: a tenth is 90 % away."""
    return bool(nominal(other)) and nominal(base) / nominal(other) > (1 + agree) ** 2


def _both(rule: Rule, winner: Way, base: Any, way: Way, other: Any) -> str:
    """Both numbers and how they differ, in words where the one is several times the other."""
    first, second = (_number(rule, value) for value in (base, other))
    ratio = nominal(other) / nominal(base)
    if ratio > 0 and max(ratio, 1 / ratio) >= _SEVERAL:
        larger, smaller = (way.name, winner.name) if ratio > 1 else (winner.name, way.name)
        how = f"{larger} is {_times(max(ratio, 1 / ratio))} {smaller}"
    else:
        how = f"they are {100 * abs(ratio - 1):.2g} % apart"
    return f"{winner.name} says {first} and {way.name} {second}: {how}"


def _times(ratio: float) -> str:
    near = round(ratio)
    exact = abs(ratio / near - 1) < 0.03
    return "twice" if exact and near == 2 else f"{near} times" if exact else f"{ratio:.2g} times"


def _number(rule: Rule, base: Any) -> str:
    return measure(dimensions.unit(rule.unit).from_base(nominal(base)), 0.0, rule.unit, 4)


def _other_count(rule: Rule, winner: Way, base: Any, way: Way, other: Any, scope: Scope) -> str:
    """What to ask where one of two ways would agree with the other if its count were another one; "" where none is."""
    if not rule.twos or rule.agree is None:
        return ""
    pairs = ((winner, other), (way, base))
    for counting, wanted in ((each, aim) for each, aim in pairs if rule.twos in each.needs):
        assert counting.formula is not None
        bases = scope.bases(counting.needs)
        for count in COUNTS:
            value = nominal(evaluate(counting.formula, {**bases, rule.twos: float(count)}))
            if count != nominal(bases[rule.twos]) and math.isclose(
                value, nominal(wanted), rel_tol=rule.agree
            ):
                return derivation.fill(rule.twos_say.replace("{count}", str(count)), scope)
    return ""
