"""A derivation for people: the formula, the numbers put in, and where each of them came from.

This is text and bookkeeping only; the value itself was worked out by the engine. Numbers are shown with
as many digits as their uncertainty allows (two significant digits of it, GUM 7.2.6).
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from cfgmigrate.ground.number_text import for_hand, measure, with_unit
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.rules import dimensions
from cfgmigrate.rules.formula import Call, Expression, Literal, Negation, Operation, Variable, nominal
from cfgmigrate.rules.result import Contribution, Derivation, Input
from cfgmigrate.rules.rule import FOR_A_HAND, OWN, PLACEHOLDER, Way
from cfgmigrate.rules.scope import NamedValue, Scope

_SENTENCE_END = pattern(r"(?<=[a-z0-9)}][.!?]) +(?=[A-Z{])")
_BINDING = {"+": 1, "-": 1, "*": 2, "/": 2, "^": 4}
_SIGNS = {"+": " + ", "-": " − ", "*": " · ", "/": " / ", "^": "^"}


def derive(way: Way, base: Any, scope: Scope) -> Derivation:
    """The derivation of a way that gave `base` (None for a word)."""
    parts = _contributions(base, scope)
    shares = {part.name: part.share for part in parts}
    inputs = [_input(name, scope, shares) for name in way.needs]
    inputs.sort(key=lambda item: -item.share)
    text = way.text or way.word
    numbers = substituted(way.formula, scope) if way.formula is not None else way.word
    return Derivation(text, numbers, tuple(inputs), way.source, parts)


def _input(name: str, scope: Scope, shares: dict[str, float]) -> Input:
    given = scope.given(name)
    assert given is not None
    if given.base is None:
        return Input(name, given.label, None, given.unit, 0.0, given.origin, word=given.word)
    unit = dimensions.unit(given.unit)
    value = unit.from_base(nominal(given.base))
    spread = float(getattr(given.base, "std_dev", 0.0)) / unit.factor
    return Input(name, given.label, value, given.unit, spread, given.origin, shares.get(name, 0.0))


def _contributions(base: Any, scope: Scope) -> tuple[Contribution, ...]:
    """What the uncertainty comes from, largest first (GUM 5.1.3: u_i(y) squared over u_c(y) squared)."""
    components = getattr(base, "error_components", None)
    total = float(getattr(base, "std_dev", 0.0)) ** 2
    if components is None or total == 0:
        return ()
    found = []
    for variable, part in components().items():
        name = str(variable.tag)
        given = scope.given(name)
        found.append(Contribution(name, given.origin if given else name, float(part) ** 2 / total))
    return tuple(sorted(found, key=lambda part: -part.share))


def substituted(formula: Expression, scope: Scope) -> str:
    """The formula with numbers and units put in for names."""
    return _write(formula, scope, 0)


def _write(node: Expression, scope: Scope, outer: int) -> str:
    match node:
        case Literal(_, text):
            return "π" if text == "pi" else text
        case Variable(name):
            given = scope.given(name)
            shown = quantity_text(given) if given is not None else name
            apart = outer == 4 or (outer > 1 and ("±" in shown or " per " in shown))
            return f"({shown})" if apart else shown
        case Negation(inner):
            return f"−{_write(inner, scope, 3)}"
        case Call(function, arguments):
            return f"{function}({', '.join(_write(argument, scope, 0) for argument in arguments)})"
        case Operation(symbol, left, right):
            own = _BINDING[symbol]
            second = _write(right, scope, own + (symbol in "-/"))
            second = f"({second})" if second.startswith("−") else second
            text = f"{_write(left, scope, own)}{_SIGNS[symbol]}{second}"
            return f"({text})" if own < outer else text


def quantity_text(given: NamedValue) -> str:
    """A value with its uncertainty and unit: `8.420 ± 0.060 mm`, or the word that it is. What was written without
    an uncertainty is shown without the one that its last digit stands for."""
    if given.base is None:
        return given.word or given.text
    unit = dimensions.unit(given.unit)
    value = unit.from_base(nominal(given.base))
    spread = float(getattr(given.base, "std_dev", 0.0)) / unit.factor
    stated = not given.text or "±" in given.text or "(" in given.text
    return measure(value, spread if stated else 0.0, given.unit)


def fill(text: str, scope: Scope, own: NamedValue | None = None, whole: bool = False) -> str:
    """A text of the rule book with its {names} replaced by their values. Behind the first sentence, one with
    a name that is not known is left out, unless the text is wanted `whole`."""
    first, *others = _sentences(text)
    told = (first, *(each for each in others if whole or all(_given(name, scope, own) for name in each[1])))
    return " ".join(
        PLACEHOLDER.sub(
            lambda match: _told(_given(match.group(1), scope, own), match[0].startswith(FOR_A_HAND)), one
        )
        if names
        else one
        for one, names in told
    )


@lru_cache(maxsize=2048)
def _sentences(text: str) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """The sentences of a text of the rule book, each with the names in it."""
    return tuple((one, tuple(PLACEHOLDER.findall(one))) for one in _SENTENCE_END.split(text))


def _given(name: str, scope: Scope, own: NamedValue | None) -> NamedValue | None:
    return own if name == OWN else scope.given(name)


def _told(given: NamedValue | None, for_a_hand: bool) -> str:
    if given is None:
        return "(not known)"
    factor, name = given.form.told_in(given.unit)
    if given.base is None:
        return quantity_text(given)
    unit = dimensions.unit(given.unit)
    value = unit.from_base(nominal(given.base)) / factor
    counted = f" (file: {given.form.to_written(value * factor):.9g})" if given.form.in_parts else ""
    if for_a_hand:
        return f"about {with_unit(for_hand(value), name)}{counted}"
    if name == given.unit:
        return f"{quantity_text(given)}{counted}"
    spread = float(getattr(given.base, "std_dev", 0.0)) / unit.factor
    return measure(value, spread / factor, name)
