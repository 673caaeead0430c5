"""Three parts that are set alike, as motors are, are the axes that they move along; which of two lying ones is x may be usage."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.names import read_names
from cfgmigrate.machine.recognise import recognise

MOTOR = "pulses per mm = 80\nmicrosteps = 16\nlowest = 0\nhighest = 212\namps rms = 0.8\n"


def parts(*names: str, own: str = MOTOR, more: str = "", dialect: str = "sectioned") -> Machine:
    text = "".join(f"[{name}]\n{own}" for name in names) + more
    return recognise([read("reed.ini", text.encode(), dialect)])


def axes(machine: Machine) -> set[str]:
    return {each.quantity[:6] for each in machine.readings if each.quantity.startswith("axis.")}


ALL = {"axis.x", "axis.y", "axis.z"}


@pytest.mark.parametrize(
    "names",
    [
        ("carriage", "table", "hoist"),
        ("print bed", "mast", "crossbeam"),
        ("motor of the head", "bed", "screws"),
    ],
)
def test_what_goes_across_what_carries_the_part_and_what_lifts_are_x_y_and_z(names: tuple[str, ...]) -> None:
    machine = parts(*names)
    assert axes(machine) == ALL and len(machine.readings) == 15


def test_a_bed_that_is_heated_beside_a_bed_axis_is_none() -> None:
    machine = parts("carriage axis", "bed axis", "height axis", more="[bed]\nhottest = 110\n")
    assert axes(machine) == ALL and len(machine.readings) == 16


def test_what_lifts_is_edited_and_which_of_the_others_is_x_is_asked_once() -> None:
    machine = parts("trolley", "plate", "jack")
    assert {each.quantity[:6] for each in machine.readings if each.editable} == {"axis.z"}
    (asked,) = [each for each in machine.doubts if "`trolley` as x and `plate` as y" in each.why]
    assert '"[trolley] highest": axis.x.max, or axis.y.max' in asked.remedy
    assert asked.place.line == 5


@pytest.mark.parametrize("heat", ["heaters", "temperatures", "heat"])
def test_a_bed_below_a_word_for_heat_is_no_axis(heat: str) -> None:
    machine = parts("motion.carriage", "motion.bed", "motion.lift", more=f"[{heat}.bed]\nhighest = 110\n")
    (highest,) = [each for each in machine.every_reading if each.quantity == "axis.y.max"]
    assert highest.value == 212 and machine.get("heater.bed.max_temperature")


def test_what_stands_below_a_lying_part_elsewhere_is_not_edited_either() -> None:
    own, again = f"{MOTOR}top acceleration = 3000\n", "[quick.carriage]\ntop acceleration = 3000\n"
    machine = parts("motion.carriage", "motion.bed", "motion.lift", own=own, more=again)
    assert not [each for each in machine.readings if each.quantity.startswith("axis.x") and each.editable]


@pytest.mark.parametrize(("axis", "other"), [("x", "y"), ("y", "x")])
def test_what_is_said_of_one_line_holds_for_all_of_both(axis: str, other: str, tmp_path: Path) -> None:
    (names := tmp_path / "names.yaml").write_text(f'"[trolley] highest": axis.{axis}.max\n')
    text = "".join(f"[{name}]\n{MOTOR}" for name in ("trolley", "plate", "jack")).replace("212", "300", 1)
    machine = recognise([read("reed.ini", text.encode(), "sectioned")], read_names(names))
    said = {each.quantity: each.value for each in machine.readings if each.editable}
    assert (said[f"axis.{axis}.max"], said[f"axis.{other}.max"], len(said)) == (300, 212, 15)
    lowest = machine.get(f"axis.{axis}.min")
    assert lowest and lowest.place.line == 4 and not any("as x" in each.why for each in machine.doubts)


@pytest.mark.parametrize("head", ["axes: beam, bed, lift", "the axes are beam, bed and lift"])
def test_axes_that_a_remark_gives_in_order_are_sure(head: str) -> None:
    text = f"# {head}\nCURRENT_BEAM = 810\nCURRENT_BED = 860\nCURRENT_LIFT = 650\nCURRENT_FAN = 90\n"
    machine = recognise([read("reed.conf", text.encode(), "flat")])
    said = {each.quantity: (each.value, each.editable) for each in machine.readings}
    assert said == {
        "axis.x.run_current": (0.81, True),
        "axis.y.run_current": (0.86, True),
        "axis.z.run_current": (0.65, True),
    }


def test_a_remark_with_the_way_makes_it_sure_and_one_with_another_way_makes_it_nothing() -> None:
    remarked = MOTOR + "# {}\n"
    text = "".join(
        f"[{name}]\n{remarked.format(way)}"
        for name, way in (("head", "left to right"), ("table", "front to back"), ("lift", "two screws"))
    )
    assert all(each.editable for each in recognise([read("reed.ini", text.encode(), "sectioned")]).readings)
    turned = text.replace("front to back", "side to side")
    assert axes(recognise([read("reed.ini", turned.encode(), "sectioned")])) == set()


@pytest.mark.parametrize(
    "names",
    [
        ("carriage", "table", "shelf"),  # nothing lifts
        ("carriage", "head", "bed", "hoist"),  # two go across
        ("hoist", "lift", "bed"),
        ("pump", "bed", "hoist"),
    ],
)
def test_other_parts_are_no_axes(names: tuple[str, ...]) -> None:
    assert axes(parts(*names)) == set()


def test_letters_beside_are_the_axes_and_parts_none() -> None:
    more = "".join(f"[{letter}]\n{MOTOR}" for letter in "xyz")
    assert len(parts("carriage", "bed", "lift", more=more).readings) == 15


def test_what_only_the_bed_says_is_not_of_its_axis() -> None:
    heated = "[nozzle]\nnot above = 270\n"
    text = f"[carriage]\n{MOTOR}[bed]\n{MOTOR}not above = 105\n[lift]\n{MOTOR}{heated}"
    machine = recognise([read("reed.ini", text.encode(), "sectioned")])
    assert [each.value for each in machine.readings if each.quantity == "axis.y.max"] == [212]


def test_a_carriage_with_steps_of_its_own_has_no_limit_of_the_machine_in_any_file() -> None:
    steps, limit = "pulses per mm = 80\n", "top speed = 180\n"
    machine = parts("carriage", own=steps + limit)
    assert not machine.readings and any("that of one axis" in each.why for each in machine.doubts)
    files = [
        read(f"{at}.ini", f"[carriage]\n{own}".encode(), "sectioned") for at, own in enumerate((steps, limit))
    ]
    assert not recognise(files).readings
    assert parts("carriage", own=limit).readings[0].quantity == "machine.max_speed"


def test_no_limit_of_a_moving_part_is_left_as_the_machines_own() -> None:
    text = "".join(
        f"[{part}]\nsteps per mm = 80\ntop speed = 180\n\n" for part in ("carriage", "gantry", "bed")
    )
    for parted in (text, text.replace("carriage", "ark"), text.replace("gantry", "ark")):
        machine = recognise([read("one.ini", parted.encode(), "sectioned")])
        assert not [each for each in machine.readings if each.quantity.startswith("machine.")]
        assert any("that of one axis" in each.why for each in machine.doubts)
