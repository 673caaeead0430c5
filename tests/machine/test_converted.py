"""A remark that says a number again in another unit tells the number's own unit."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.converted import of_another_number, said_again, told_of_value
from cfgmigrate.machine.recognise import recognise


@pytest.mark.parametrize(
    ("value", "remark", "unit"),
    [
        ("2400", "= 40 mm/s", "mm/min"),
        ("50", "= 3000 mm/min", "mm/s"),
        ("850", "= 0.85 A", "mA"),
        ("0.45", "= 450 ms", "s"),
        ("40", "= 40 mm/s", "mm/s"),
        ("2400", "= 41 mm/s", None),
        ("2400", "40 mm/s", None),
        ("0", "= 0 mm/s", None),
        ("2400", "= 40 steps", None),
    ],
)
def test_the_unit_is_the_one_in_which_both_numbers_are_the_same(
    value: str, remark: str, unit: str | None
) -> None:
    found = said_again(remark, value)
    assert (found.name if found else None) == unit


def test_a_speed_that_its_remark_says_again_is_read_in_its_own_unit() -> None:
    text = b"[retract]\nlength = 3.2\nspeed = 2400   # = 40 mm/s\n"
    machine = recognise([read("one.ini", text, "sectioned")])
    assert {each.quantity: each.value for each in machine.readings} == {
        "retraction.length": 3.2,
        "retraction.speed": 40,
    }


@pytest.mark.parametrize(
    ("line", "value"),
    [
        ("#define FEEDER_MOTOR_STEPS 200 // 1.8 deg", 200),
        ("#define FEEDER_MOTOR_STEPS 400 // 0.9°, small one", 400),
        ("#define FEEDER_MOTOR_STEPS 1.8 // deg", 200),
        ("#define FEEDER_MOTOR_STEPS 200 // 0.9 deg", None),
    ],
)
def test_a_step_angle_beside_full_steps_confirms_them_where_both_make_one_turn(
    line: str, value: float | None
) -> None:
    machine = recognise([read("feed.h", f"{line}\n".encode(), "header")])
    assert [each.value for each in machine.readings] == ([] if value is None else [value])
    assert bool(machine.doubts) is (value is None)


@pytest.mark.parametrize(
    ("value", "remark", "unit", "word"),
    [
        ("0.48", "480 ms", "s", ""),
        ("0.48", "some 500 ms", "s", ""),
        ("0.48", "ms 480", "s", ""),
        ("40", "2400 mm/min", "mm/s", ""),
        ("2400", "at most 3000 mm/min", "mm/min", ""),
        ("20", "at most 50 ms", "ms", ""),
        ("252", "is 25.2 cm", "mm", ""),
        ("5.5", "mm, 1.5 mm more than before", "mm", ""),
        ("1.16", "that is 0.82 rms", "", "rms?"),
        ("1160", "rms 0.82", "", "rms?"),
        ("0.82", "1.16 A peak", "", "peak?"),
        ("0.82", "0.82 A rms", "", "rms"),
        ("0.82", "A rms (max 1.2 A)", "A", "rms"),
        ("0.82", "of at most 1.2 peak", "", "peak?"),
    ],
)
def test_what_stands_with_another_number_is_said_of_that_one(
    value: str, remark: str, unit: str, word: str
) -> None:
    told = told_of_value(remark, value)
    assert (told.unit.name if told.unit else "", told.qualifier) == (unit, word)


@pytest.mark.parametrize("line", ["0.82 ; of at most 1.2 peak", "1.16 ; that is 0.82 rms"])
def test_a_current_beside_another_s_rms_or_peak_is_not_written(line: str) -> None:
    text = f"[feeder]\nrun current = {line}\n".encode()
    (reading,) = recognise([read("one.ini", text, "sectioned")]).readings
    assert not reading.editable


@pytest.mark.parametrize(
    ("value", "remark", "of_another"),
    [
        ("252", "homes at 5 mm/s", True),
        ("252", "mm/s", False),
        ("252", "in mm/s, homes at 5 mm/s", False),
        ("300", "that is 5 mm/s", False),
        ("5", "5 mm/s", False),
        ("252", "homes slowly", False),
        ("fast", "5 mm/s", False),
    ],
)
def test_a_unit_that_stands_with_another_number_says_nothing_of_what_the_value_measures(
    value: str, remark: str, of_another: bool
) -> None:
    assert of_another_number(remark, value) is of_another


@pytest.mark.parametrize("number", ["100", "101.0", "1000"])
@pytest.mark.parametrize("unit", ["1/mm", "1 / mm", "1/mm of filament"])
def test_the_one_of_a_unit_is_no_number_that_the_value_is_held_against(number: str, unit: str) -> None:
    line = f"#define FEEDER_STEPS_PER_MM {number}  // {unit}\n"
    machine = recognise([read("feed.h", line.encode(), "header")])
    assert [each.value for each in machine.readings] == [float(number)]
    assert not machine.doubts
