"""Members of an object say of each other what they are of, in which unit, and what remark belongs to them."""

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


def test_an_object_of_a_list_is_of_what_one_of_its_members_names_and_so_is_all_below_it() -> None:
    found = machine(
        '{"motors": [{"drives": "x", "microsteps": 16, "drive": {"run current": "800 mA"}},'
        ' {"drives": "filament", "microsteps": 32}, {"drives": "curtain", "microsteps": 8}]}'
    )
    assert read_as(found) == {"axis.x.microsteps": 16, "axis.x.run_current": 0.8, "feeder.microsteps": 32}


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


def test_sections_that_a_number_tells_apart_are_of_what_one_of_their_lines_names() -> None:
    found = machine(
        "[plug 1]\nmoves = X beam\nwinding current = 700 mA rms\n"
        "[plug 2]\nmoves = Y bed\nwinding current = 800 mA rms\n"
        "[plug 3]\nmoves = extruder\nwinding current = 600 mA rms\n"
        "[plug 4]\nmoves = camera rail\nwinding current = 500 mA rms\n",
        "sectioned",
    )
    assert read_as(found) == pytest.approx(
        {"axis.x.run_current": 0.7, "axis.y.run_current": 0.8, "motor.run_current": 0.6}
    )


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


@pytest.mark.parametrize(
    "listed",
    [
        '{"name": "feeder 2", A}, {"name": "feeder 1", B}',
        '{"id": "right feeder", A}, {"id": "left feeder", B}',
    ],
)
def test_all_of_an_object_is_of_the_feeder_that_it_is_called_by_wherever_it_stands_in_its_list(
    listed: str,
) -> None:
    one = '"microsteps": 32, "run current": {"value": 500, "unit": "mA rms"}'
    two = '"microsteps": 16, "run current": {"value": 750, "unit": "mA rms"}'
    found = machine('{"pushers": [' + listed.replace("A", one).replace("B", two) + "]}")
    assert {(r.quantity, str(r.holder), r.value) for r in found.readings} == {
        ("feeder.microsteps", "feeder 2", 32),
        ("motor.run_current", "feeder 2", 0.5),
        ("feeder.microsteps", "feeder 1", 16),
        ("motor.run_current", "feeder 1", 0.75),
    }


def test_a_feeder_that_is_the_only_one_of_its_list_has_no_number() -> None:
    found = machine('{"pushers": [{"name": "feeder 1", "microsteps": 32, "withdraw": {"length": "2 mm"}}]}')
    assert {str(r.holder) for r in found.readings} == {"machine"} and len(found.readings) == 2


@pytest.mark.parametrize(
    ("text", "dialect"),
    [
        ("[cross beam]\nmoves = X\nmicrosteps = 8\n[sled]\nmoves = Y\nmicrosteps = 16\n[horn]\nmoves = bell\nmicrosteps = 2\n", "sectioned"),
        (
            '{"toward the wall": {"this is": "x axis", "microsteps": 8}, "height": {"this is": "y", "microsteps": 16},'
            ' "horn": {"this is": "bell", "microsteps": 2}}',
            "nested",
        ),
    ],
)  # fmt: skip
def test_a_line_that_names_the_axis_stands_for_its_sections_own_name_where_another_one_names_another(
    text: str, dialect: str
) -> None:
    assert read_as(machine(text, dialect)) == {"axis.x.microsteps": 8, "axis.y.microsteps": 16}


@pytest.mark.parametrize("name", ["across", "along"])
def test_what_stands_below_a_word_that_names_an_axis_in_many_homes_is_not_the_whole_machines(
    name: str,
) -> None:
    assert machine(f"[{name}]\nmax speed mm/s = 190\n", "sectioned").readings == ()


@pytest.mark.parametrize("name", ["hall sensor", "probe", "fan"])
def test_what_an_axis_has_beside_its_motor_is_no_axis_by_a_line_that_names_it(name: str) -> None:
    lines = "".join(f"[{name} {n}]\naxis = {axis}\nmax = 160\n" for n, axis in ((1, "x"), (2, "y")))
    bare = "".join(
        f"[{name} {n}]\naxis = {axis}\nmax = 160\n" for n, axis in (("here", "x"), ("yonder", "y"))
    )
    assert machine(lines, "sectioned").readings == machine(bare, "sectioned").readings == ()


@pytest.mark.parametrize("own", ["x", "x axis"])
def test_what_moves_along_an_axis_that_has_a_section_of_its_own_is_not_that_axis(own: str) -> None:
    text = f"[{own}]\nmax = 300\n[y]\nmax = 200\n[brush]\nmoves = x\nlow = 5\nmin = 5\n[knife]\nmoves = y\nmin = 7\n"
    found = machine(text, "sectioned")
    assert read_as(found) == {"axis.x.max": 300, "axis.y.max": 200}
