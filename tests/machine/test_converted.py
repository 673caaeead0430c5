"""A remark that says a number again in another unit tells the number's own unit."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.converted import said_again
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
