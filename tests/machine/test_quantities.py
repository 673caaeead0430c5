"""The list of quantities, held against itself and against pint."""

from __future__ import annotations

import pint
import pytest

from cfgmigrate.ground.units import units
from cfgmigrate.machine.model import Quantity
from cfgmigrate.machine.quantities import (
    all_quantities,
    counted,
    facts,
    first_id,
    known,
    numbered,
    of_feeder,
    present_id,
    quantity,
    relations,
)

DESIGN = [
    "feeder.feed_per_turn",
    "feeder.gear_ratio",
    "feeder.steps_per_mm",
    "feeder.full_steps",
    "feeder.microsteps",
    "feeder.direction",
    "feeder.max_speed",
    "feeder.max_acceleration",
    "feeder.max_feed_length",
    "motor.run_current",
    "motor.hold_current",
    "motor.sense_resistor",
    "retraction.length",
    "retraction.speed",
    "retraction.return_speed",
    "retraction.extra_on_return",
    "retraction.lift",
    "lag.coefficient",
    "lag.averaging",
    "axis.x.min",
    "axis.y.max",
    "axis.z.max",
    "axis.z.max_speed",
    "axis.x.max_acceleration",
    "machine.max_speed",
    "machine.max_acceleration",
    "resonance.x",
    "resonance.y",
    "probe.offset_x",
    "probe.offset_y",
    "probe.offset_z",
    "mesh.from_x",
    "mesh.to_y",
    "filament.diameter",
    "nozzle.diameter",
]


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry:
    found = pint.UnitRegistry()
    found.define("tenth_of_a_millimeter = 0.1 * millimeter")
    found.define("hundredth_of_a_millimeter = 0.01 * millimeter")  # pint takes no number in a unit's name
    return found


@pytest.mark.parametrize("name", DESIGN)
def test_the_list_has_what_the_design_names(name: str) -> None:
    assert quantity(name).id == name


@pytest.mark.parametrize("found", all_quantities(), ids=lambda found: found.id)
def test_every_quantity_has_a_label_a_meaning_and_a_unit_that_pint_knows(
    found: Quantity, registry: pint.UnitRegistry
) -> None:
    assert found.label and found.meaning
    assert "@" not in found.id + found.label + found.meaning
    registry.parse_units(found.unit)


@pytest.mark.parametrize("found", all_quantities(), ids=lambda found: found.id)
def test_every_number_that_may_be_written_has_bounds(found: Quantity) -> None:
    if found.kind in ("number", "ratio") and not found.protected:
        assert found.low is not None
        assert found.high is not None
        assert found.plausible(found.low) and found.plausible(found.high)
        assert not found.plausible(found.low - 1e-6) and not found.plausible(found.high + 1e-6)


@pytest.mark.parametrize("found", all_quantities(), ids=lambda found: found.id)
def test_the_other_units_of_a_quantity_convert_as_pint_has_it(
    found: Quantity, registry: pint.UnitRegistry
) -> None:
    for written in facts(found.id).units[1:]:
        if written.reciprocal or written.unit not in units() or found.protected:
            continue
        one = registry.Quantity(
            1.0,
            {
                "µm": "micrometer",
                "mohm": "milliohm",
                "mm/turn": "mm",
                "1/turn": "dimensionless",
                "steps/s": "1/s",
                "mm/100": "hundredth_of_a_millimeter",
                "mm/10": "tenth_of_a_millimeter",
            }.get(written.unit, written.unit),
        )
        assert one.to(found.unit).magnitude == pytest.approx(written.factor, rel=1e-12)


def test_degrees_of_a_step_are_full_steps_of_a_turn() -> None:
    """A hybrid motor of 1.8° has 200 steps in a turn (360 / 1.8, geometry)."""
    degrees = facts("feeder.full_steps").unit("deg")
    assert degrees is not None
    assert degrees.to_value(1.8) == pytest.approx(200)
    assert degrees.to_value(0.9) == pytest.approx(400)


def test_a_second_feeder_has_all_that_the_first_has() -> None:
    for found in all_quantities():
        group = found.id.partition(".")[0]
        if of_feeder(found.id):
            second = quantity(numbered(found.id, 2))
            assert second.id == found.id.replace(group, f"{group}2", 1)
            assert (second.unit, second.low, second.protected) == (found.unit, found.low, found.protected)
            assert counted(second.id) == (found.id, 2)
            assert counted(found.id) == (found.id, 1)
        else:
            assert not known(f"{group}2.{found.id.partition('.')[2]}") or found.kind == "script"


@pytest.mark.parametrize(
    "name", ["", "feeder", "feeder1.direction", "axis2.x.min", "protected.", "feeder.colour", "script.end1"]
)
def test_what_is_not_a_quantity_is_not_known(name: str) -> None:
    assert not known(name)
    with pytest.raises(KeyError):
        quantity(name)


def test_a_protected_setting_known_by_its_words_is_protected() -> None:
    assert quantity("protected.heater_line_nozzle").protected


def test_relations_agree_in_their_dimension(registry: pint.UnitRegistry) -> None:
    """The product of the members' units is the outcome's unit; checked by pint."""
    for relation in relations():
        product = registry.Quantity(1.0, "")
        for member, power in relation.powers.items():
            product = product * registry.Quantity(1.0, quantity(member).unit) ** power
        assert product.check(registry.Quantity(1.0, relation.outcome.unit).dimensionality), (
            relation.outcome.id
        )
        assert set(relation.carriers) <= set(relation.powers)


def test_a_quantity_that_was_renamed_is_found_by_its_first_name_of_each_feeder_too() -> None:
    renamed = [each.id for each in all_quantities() if first_id(each.id) != each.id]
    assert renamed
    for name in renamed:
        for number in (1, 2, 7) if quantity(name).of == "feeder" else (1,):
            first = first_id(numbered(name, number))
            assert first != numbered(name, number) and present_id(first) == numbered(name, number)
