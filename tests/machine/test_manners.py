"""Manners of writing: units with a word joined to them, sides joined to a feeder's word, tables of limits, turned ways round,
prints by a name of their own."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise


def machine(text: str, dialect: str = "flat") -> Machine:
    return recognise([read("godwit", text.encode(), dialect)])


def values(text: str, dialect: str = "flat") -> dict[str, float | None]:
    return {reading.quantity: reading.value for reading in machine(text, dialect).readings}


@pytest.mark.parametrize(
    ("written", "value"), [("1.2Apk", 0.8485281), ("1200mApk", 0.8485281), ("600mArms", 0.6)]
)
def test_rms_or_peak_may_be_joined_to_the_unit(written: str, value: float) -> None:
    (reading,) = machine(f"[feeder]\nrun current = {written}\n", "sectioned").readings
    assert reading.value == pytest.approx(value) and reading.editable
    assert reading.text == written[: len(reading.text)]


def test_a_unit_that_is_joined_to_nothing_known_is_a_doubt() -> None:
    found = machine("[feeder]\nrun current = 1.2Xpk\n", "sectioned")
    assert not found.readings and found.doubts


def test_a_unit_may_end_a_nested_heading() -> None:
    text = '{"x": {"travelMm": {"min": -4, "max": 231}}, "probe": {"offsetMm": {"x": 12, "y": -3}}}'
    assert values(text, "nested") == {
        "axis.x.min": -4, "axis.x.max": 231, "probe.offset_x": 12, "probe.offset_y": -3}  # fmt: skip


TABLE = "xspeed = 170\nyspeed = 160\nxaccel = 1700\nyaccel = 1500\n"


def test_speeds_beside_accelerations_of_the_same_axes_are_limits() -> None:
    found = values(TABLE)
    assert found["axis.x.max_speed"] == 170 and found["axis.y.max_speed"] == 160
    assert not values(TABLE.replace("accel", "home"))


def test_the_same_names_behind_two_feeders_tell_them_apart_by_the_letter() -> None:
    names = {"steps": 96, "motor_steps": 200, "load": 90, "amps_rms": 0.5}
    found = machine(
        "".join(f"feed{side}_{name} = {value}\n" for side in "ab" for name, value in names.items())
    )
    holders = {str(r.holder) for r in found.readings}
    assert len(holders) == 2 and len(found.readings) == 2 * len(names)


def test_back_to_front_is_a_turned_direction_where_it_is_true_or_not() -> None:
    assert values("#define DRIVE_BACK_TO_FRONT yes\n", "header") == {"feeder.direction": 1}
    assert values("// order X, Y, Z\n#define BACK_TO_FRONT { no, yes, no }\n", "header") == {
        "axis.x.direction": 0, "axis.y.direction": 1, "axis.z.direction": 0}  # fmt: skip
    assert values("xback = off\nyback = on\n") == {"axis.x.direction": 0, "axis.y.direction": 1}


@pytest.mark.parametrize("text", ["xback = 1\n", "xback = 220\n", "y back to front max = 220\n"])
def test_what_is_back_and_no_truth_is_no_direction(text: str) -> None:
    assert not {quantity for quantity in values(text) if quantity.endswith("direction")}


PRINTS = "".join(
    f"{name} layer height = {height} mm\n{name} retract length = {length} mm\n{name} retract speed = 40 mm/s\n"
    for name, height, length in (("careful", 0.12, 5.1), ("quick", 0.28, 4.6))
)


def test_prints_may_go_by_a_usual_name_alone() -> None:
    found = machine(PRINTS)
    assert {(str(r.holder), r.value) for r in found.readings if r.quantity == "retraction.length"} == {
        ("print careful", 5.1), ("print quick", 4.6)}  # fmt: skip


def test_two_usual_names_without_anything_of_a_print_are_no_prints() -> None:
    found = machine(PRINTS.replace("layer height", "load length"))
    assert not any(str(r.holder).startswith("print") for r in found.readings)


def test_feed_per_rev_is_a_turn() -> None:
    found = machine("[filament drive]\nfeed per rev = 22.4\n", "sectioned")
    assert {r.quantity for r in found.readings} == {"feeder.feed_per_turn"} and not found.doubts


def test_a_dividing_head_is_no_print_head() -> None:
    assert not values("[dividing head]\nmax speed = 20\n", "sectioned")
