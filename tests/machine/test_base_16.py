"""A number to base 16 is a colour, a mask or a row of a picture: no amount, and its name counts no feeder."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise

DRIVE = "#define FULL_STEPS { 200, 200, 200, 400 }\n#define THREAD_DIA 1.75\n#define PULL_LEN 6.0\n"


def machine_of(lines: str) -> Machine:
    return recognise((read("wren.h", (DRIVE + lines).encode(), "header"),))


@pytest.mark.parametrize(
    "row", ["PIC_THREAD_15 0x0023B6", "PIC_THREAD_02 0X36A80B", "THREAD_5_MAX_ACC 0x0BB8", "PULL_SPEED 0x28"]
)
def test_a_row_of_a_picture_is_no_feeder_and_no_amount(row: str) -> None:
    machine = machine_of(f"#define {row}\n")
    assert machine.feeders == (1,)
    assert not [each for each in machine.every_reading if each.place.line == 4]
    assert not [doubt for doubt in machine.doubts if doubt.place.line == 4]


def test_an_amount_beside_such_rows_is_read_as_ever() -> None:
    """Counter-example: what is written to base 10 is an amount."""
    machine = machine_of("#define PIC_THREAD_15 0x0023B6\n#define PULL_SPEED 40\n#define LAG_MS 610\n")
    read_there = {each.quantity for each in machine.every_reading if each.place.line > 4}
    assert "retraction.speed" in read_there and machine.feeders == (1,)


def test_an_address_that_is_protected_stays_protected() -> None:
    machine = machine_of("#define PIN_D_STEP 0x14\n")
    plain = machine_of("#define PIN_D_STEP 20\n")
    kinds = [
        [each.quantity for each in found.every_reading if each.place.line == 4] for found in (machine, plain)
    ]
    assert kinds[0] == kinds[1]
