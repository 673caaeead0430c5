"""What a setting's own words and its number come to: a reading, a question, or what was not understood."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise


def machine(lines: str) -> Machine:
    return recognise([read("one.ini", (lines.replace("|", "\n") + "\n").encode(), "sectioned")])


@pytest.mark.parametrize(
    ("lines", "quantity", "editable"),
    [
        ("[feeder]|steps = 431", "feeder.steps_per_mm", True),
        ("[feeder]|steps = 400 per mm", "feeder.steps_per_mm", True),
        ("[filament]|filament = 1.75", "filament.diameter", True),
        ("[nozzle]|nozzle = 0.4", "nozzle.diameter", True),
        ("[feeder]|gear ratio teeth = 3", "feeder.gear_ratio", True),
        ("[axis x]|reverse = 0", "axis.x.direction", True),
        ("[retraction]|retraction = 4", "retraction.length", True),
        ("[feeder]|turn = minus", "feeder.direction", True),
        ("[feeder]|turns = backwards", "feeder.direction", True),
        ("[feeder]|rev = reversed", "feeder.direction", True),
        ("[feeder]|end script = G1 X0 E-5", "script.end", True),
    ],
)
def test_a_setting_is_what_its_words_say_and_its_number_can_be(
    lines: str, quantity: str, editable: bool
) -> None:
    assert [(each.quantity, each.editable) for each in machine(lines).readings] == [(quantity, editable)]


@pytest.mark.parametrize(
    ("lines", "read_as"),
    [
        ("steps per mm = 93.4|steps = 200", ["feeder.steps_per_mm", "feeder.full_steps"]),
        ("full steps = 200|steps = 400", ["feeder.full_steps"]),
    ],
)
def test_lone_steps_beside_steps_per_mm_are_those_of_a_turn_and_never_the_other_way(
    lines: str, read_as: list[str]
) -> None:
    found = machine(f"[feeder]|{lines}")
    assert [each.quantity for each in found.readings] == read_as
    assert not found.readings[-1].editable or len(read_as) == len(found.doubts)


@pytest.mark.parametrize(
    ("lines", "asked"),
    [
        ("[feeder]|steps = 200", "this may be feeder steps per mm or the motor's full steps per turn"),
        ("[feeder]|steps = 400", "this may be feeder steps per mm or the motor's full steps per turn"),
        ("[feeder zum]|run current = 0.5 A rms", "not every word of the section is understood"),
        ("[feeder]|steps per mm = 5 mm/s", "feeder steps per mm can't be in mm/s"),
        ("[feeder]|max speed = 5 mA", "maximum feed speed can't be in mA"),
    ],
)
def test_what_may_be_two_things_or_can_t_be_the_one_is_asked_and_not_read(lines: str, asked: str) -> None:
    found = machine(lines)
    assert not found.readings and not found.unread
    (doubt,) = found.doubts
    assert asked in doubt.why


@pytest.mark.parametrize(
    "lines",
    [
        "[filament]|filament = ABS",
        "[zum]|run current = 0.5 A rms",
        "[zum]|zum = yes",
        "[retraction]|enabled = 1",
        "[retraction]|retraction = yes",
        "[feeder]|retract z = 0.4",
    ],
)
def test_what_is_no_more_than_a_thing_s_name_or_strange_is_not_read(lines: str) -> None:
    found = machine(lines)
    assert not found.readings and not found.doubts and len(found.unread) == 1


@pytest.mark.parametrize(
    "line",
    ["[x]|travel_mm_s = 120", "[z]|mm_min = 300", "[feeder]|load (mm/s) = 6", "[feeder]|steps_s = 9300", "[probe]|x_mm_per_s = 4",
     "[retraction]|length_ms = 4", "[feeder]|load_s = 60", "[feeder motor]|run current mV = 960", "[feeder motor]|run current = 960 ; mV",
     "[retraction]|speed = 40 ; rpm", "[retraction]|speed = 40 ; mm3/s", "[feeder]|max speed = 50 ; kHz", "[feeder]|steps per mm = 93 ; per inch"],
)  # fmt: skip
def test_what_a_key_or_a_remark_measures_by_its_unit_is_nothing_that_is_measured_otherwise(line: str) -> None:
    assert not machine(line).readings


@pytest.mark.parametrize(
    ("line", "read_as"),
    [
        ("[x]|min_mm = -3", "axis.x.min"),
        ("[x]|travel_min_mm = -3", "axis.x.min"),
        ("[x]|max_mm_s = 120", "axis.x.max_speed"),
        ("[retraction]|mm_s = 40", "retraction.speed"),
        ("[retraction]|speed = 40 ; /s", "retraction.speed"),
        ("[feeder]|microsteps_s = 16", "feeder.microsteps"),
        ("[feeder]|run current s = 0.7", "motor.run_current"),
        ("[feeder]|steps_per_mm = 93", "feeder.steps_per_mm"),
    ],
)
def test_a_unit_in_a_key_says_what_is_measured(line: str, read_as: str) -> None:
    assert [reading.quantity for reading in machine(line).readings] == [read_as]


def test_the_least_in_mm_beside_the_most_in_mm_is_no_speed() -> None:
    found = recognise([read("a.conf", b"[x]\nmm_min = -3\nmm_max = 240\n", "sectioned")])
    assert [each.quantity for each in found.readings] == ["axis.x.min", "axis.x.max"]


def test_of_what_is_not_read_is_told_what_it_is_nearest_to_where_its_number_can_be_that() -> None:
    assert machine("[zum]|run current = 0.5 A rms").unread[0].nearest == ("motor.run_current",)


def test_a_filament_of_one_is_a_switch_or_a_count_and_no_diameter() -> None:
    """No filament is so thin: a `1` behind the filament's name says that its motor is turned round, or how many there are."""
    text = "[feeder]\nfilament diameter = 1\nsteps per mm = 410\n"
    found = recognise([read("wren.ini", text.encode(), "sectioned")])
    assert [reading.quantity for reading in found.readings] == ["feeder.steps_per_mm"]


def test_where_a_swap_is_done_is_a_place_and_no_direction() -> None:
    found = machine("[places]|swap x = 105|swap y = 1|[slide y]|reversed = yes")
    assert [(each.quantity, each.place.line) for each in found.readings] == [("axis.y.direction", 5)]
    assert not [each for each in found.doubts if each.place.line in (2, 3)]
    assert {each.place.line for each in found.unread} == {2, 3}


def test_a_feeder_at_a_numbered_place_of_a_board_may_be_turned() -> None:
    text = b"[extruder position 1]\nreversed = yes\n"
    (reading,) = recognise([read("m.conf", text, "sectioned")]).readings
    assert reading.quantity == "feeder.direction"
