"""Members of an object say of each other in which unit they are, and what remark belongs to them."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.members import Members
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise


def machine(text: str, dialect: str = "nested") -> Machine:
    return recognise([read("tern.json", text.encode(), dialect)])


def read_as(found: Machine) -> dict[str, float | None]:
    return {reading.quantity: reading.value for reading in found.readings}


def test_a_unit_stands_in_a_remark_beside_or_in_a_key_that_says_unit_or_in_a_table_of_units() -> None:
    beside = machine('{"top_speed": {"is": 9600, "remark": "mm/min"}}')
    own = machine('{"limits": {"max speed xyz": [15000, 15000, 720], "speedUnit": "mm/min"}}')
    table = machine('{"units": {"speed": "mm/min"}, "feeder": {"max speed": 3000}, "a": 1}')
    assert read_as(beside) == {"machine.max_speed": 160}
    assert read_as(own) == {"axis.x.max_speed": 250, "axis.y.max_speed": 250, "axis.z.max_speed": 12}
    assert read_as(table) == {"feeder.max_speed": 50}


def test_what_a_section_keeps_from_before_is_no_reading() -> None:
    found = machine('{"feeder": {"mm per turn": 22.5}, "was": {"feeder mm per turn": 33}}')
    assert read_as(found) == {"feeder.feed_per_turn": 22.5}


def test_letters_at_the_end_are_sides_where_several_settings_have_a_twin() -> None:
    twins = "feed_accel_l = 4200\nfeed_accel_r = 4000\nfeed_microsteps_l = 16\nfeed_microsteps_r = 16\n"
    found = machine(twins, "flat")
    assert [(r.quantity, r.value) for r in found.readings if r.quantity == "feeder.max_acceleration"] == [
        ("feeder.max_acceleration", 4200),
        ("feeder.max_acceleration", 4000),
    ]


def test_a_word_cut_short_that_is_all_that_is_left_of_a_name_is_no_reading() -> None:
    others = "".join(f"#define AUDIT_{name} {n}\n" for n, name in enumerate(("A1", "B2", "C3", "D4", "F5")))
    assert machine(others + "#define AUDIT_DEL 1004\n", "header").readings == ()


def test_the_number_of_teeth_of_one_gear_is_no_ratio() -> None:
    assert machine("x pulley teeth = 20\nfeeder gear teeth = 50\n", "flat").readings == ()


@pytest.mark.parametrize(
    ("text", "key", "beside", "section", "unit"),
    [
        ('{"speed": {"value": 40, "unit": "mm/s"}}', "value", False, "", "mm/s"),
        ('{"speed": {"value": 40, "unit": "mm/s"}}', "unit", True, "speed", ""),
        ('{"speed": {"quux": 40, "unit": "mm/s"}}', "quux", False, "speed", "mm/s"),
        ('{"feed": {"speed": 40, "speedUnit": "mm/s"}}', "speed", False, "feed", "mm/s"),
        ('{"feed": {"pull": 4, "speedUnit": "mm/s"}}', "pull", False, "feed", ""),
        ('{"feed": {"speed": 40}}', "speed", False, "feed", ""),
    ],
)
def test_a_member_says_the_unit_of_what_stands_beside_it(
    text: str, key: str, beside: bool, section: str, unit: str
) -> None:
    document = read("one.json", text.encode(), "nested")
    (setting,) = (each for each in document.settings if each.key == key)
    found = Members(document).beside(setting, setting.section, setting.key)
    assert (found.beside, found.section, found.told.unit.name if found.told.unit else "") == (
        beside,
        section,
        unit,
    )


def test_in_says_the_unit_beside_a_value_and_what_was_before_or_why_is_no_reading() -> None:
    found = machine('{"x": {"max": {"value": 31.5, "in": "cm", "formerly": 33, "because": "the hose"}}}')
    assert read_as(found) == {"axis.x.max": 315}
    assert not found.doubts


def test_how_well_a_value_was_measured_is_no_reading() -> None:
    found = machine('{"feeder": {"steps per mm": {"value": 97.25, "uncertainty": 0.1, "repeats": 5}}}')
    assert read_as(found) == {"feeder.steps_per_mm": 97.25} and not found.doubts


@pytest.mark.parametrize("name", ["across", "along"])
def test_what_stands_below_a_word_that_names_an_axis_in_many_homes_is_not_the_whole_machines(
    name: str,
) -> None:
    assert machine(f"[{name}]\nmax speed mm/s = 190\n", "sectioned").readings == ()
