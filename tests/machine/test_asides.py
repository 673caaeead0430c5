"""What a name says beside: that its value is of before, which of two meanings its neighbours have, what its unit leaves open."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise


def machine(text: str) -> Machine:
    return recognise([read("serin.ini", text.encode(), "sectioned")])


def values(text: str) -> dict[str, float | None]:
    return {reading.quantity: reading.value for reading in machine(text).readings}


@pytest.mark.parametrize("before", ["pulsesPerMmBefore", "old_pulses_per_mm", "pulses per mm formerly"])
def test_a_key_of_what_was_before_is_no_reading_beside_the_one_in_force(before: str) -> None:
    own = "pulses per mm" if " " in before else "pulses_per_mm" if "_" in before else "pulsesPerMm"
    found = machine(f"[feeder]\n{own} = 412\n{before} = 96\n")
    assert {r.quantity: r.value for r in found.readings} == {"feeder.steps_per_mm": 412}
    assert not found.doubts


def test_a_key_with_before_and_no_other_beside_it_is_read() -> None:
    assert values("[retraction]\nlength before travel = 4\n") == {"retraction.length": 4}


@pytest.mark.parametrize("remark", ["as bought", "mostly fine", "in summer", "seen twice"])
def test_a_remark_in_brackets_takes_nothing_from_the_name_before_it(remark: str) -> None:
    assert values(f"[retraction]\nlength ({remark}) = 4\n") == {"retraction.length": 4}


@pytest.mark.parametrize(
    "remark",
    [
        *(
            "spare",
            "a test",
            "tried",
            "disabled",
            "copy",
            "never",
            "unless cold",
            "half",
            "old",
            "previously",
        ),
        *("archived", "as it was obsolete", "peak", "7th try", "for the 2nd one"),
    ],
)
def test_brackets_that_say_that_it_is_another_value_stay_with_the_name(remark: str) -> None:
    """What is behind may be no length that is in force, and is not read as one."""
    assert "retraction.length" not in values(f"[retraction]\nlength ({remark}) = 4\n")


@pytest.mark.parametrize(
    "remark", ["backup", "before", "was", "not", "other", "default", "spare", "old", "tried", "peak"]
)
def test_beside_the_value_in_force_one_with_such_brackets_is_never_a_second_one(remark: str) -> None:
    found = machine(f"[retraction]\nlength = 6\nlength ({remark}) = 4\n")
    assert {(r.quantity, r.value) for r in found.readings} <= {("retraction.length", 6)}
    assert found.readings or found.doubts


def test_an_abbreviation_of_two_words_is_the_one_whose_length_it_is() -> None:
    """`ret` may be a retraction or a return; only a retraction has a length."""
    found = machine("[machine]\nret_len = 4\nret_vel = 35\n")
    speed = next(r for r in found.readings if r.quantity == "retraction.speed")
    assert speed.value == 35 and not speed.editable
    alone = machine("[machine]\nret_vel = 35\n")
    assert not alone.readings and alone.doubts


def test_the_teeth_of_one_gear_on_each_axis_are_no_ratios() -> None:
    assert not values("[axes]\npulley teeth = 16, 16, 20\n")


def test_degrees_of_a_temperature_are_degrees_celsius() -> None:
    found = machine("[feeder]\nnever feed below = 170 degrees\n")
    assert {r.quantity: r.value for r in found.readings} == {"feeder.min_feed_temperature": 170}
    assert not found.doubts and not any(r.quantity != "feeder.min_feed_temperature" for r in found.readings)
    assert not values("[feeder]\nmax speed = 40 degrees\n")
