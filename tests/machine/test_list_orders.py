"""In which order a list runs is read where a file states it, and asked where it may be another."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.dialects.value import Items, read_value
from cfgmigrate.files.site_reading import parse_site
from cfgmigrate.machine.list_orders import may_run_otherwise, order_in, order_said
from cfgmigrate.machine.names import names_said
from cfgmigrate.machine.recognise import recognise


@pytest.mark.parametrize(
    ("text", "order"),
    [
        ("X, Y, Z, E", "xyze"),
        ("x y z and the feeder", "xyze"),
        ("order of axes: feeder first, X, Y, Z", "exyz"),
        ("All lists: feeder first, then X, Y, Z. mm, mm/s.", "exyz"),
        ("order in all lists: Z, X, Y, then the feeder", "zxye"),
        ("lists: feeder first, then the three axes", "exyz"),
        ("each list: the feeder, then x, y, z", "exyz"),
        ("feeder | X | Y | Z", "exyz"),
        ("[0] feeder [1] x [2] y [3] z", "exyz"),
        ("#0 feeder, #1 X, #2 Y, #3 Z", "exyz"),
        ("drive, left-right, to-and-fro, lift", "exyz"),
        ("EXYZ", "exyz"),
        ("the feeder, then XYZ", "exyz"),
        ("x and y in mm", ""),
        ("x, y, x, y", ""),
        ("homing order: Z, X, Y", ""),
        ("first Z is homed, then X, Y", ""),
        ("Plugs on the board: E, X, Y, Z", ""),
        ("lists are x, y, z, e", "xyze"),
        ("in the order x y z and filament", "xyze"),
        ("X/Y/Z/E", "xyze"),
        ("z, y, x", "zyx"),
        ("x, y", ""),
        ("x, y, x", ""),
        ("x, e, drive", ""),
        ("filament, x, y", "exy"),
        ("the x, the y", ""),
    ],
)
def test_a_text_states_an_order(text: str, order: str) -> None:
    assert order_in(text) == order


def test_the_order_of_plugs_may_be_that_of_lists_and_one_behind_it_is_believed() -> None:
    assert order_said("plugs, from the left: E, X, Y, Z") == "exyz?"
    assert order_said("plugs: E, X, Y, Z. Lists: x, y, z, e") == "xyze"


@pytest.mark.parametrize(
    ("numbers", "otherwise"),
    [
        ("80, 80, 400, 96", False),
        ("96.5, 80, 80, 400", True),
        ("400, 80, 80, 96", True),
        ("80, 81, 400, 96", False),
        ("80, 80, 80, 96", False),
        ("400, 80, 80", False),
    ],
)
def test_a_list_whose_second_and_third_numbers_go_alike_may_run_otherwise(
    numbers: str, otherwise: bool
) -> None:
    value = read_value(f"[{numbers}]")
    assert isinstance(value, Items)
    assert may_run_otherwise(value.items) is otherwise


HEADER = "{}\n#define STEPS_PER_MM {{ {} }}\n"
RIGHT = {
    "feeder.steps_per_mm": 96.5,
    "axis.x.steps_per_mm": 80,
    "axis.y.steps_per_mm": 80,
    "axis.z.steps_per_mm": 400,
}


@pytest.mark.parametrize(
    ("said", "numbers"),
    [
        ("// nothing", "80, 80, 400, 96.5"),
        ("// All lists: feeder first, then X, Y, Z.", "96.5, 80, 80, 400"),
        ("#define E_INDEX 0\n#define X_INDEX 1\n#define Y_INDEX 2\n#define Z_INDEX 3", "96.5, 80, 80, 400"),
        ("// homing order: Z, X, Y", "80, 80, 400, 96.5"),
        ("// plugs: X, Y, Z, E", "80, 80, 400, 96.5"),
    ],
)
def test_each_number_goes_to_its_axis(said: str, numbers: str) -> None:
    found = recognise([read("rail.h", HEADER.format(said, numbers).encode(), "header")])
    assert {each.quantity: each.value for each in found.readings} == RIGHT


@pytest.mark.parametrize(
    ("said", "numbers"),
    [("// nothing", "96.5, 80, 80, 400"), ("// plugs on the board: E, X, Y, Z", "80, 80, 400, 96.5")],
)
def test_a_list_whose_order_is_not_sure_is_asked_about_and_a_person_settles_it(
    said: str, numbers: str
) -> None:
    found = recognise([read("rail.h", HEADER.format(said, numbers).encode(), "header")])
    assert not found.readings
    (doubt,) = [each for each in found.doubts if each.about == "feeder.steps_per_mm"]
    assert "axis.x.steps_per_mm" in doubt.remedy
    first = ("feeder.", "axis.x.", "axis.y.", "axis.z.")
    said_so = first if numbers.startswith("96.5") else (*first[1:], first[0])
    meant = ", ".join(f"{of}steps_per_mm" for of in said_so)
    site = parse_site(f"site: 1\nmeanings: {{STEPS_PER_MM: [{meant}]}}\n".encode(), "cfgmigrate.yaml")
    settled = recognise(
        [read("rail.h", HEADER.format(said, numbers).encode(), "header")], names_said(None, site)
    )
    assert {each.quantity: each.value for each in settled.readings} == RIGHT


@pytest.mark.parametrize(
    ("text", "order"),
    [
        ("X Y Z right left", "xyzEE"),
        ("X, Y, Z, left feeder, right feeder", "xyzEE"),
        ("X Y Z E1 E0", "xyzEE"),
        ("X Y Z T1 T0", "xyzEE"),
        ("X, Y, Z, E0, E1", "xyzee"),
    ],
)
def test_feeders_named_by_side_or_counted_backwards_may_be_any(text: str, order: str) -> None:
    assert order_said(text) == order


@pytest.mark.parametrize(("above", "read_"), [("X Y Z E0 E1", 5), ("X Y Z right left", 0)])
def test_a_list_of_feeders_named_by_side_in_the_remark_above_it_is_asked_about(
    above: str, read_: int
) -> None:
    text = f"[x]\nmax = 210\n\n[motors]\n; {above}\nsteps per mm = 80, 80, 400, 97.1, 96.5\n"
    found = recognise([read("rail.ini", text.encode(), "sectioned")])
    assert sum(each.quantity.endswith("steps_per_mm") for each in found.readings) == read_
    assert bool(found.doubts) is (not read_)


@pytest.mark.parametrize(
    ("order", "names", "read_"),
    [
        ("x, y, z, left feeder, right feeder", ("left", "right"), ["feeder 1", "feeder 2"]),
        ("x, y, z, right feeder, left feeder", ("left", "right"), []),
        ("x, y, z, left feeder, right feeder", ("1", "2"), []),
    ],
)
def test_feeders_named_by_side_are_those_that_the_settings_call_so_if_they_run_from_the_left(
    order: str, names: tuple[str, str], read_: list[str]
) -> None:
    own = "".join(f"[feeder {name}]\nretraction length = 5\n" for name in names)
    text = f"# lists: {order}\n[motors]\nreversed = no, yes, no, yes, no\n{own}"
    found = recognise([read("rail.ini", text.encode(), "sectioned")])
    assert [str(each.holder) for each in found.readings if each.quantity == "feeder.direction"] == read_
    assert [each.about for each in found.doubts] == ([] if read_ else ["feeder.direction"])
