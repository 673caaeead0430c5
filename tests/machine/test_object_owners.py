"""Of which axis or feeder objects and sections are, by what a member or a line of each says."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
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
