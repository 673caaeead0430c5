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
        ("[hotend]|min temp = 170", "feeder.min_feed_temperature", True),
        ("[hotend]|min temp = 100", "feeder.min_feed_temperature", True),
        ("[hotend]|min temp = 99", "heater.hotend.min_temperature", True),
        ("[feeder]|min temp = 170", "feeder.min_feed_temperature", True),
        ("[bed]|min temp = 170", "heater.bed.min_temperature", True),
        ("[feeder]|steps = 415", "feeder.steps_per_mm", True),
        ("[feeder]|steps = 400 per mm", "feeder.steps_per_mm", True),
        ("[filament]|filament = 1.75", "filament.diameter", True),
        ("[nozzle]|nozzle = 0.4", "nozzle.diameter", True),
        ("[feeder]|max feed = 60 mm/s", "feeder.max_speed", True),
        ("[feeder]|most feed = 600", "feeder.max_feed_length", False),
        ("[feeder]|gear ratio teeth = 3", "feeder.gear_ratio", True),
        ("[axis x]|reverse = 0", "axis.x.direction", True),
        ("[retraction]|retraction = 4", "retraction.length", True),
        ("[hotend]|sensor = NTC 100k", "heater.hotend.sensor", True),
        ("[feeder]|end script = G1 X0 E-5", "script.end", True),
    ],
)
def test_a_setting_is_what_its_words_say_and_its_number_can_be(
    lines: str, quantity: str, editable: bool
) -> None:
    assert [(each.quantity, each.editable) for each in machine(lines).readings] == [(quantity, editable)]


@pytest.mark.parametrize(
    ("lines", "asked"),
    [
        ("[feeder]|steps = 200", "this may be feeder steps per mm or the motor's full steps per turn"),
        ("[feeder]|steps = 400", "this may be feeder steps per mm or the motor's full steps per turn"),
        ("[feeder]|max feed = 60", "the words fit maximum feed speed and longest single feed"),
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
        "[motion]|teeth = 20, 20, 12",
        "[motion]|teeth xy = 20, 20",
        "[feeder]|motor teeth = 20",
        "[zum]|run current = 0.5 A rms",
        "[zum]|zum = yes",
        "[retraction]|enabled = 1",
        "[retraction]|retraction = yes",
        "[feeder]|retract z = 0.4",
    ],
)
def test_what_is_no_more_than_a_thing_s_name_one_gear_s_teeth_or_strange_is_not_read(lines: str) -> None:
    found = machine(lines)
    assert not found.readings and not found.doubts and len(found.unread) == 1


def test_of_what_is_not_read_is_told_what_it_is_nearest_to_where_its_number_can_be_that() -> None:
    assert machine("[feeder]|motor teeth = 20").unread[0].nearest == ("feeder.gear_ratio",)
    assert machine("[zum]|run current = 0.5 A rms").unread[0].nearest == ("motor.run_current",)
    assert machine("[motion]|teeth = 20, 20, 12").unread[0].nearest == ()


@pytest.mark.parametrize(
    ("text", "dialect", "held"),
    [
        ('{"pushers": {"both": {"top": 60, "steps per mm": 96.5}}}', "nested", False),
        ("[pusher]\ntop = 60\n", "sectioned", False),
        ("[pusher]\ntop = 275\n", "sectioned", True),
        ("[pusher]\ntop temperature = 120\n", "sectioned", True),
    ],
)
def test_a_top_that_is_less_than_any_hot_end_s_limit_is_asked_about_and_not_protected(
    text: str, dialect: str, held: bool
) -> None:
    machine = recognise([read("m.txt", text.encode(), dialect)])
    assert ("heater.hotend.max_temperature" in {each.quantity for each in machine.readings}) is held
    assert bool(machine.doubts) is not held


def test_a_filament_of_one_is_a_switch_or_a_count_and_no_diameter() -> None:
    """No filament is so thin: a `1` behind the filament's name says that its motor is turned round, or how many there are."""
    text = "[feeder]\nfilament diameter = 1\nsteps per mm = 410\n"
    found = recognise([read("wren.ini", text.encode(), "sectioned")])
    assert [reading.quantity for reading in found.readings] == ["feeder.steps_per_mm"]
