"""Settings with several numbers: one for each axis in the file's order or the usual one, or the least and the most."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise


def machine(text: str, path: str = "wren.ini", dialect: str = "sectioned") -> Machine:
    return recognise([read(path, text.encode(), dialect)])


def values(found: Machine) -> dict[str, float | None]:
    return {
        each.quantity + (f" of {each.holder}" if str(each.holder) != "machine" else ""): each.value
        for each in found.readings
    }


def axes(what: str, *numbers: float, letters: str = "xyz") -> dict[str, float]:
    return {f"axis.{letter}.{what}": number for letter, number in zip(letters, numbers, strict=True)}


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("[motion]\nsteps per mm = 80, 81, 400, 96\n", axes("steps_per_mm", 80, 81, 400) | {"feeder.steps_per_mm": 96}),
        ("[motion]\nsteps per mm = 80, 81, 400\n", axes("steps_per_mm", 80, 81, 400)),
        ("[motion]\nsteps per mm = 80, 81, 400, 96, 97\n", axes("steps_per_mm", 80, 81, 400) | {
            "feeder.steps_per_mm of feeder 1": 96, "feeder.steps_per_mm of feeder 2": 97}),
        ("; steps are given as e, x, y, z\n[motion]\nsteps per mm = 96, 80, 81, 400\n",
         axes("steps_per_mm", 80, 81, 400) | {"feeder.steps_per_mm": 96}),
        ("; lists are z, y, x\n[motion]\nsteps per mm = 400, 81, 80\n", axes("steps_per_mm", 80, 81, 400)),
        ("; lists are z, y, x\n[motion]\nsteps per mm = 80, 81, 400, 96\n",
         axes("steps_per_mm", 80, 81, 400) | {"feeder.steps_per_mm": 96}),
    ],
)  # fmt: skip
def test_a_list_is_of_the_axes_in_the_order_that_the_file_states_where_it_states_so_many(
    text: str, meant: dict[str, float]
) -> None:
    assert values(machine(text)) == meant


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[motion]\nsteps per mm = 80, 81, 400, 96, 97, 98, 99, 100, 101, 102\n", "10 numbers where"),
        ("[motion]\nsteps per mm = 80, 81\n", "2 numbers where"),
    ],
)
def test_a_list_of_another_length_is_no_reading_and_a_doubt_with_the_lengths_that_there_are(
    text: str, said: str
) -> None:
    found = machine(text)
    assert not found.readings
    (doubt,) = found.doubts
    assert said in doubt.why and "expected" in doubt.why


@pytest.mark.parametrize("value", ["80", "a, b, c", "[80]", "80:81"])
def test_one_number_words_and_a_ratio_are_no_list_of_the_axes(value: str) -> None:
    found = machine(f"[motion]\nsteps per mm = {value}\n")
    assert not [each for each in found.readings if each.quantity.startswith("axis")]


@pytest.mark.parametrize(
    ("text", "low", "high", "written"),
    [
        ("[axis x]\nrange = 0, 210\n", 0, 210, ("0", "210")),
        ("[axis x]\nrange = -4, 210\n", -4, 210, ("-4", "210")),
        ("[axis x]\nrange = 0 to 210 mm\n", 0, 210, ("0", "210")),
        ("[axis x]\nrange = from 0 mm to 210 mm\n", 0, 210, ("0", "210")),
        ("[axis x]\nrange = 0 up to 210\n", 0, 210, ("0", "210")),
        ("[axis x]\nrange = -4.5 .. 210.5\n", -4.5, 210.5, ("-4.5", "210.5")),
        ('[axis x]\nrange = "0 to 21 cm"\n', 0, 210, ("0", "21")),
        ("[axis x]\nrange = 0 – 210\n", 0, 210, ("0", "210")),
        ("[axis x]\nrange = 0:210\n", 0, 210, ("0", "210")),
    ],
)
def test_two_numbers_of_an_axis_are_its_least_and_its_most_each_where_it_stands(
    text: str, low: float, high: float, written: tuple[str, str]
) -> None:
    found = machine(text)
    assert values(found) == {"axis.x.min": low, "axis.x.max": high}
    data = text.encode()
    assert tuple(data[each.start : each.end].decode() for each in found.readings) == written
    assert tuple(each.text for each in found.readings) == written


@pytest.mark.parametrize(
    "value",
    [
        "210, 0",
        "210, 210",
        "0, 100, 210",
        "0, far, 210",
        "0, far",
        "210 to 0",
        "0 to 100 to 210",
        "some",
        "yes",
    ],
)
def test_numbers_that_do_not_rise_or_are_not_two_are_no_range(value: str) -> None:
    assert not {"axis.x.min", "axis.x.max"} & set(values(machine(f"[axis x]\nrange = {value}\n")))


@pytest.mark.parametrize(("unit", "heat"), [("degC", 2), ("mm", 0)])
def test_what_a_nozzle_can_reach_is_no_limit_of_its_temperature(unit: str, heat: int) -> None:
    text = f'{{"nozzle": {{"reach": {{"value": [0, 260], "unit": "{unit}"}}}}}}'
    found = recognise([read("a.json", text.encode(), "nested")])
    assert sum(each.quantity.startswith("heater") for each in found.readings) == heat


def test_the_one_number_of_a_list_for_the_feeder_serves_all_feeders() -> None:
    found = machine(
        "[motion]\nmax speed = 80, 81, 40, 96\n[retraction]\nlength = 4\n[retraction 2]\nlength = 5\n"
    )
    (own,) = (each for each in found.readings if each.quantity == "feeder.max_speed")
    assert (str(own.holder), own.serves) == ("machine", (1, 2))


@pytest.mark.parametrize(
    ("line", "about"),
    [
        ("highest travel = 210, 210, 252, 1, 2", "axis.z.max"),
        ("steps per mm = 80, 96.5", "feeder.steps_per_mm"),
    ],
)
def test_a_list_in_doubt_is_told_of_the_value_that_can_wreck_most(line: str, about: str) -> None:
    assert set(machine(f"[axes]\n{line}\n").in_doubt) == {about}


def test_a_list_with_a_number_that_no_feeder_can_have_is_not_one_for_each_feeder() -> None:
    found = machine("[feeder]\nsteps per mm = 96.5\npark = 5 200 245\n")
    assert values(found) == {"feeder.steps_per_mm": 96.5} and found.feeders == (1,)


@pytest.mark.parametrize(("order", "low"), [("x, y, z", [0, -4, 1]), ("y, x, z", [-4, 0, 1])])
def test_a_list_of_pairs_is_the_least_and_the_most_of_each_axis(order: str, low: list[float]) -> None:
    text = f'{{"order": "{order}", "travel": [[0, 210], [-4, 195], [1, 180]]}}'
    machine = recognise([read("one.json", text.encode(), "nested")])
    found = {each.quantity: each.value for each in machine.readings}
    assert [found[f"axis.{letter}.min"] for letter in "xyz"] == low
    assert found["axis.z.max"] == 180


@pytest.mark.parametrize(
    "text",
    [
        "/* rows: X, Y, Z, feeder */\\n#define FEEDER_RAMPS { 4200, 2600, 90, 3000 } /* mm/s2 */\\n",
        "#define PUSH_MAX { 4200, 2600, 90, 3000 } /* mm/s2 */\\n",
    ],
)
def test_a_row_with_a_number_for_each_axis_makes_no_machine_of_four_feeders(text: str) -> None:
    found = recognise([read("a.h", text.encode(), "header")])
    assert found.feeders == (1,)


@pytest.mark.parametrize(
    "called",
    [
        "{}_LIST",
        "{}_ARRAY",
        "{}_TABLE",
        "{}_PER_AXIS",
        "{}_SET",
        "{}_TBL",
        "LIST_OF_{}",
        "AXES_{}",
        "{}_XYZE",
    ],
)
def test_a_list_is_one_whatever_word_says_that_it_is(called: str) -> None:
    key = called.format("STEPS_PER_MILLIMETRE")
    text = f"// lists are X, Y, Z, extruder\n#define {key} {{ 80, 80, 400, 96.2 }}\n"
    read_of_it = values(machine(text, "wren.h", "header"))
    assert read_of_it == axes("steps_per_mm", 80, 80, 400) | {"feeder.steps_per_mm": 96.2}


@pytest.mark.parametrize("key", ["HOMING_SPEED_LIST", "FAN_TOP_SPEED_TABLE", "BED_TABLE"])
def test_a_word_for_a_list_explains_no_other_word(key: str) -> None:
    assert not values(machine(f"#define {key} {{ 40, 40, 5 }}\n", "wren.h", "header"))


def test_currents_of_a_list_are_in_the_unit_that_its_key_says() -> None:
    text = "#define COIL_MILLIAMPS_RMS_LIST { 760, 800, 640, 710 }\n#define COIL_STANDSTILL_MILLIAMPS_RMS_LIST { 360, 400, 340, 310 }\n"
    assert values(machine(text, "wren.h", "header")) == pytest.approx(
        axes("run_current", 0.76, 0.8, 0.64)
        | axes("hold_current", 0.36, 0.4, 0.34)
        | {"motor.run_current": 0.71, "motor.hold_current": 0.31}
    )


@pytest.mark.parametrize(
    "line",
    [
        "COIL_CURRENT_TABLE { 150, 350, 550, 750 }",
        "LIST_OF_MICROSTEPS { 4, 8, 16, 32 }",
        "STEPS_PER_MM_LIST { 75, 150, 300, 600 }",
        "TOP_SPEED_TABLE { 20, 40, 80, 160 }",
        "TOP_SPEED_TABLE { 60, 90, 180 }",
        "TOP_SPEEDS { 55, 85, 170 }",
    ],
)
def test_a_table_that_rises_from_number_to_number_may_be_of_what_can_be_chosen(line: str) -> None:
    found = machine(f"#define {line}\n", "wren.h", "header")
    assert not values(found)
    (doubt,) = [each for each in found.doubts if "what can be chosen" in each.why]
    assert "ignore" in doubt.remedy


@pytest.mark.parametrize(
    ("text", "of_the_feeder"),
    [
        ("#define STEPS_PER_MM_LIST { 80, 80.4, 400, 415 }\n", {"feeder.steps_per_mm": 415}),
        (
            "// lists are X, Y, Z, extruder\n#define STEPS_PER_MM_LIST { 75, 150, 300, 600 }\n",
            {"feeder.steps_per_mm": 600},
        ),
        ("#define STEPS_PER_MM { 75, 150, 300, 600 }\n", {"feeder.steps_per_mm": 600}),
    ],
)
def test_a_rising_list_is_of_the_axes_where_x_and_y_are_alike_or_its_order_is_said(
    text: str, of_the_feeder: dict[str, float]
) -> None:
    assert of_the_feeder.items() <= values(machine(text, "wren.h", "header")).items()
