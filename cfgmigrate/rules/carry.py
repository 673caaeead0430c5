"""Carrying an old configuration over into a new one, of another dialect or for another controller.

For every quantity that one flat view of the new files has a place for, the same view of the old files gives the
value, or it is worked out from them where they say the same thing otherwise (steps per mm here, a feed per turn
there; the relations stand in `quantities.yaml`). Which view of the old files goes with which of the new is told in
`carry_lanes.py`.

Protected quantities are never carried over, and neither are texts and scripts: those are listed, so that
a person can look at them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from msgspec import Struct

from cfgmigrate.ground.number_text import measure
from cfgmigrate.machine.model import FlatMachine, Reading
from cfgmigrate.machine.quantities import Relation, facts, quantity, relations
from cfgmigrate.rules.carry_open import mixed, of_the_board, other_way_round, signs_differ
from cfgmigrate.rules.result import Derivation, Input, Result, Status

RULE = "carried over"
#: how far from a power of two a value that has to be one may come out (in powers)
TWOS = 1e-6


class Carried(Struct, frozen=True):
    """The old configuration's value for one quantity of the new: how it follows from which readings."""

    quantity: str
    value: float
    formula: str
    inputs: tuple[Reading, ...]


def values_of(source: FlatMachine, target: FlatMachine) -> dict[str, Carried]:
    """What the old files say of each number that the new files have a place for, and that can stand there."""
    said_there = _said_there(source, target)
    left = _open(said_there, target)
    return {
        name: each
        for name, each in said_there.items()
        if name not in left and not signs_differ(name, each.value, target)
    }


def open_values(source: FlatMachine, target: FlatMachine) -> dict[str, str]:
    """Why what the old files say of a number can't simply stand in the new ones, by quantity."""
    return _open(_said_there(source, target), target)


def _open(found: Mapping[str, Carried], target: FlatMachine) -> dict[str, str]:
    values = {name: each.value for name, each in found.items()}
    return {**mixed(values, target), **other_way_round(values, target), **of_the_board(values, target)}


def _said_there(source: FlatMachine, target: FlatMachine) -> dict[str, Carried]:
    found: dict[str, Carried] = {}
    for reading in target.by_quantity.values():
        name = reading.quantity
        if quantity(name).protected or reading.value is None:
            continue
        own = source.get(name)
        if own is not None and own.value is not None and not _is_carrier(name, source, target):
            found[name] = Carried(name, own.value, f"was.{name}", (own,))
    for relation in relations():
        for solved in _solved(relation, source, target, found):
            if _possible(solved):
                found[solved.quantity] = solved
    return found


def _possible(solved: Carried) -> bool:
    """Whether a value that was worked out can be one: not of a part that is another one on the new machine."""
    about = facts(solved.quantity)
    if not about.quantity.plausible(solved.value):
        return False
    return not about.twos or abs(math.log2(solved.value) - round(math.log2(solved.value))) < TWOS


def _is_carrier(name: str, source: FlatMachine, target: FlatMachine) -> bool:
    """Whether a value means nothing without others that the two sides divide differently: a rotation
    distance beside a gear ratio is another one than with the ratio folded in."""
    for relation in relations():
        if name in relation.carriers and name in relation.powers:
            others = [other for other in relation.carriers if other != name]
            if any((source.get(other) is None) != (target.get(other) is None) for other in others):
                return relation.outcome.id != name
    return False


def _solved(
    relation: Relation, source: FlatMachine, target: FlatMachine, found: Mapping[str, Carried]
) -> Iterator[Carried]:
    """The one member of a relation (or its outcome) that the new files have and the old say otherwise."""
    outcome = relation.outcome.id
    whole = {outcome: 1, **{member: -power for member, power in relation.powers.items()}}
    wanted = [name for name in whole if target.get(name) is not None and name not in found]
    for name in wanted:
        if quantity(name).protected or name in relation.taken_as:
            continue
        start = _outcome(relation, source)
        if start is None:
            continue
        formula, value, inputs = start
        if name == outcome:
            yield Carried(name, value, formula, inputs)
            continue
        solved = _member(relation, name, start, source, target, found)
        if solved is not None:
            yield solved


Product = tuple[str, float, tuple[Reading, ...]]


def _outcome(relation: Relation, source: FlatMachine) -> Product | None:
    """What the relation's outcome is in the old configuration."""
    own = source.get(relation.outcome.id)
    if own is not None and own.value is not None:
        return f"was.{own.quantity}", own.value, (own,)
    return _product({**relation.powers}, source, relation)


def _product(powers: Mapping[str, int], source: FlatMachine, relation: Relation) -> Product | None:
    value = 1.0
    inputs: list[Reading] = []
    upper: list[str] = []
    lower: list[str] = []
    for name, power in powers.items():
        reading = source.get(name)
        if reading is None and name in relation.taken_as:
            value *= relation.taken_as[name] ** power
            continue
        if reading is None or not reading.value:
            return None
        value *= reading.value**power
        inputs.append(reading)
        (upper if power > 0 else lower).append(
            f"was.{name}" if abs(power) == 1 else f"was.{name}^{abs(power)}"
        )
    if not inputs:
        return None
    formula = " * ".join(upper) or "1"
    return (f"{formula} / {' / '.join(lower)}" if lower else formula), value, tuple(inputs)


def _member(
    relation: Relation,
    name: str,
    start: Product,
    source: FlatMachine,
    target: FlatMachine,
    found: Mapping[str, Carried],
) -> Carried | None:
    """Solve for one member, the other members being as the new configuration will have them. What carries the others
    (a feed per turn) follows from the new machine's own; its motor and driver don't: those follow only where the old
    configuration has all the rest."""
    formula, outcome, inputs = start
    power = relation.powers[name]
    if abs(power) != 1:
        return None
    value, used = outcome**power, [*inputs]
    upper: list[str] = []
    lower: list[str] = []
    (upper if power > 0 else lower).append(f"({formula})")
    for other, exponent in relation.powers.items():
        if other == name:
            continue
        reading = _as_it_will_be(other, relation, source, target)
        if name not in relation.carriers and reading is not source.get(other):
            return None
        if reading is None:
            if other in relation.taken_as:
                continue
            return None
        assert reading.value is not None
        value *= reading.value ** (-exponent * power)
        used.append(reading)
        (upper if -exponent * power > 0 else lower).append(f"was.{other}")
    text = " * ".join(upper) or "1"
    text = f"{text} / {' / '.join(lower)}" if lower else text
    return Carried(name, value, text, tuple(dict.fromkeys(used)))


def _as_it_will_be(name: str, relation: Relation, source: FlatMachine, target: FlatMachine) -> Reading | None:
    """A member's value in the new configuration: the old one's, if that is carried over, else its own."""
    old, new = source.get(name), target.get(name)
    if name in relation.taken_as and new is None:
        return None
    chosen = old if old is not None and old.value else new
    return chosen if chosen is not None and chosen.value else None


def said(relation: Relation, values: Mapping[str, Carried]) -> bool:
    """Whether a relation's quantities are carried over in one way or another."""
    return relation.outcome.id in values or any(name in values for name in relation.powers)


def result_of(found: Carried, label: str) -> Result:
    """A carried value as a result with its derivation; `label` is the old configuration's name."""
    known = quantity(found.quantity)
    inputs = []
    numbers = found.formula
    for reading in sorted(found.inputs, key=lambda reading: -len(reading.quantity)):
        of = quantity(reading.quantity)
        assert reading.value is not None
        origin = f"{label}/{reading.place.file}:{reading.place.line}"
        inputs.append(Input(f"was.{reading.quantity}", of.label, reading.value, of.unit, 0.0, origin))
        numbers = numbers.replace(f"was.{reading.quantity}", measure(reading.value, 0.0, of.unit))
    numbers = numbers.replace(" * ", " · ")
    return Result(
        rule=f"{RULE}: {found.quantity}",
        target=found.quantity,
        label=known.label,
        unit=known.unit,
        value=found.value,
        uncertainty=0.0,
        status=Status.COMPUTED,
        way="carried over from the old configuration",
        derivation=Derivation(found.formula, numbers, tuple(inputs), "the old configuration"),
        says="The same physical value as in the old configuration.",
        verify=f"Compare with {label} once more: cfgmigrate compare lists what still differs.",
    )
