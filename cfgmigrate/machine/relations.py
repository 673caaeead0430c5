"""Quantities that follow exactly from others, by the relations of `quantities.yaml`.

A relation says outcome = product of powers (steps per mm = full steps · microsteps · gear ratio / rotation
distance). Here it is applied to what a configuration says: `outcome_of` works the outcome out. A member that
nothing says is taken as the relation allows (no gear ratio is 1), or the relation can't be used. No reading
is ever made up from it. Solving a relation for a member is for carrying over (`rules/carry.py`).
"""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from cfgmigrate.dialects.decimal_commas import number_in_points
from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.machine.model import Reading
from cfgmigrate.machine.quantities import Relation, quantity


class RelatedValue(Struct, frozen=True):
    """A value as it stands in a file or was worked out. `spread` is the relative half unit of the last
    decimals that went into it; `inputs` are the readings it came from."""

    value: float
    formula: str
    inputs: tuple[Reading, ...]
    spread: float

    @property
    def origin(self) -> str:
        """For people: where it stands, or how it was worked out."""
        if not self.formula:
            return _place(self.inputs[0])
        said = (f"{quantity(each.quantity).label} {each.text} ({_place(each)})" for each in self.inputs)
        return f"{self.formula}: {', '.join(said)}"


def _place(reading: Reading) -> str:
    return f"{reading.place.file}:{reading.place.line}"


def spread_of(reading: Reading) -> float:
    """Half a unit of the last decimal written, relative to the value; 0 for whole numbers and ratios, which are
    taken as exact."""
    written = read_value(number_in_points(reading.text))
    if reading.form.ratio or not isinstance(written, Number) or not written.decimals or written.value == 0:
        return 0.0
    return 0.5 * 10.0**-written.decimals / abs(written.value)


def outcome_of(relation: Relation, readings: Mapping[str, Reading]) -> RelatedValue | None:
    """The outcome as the readings have it, or as it follows from them; None where it does not."""
    direct = readings.get(relation.outcome.id)
    if direct is not None:
        return None if direct.value is None else RelatedValue(direct.value, "", (direct,), spread_of(direct))
    return _product(relation, readings)


def _product(relation: Relation, readings: Mapping[str, Reading]) -> RelatedValue | None:
    value, spread = 1.0, 0.0
    inputs: list[Reading] = []
    for name, power in relation.powers.items():
        reading = readings.get(name)
        if reading is not None and reading.value:
            value *= reading.value**power
            spread += spread_of(reading) * abs(power)
            inputs.append(reading)
        elif reading is None and name in relation.taken_as:
            value *= relation.taken_as[name] ** power
        else:
            return None
    return RelatedValue(value, relation.formula, tuple(inputs), spread)
