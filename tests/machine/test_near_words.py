"""Settings whose words come near the trade's: what is offered for them."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.near_words import near_meanings
from cfgmigrate.machine.offered import offered
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.teach import teachable


def first_offered(line: str, dialect: str = "flat", head: str = "") -> dict[str, str]:
    machine = recognise([read("m.txt", f"{head}{line}\n".encode(), dialect)])
    return {
        each.pattern: each.candidates[0]
        for each in teachable(machine, {}, by_numbers=True)
        if each.candidates
    }


@pytest.mark.parametrize(
    ("line", "meant"),
    [
        ("field_left = 12", "mesh.from_x"),
        ("field_right = 181", "mesh.to_x"),
        ("net_front = 21", "mesh.from_y"),
        ("area_back = 199", "mesh.to_y"),
        ("gather_x = 3700", "axis.x.max_acceleration"),
        ("quicken = 3100", "machine.max_acceleration"),
        ("gather_idle = 4100", "machine.max_acceleration"),
        ("sudden = 8.5", "machine.corner_speed"),
        ("eye_to_tip = 612", "runout.distance"),
        ("pa = 0.05", "lag.coefficient"),
    ],
)
def test_the_right_meaning_is_offered_first_by_near_words_and_the_numbers_size(line: str, meant: str) -> None:
    assert first_offered(line)[line.partition(" ")[0]] == meant


def test_a_list_is_offered_a_meaning_for_each_of_its_numbers() -> None:
    found = first_offered("#define GATHER { 3700, 2800, 110, 5100 }", "header")
    wanted = ", ".join([*(f"axis.{axis}.max_acceleration" for axis in "xyz"), "feeder.max_acceleration"])
    assert found["GATHER"] == f"[{wanted}]"


@pytest.mark.parametrize(
    "line", ["eye_pin = 23", "field = 1", 'field = "left"', "gather_idle = 3", "field_left_hottest = 88"]
)
def test_of_a_pin_a_switch_a_text_or_a_number_that_cannot_be_it_nothing_is_offered(line: str) -> None:
    machine = recognise([read("m.txt", f"{line}\n".encode(), "flat")])
    assert not near_meanings(machine)


def test_a_unit_that_is_stated_speaks_against_another_measure() -> None:
    assert "gather" not in first_offered("gather = 900 mm")


def test_nothing_is_read_by_near_words() -> None:
    for word in offered().near:
        machine = recognise([read("m.txt", f"{word}_left = 12\n{word} = 3100\n".encode(), "flat")])
        assert not [
            each for each in machine.readings if each.quantity.startswith(("mesh.", "axis.", "runout."))
        ]


@pytest.mark.parametrize(("side", "axis"), [("right", "x"), ("back", "y"), ("up", "z")])
def test_where_a_second_tip_hangs_is_offered_along_the_axis_of_its_side(side: str, axis: str) -> None:
    machine = recognise([read("m.ini", f"[second tip]\n{side} = 24.15\n".encode(), "sectioned")])
    (found,) = teachable(machine, {}, by_numbers=True)
    assert found.candidates[0] == f"tip.offset_{axis}"
