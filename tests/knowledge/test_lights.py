"""The lights as `lights.yaml` has them: every name in it is one that exists, and it says how to ask for each field."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.ground.findings import BadInput
from cfgmigrate.ground.positioned_yaml import read_marked
from cfgmigrate.knowledge.lights import LightKind, light_kinds, load_lights
from cfgmigrate.knowledge.tables import HERE
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.rules.library import book
from cfgmigrate.sheet.schema import sheet_schema

KINDS = light_kinds().kinds
_HEIGHT = "        same: [[clearance.as_before, carriage.height_as_before], [clearance.as_before, carriage.nozzle_shift.z]]\n"
TEXT = (HERE / "lights.yaml").read_text(encoding="utf-8")


def test_there_are_four() -> None:
    assert [kind.name for kind in KINDS] == ["feed", "current", "retraction", "height"]


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_one_of_its_values_is_set_even_where_no_file_has_it(kind: LightKind) -> None:
    assert any(value.always for value in kind.values)


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_its_rules_are_in_the_book_and_can_tell_a_person_what_to_do(kind: LightKind) -> None:
    for name in kind.rules:
        rule = book().rule(name)
        assert rule is not None and (rule.by_hand or rule.elsewhere), name


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_each_of_its_values_is_set_by_a_rule_or_is_protected(kind: LightKind) -> None:
    set_by_rules = {rule.sets for rule in book().rules}
    for value in kind.values:
        assert value.quantity in set_by_rules or quantity(value.quantity).protected


def test_what_is_as_before_is_said_by_yes_or_zero() -> None:
    for kind in KINDS:
        for value in kind.values:
            for name in (name for names in value.same for name in names):
                field = sheet_schema().fields[name]
                assert field.kind == "truth" or field.low < 0 < field.high


def test_every_field_that_is_asked_for_belongs_to_a_light() -> None:
    used = {
        name
        for kind in KINDS
        for value in kind.values
        for names in (*value.settle, *value.same)
        for name in names
    }
    stopping = {name for kind in KINDS for names in kind.stops.values() for name in names}
    asked = {ask.field for ask in light_kinds().asks}
    assert used <= asked <= used | stopping


def test_every_rule_that_stops_a_light_is_a_step_by_hand() -> None:
    for name in (name for kind in KINDS for name in kind.stops):
        rule = book().rule(name)
        assert rule is not None and rule.by_hand and not rule.sets


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("      feeder.gear_ratio:", "      feeder.gear_ration:", "no quantity feeder.gear_ration"),
        ("[[new.drive_gear.gear_ratio]]", "[[new.gear_ratio]]", "no field new.gear_ratio"),
        ("[[new.drive_gear.gear_ratio]]", "[[new.drive]]", "how to ask for new.drive"),
        ("[[new.drive_gear.gear_ratio]]", "[]", "lists of fields under settle"),
        (_HEIGHT, "", "lists of fields under same"),
        ("    of: machine", "    of: nozzle", "of is feeder or machine"),
        ("    of: machine\n", "", "has no of"),
        ("contradict: [gears.swapped]", "contradict: [tubes.swapped]", "none of its stops"),
        ("        always: true", "        allways: true", "no property 'allways'"),
        ("    says: the drive", "    sais: the drive", "no property 'sais'"),
        ("what: the microsteps, usual", "how: the microsteps, usual", "no property 'how'"),
        ("\nask:", "\nasks:", "ask is missing"),
    ],
)
def test_a_file_that_breaks_its_own_syntax_is_refused_with_its_line(old: str, new: str, said: str) -> None:
    assert old in TEXT
    with pytest.raises(BadInput, match=said) as caught:
        load_lights(read_marked(TEXT.replace(old, new, 1).encode(), Path("lights.yaml").name))
    assert caught.value.place is not None and caught.value.place.line > 0
