"""A number whose name says a fraction of its unit is asked about: left out in silence it would stay old."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import MACHINE
from cfgmigrate.machine.recognise import recognise


@pytest.mark.parametrize(
    ("line", "quantity"),
    [
        ("RETRACTION_MM_X10 55", "retraction.length"),
        ("RETRACTION_X10 55", "retraction.length"),
        ("PULLBACK_X10 55", "retraction.length"),
        ("RETRACTION_MM_TIMES_100 550", "retraction.length"),
        ("FEEDER_CURRENT_X100 85", "motor.run_current"),
        ("FEEDER_RUN_CURRENT_A_X_1000 850", "motor.run_current"),
        ("FEEDER_CURRENT_TENTHS_OF_A 8", "motor.run_current"),
        ("FLOW_LAG_S_X1000 400", "lag.coefficient"),
    ],
)
def test_it_is_asked_about_and_never_read(line: str, quantity: str) -> None:
    machine = recognise([read("tern.h", f"#define {line}\n".encode(), "header")])
    assert not machine.readings
    assert machine.in_doubt[quantity].line == 1


@pytest.mark.parametrize(
    "key",
    [
        "retraction.length 1/100 mm",
        "retraction.length (0.01 mm)",
        "retraction.length mm/100",
        "retraction 1/100 mm",
        "retraction.hundredths_of_mm",
    ],
)
def test_hundredths_of_a_millimetre_are_read(key: str) -> None:
    machine = recognise([read("plover.txt", f"{key} = 580\n".encode(), "flat")])
    (reading,) = machine.readings
    assert (reading.quantity, reading.holder) == ("retraction.length", MACHINE) and not machine.doubts
    assert reading.value == pytest.approx(5.8)


@pytest.mark.parametrize(
    "key",
    [
        "load length, 0.1 mm nozzle",
        "load length to 0.1 mm",
        "unload length ± 0.1 mm",
    ],
)
def test_how_well_a_length_is_known_or_for_which_nozzle_is_no_unit_of_it(key: str) -> None:
    machine = recognise([read("plover.txt", f"[feeder]\n{key} = 400\n".encode(), "sectioned")])
    assert all(each.value == 400 for each in machine.readings)


def test_tenths_of_a_millimetre_are_read() -> None:
    (reading,) = recognise([read("tern.h", b"#define RETRACTION_TENTHS_OF_MM 55\n", "header")]).readings
    assert reading.quantity == "retraction.length" and reading.value == pytest.approx(5.5)


@pytest.mark.parametrize(
    "key", ["retraction.length 1/100", "retraction.speed 0.1 mm/s", "feeder.current 1/100 A"]
)
def test_a_fraction_in_digits_of_another_unit_is_asked_about(key: str) -> None:
    machine = recognise([read("plover.txt", f"{key} = 580\n".encode(), "flat")])
    assert not machine.readings and machine.in_doubt


@pytest.mark.parametrize(
    "line", ["X_MAX_X10 2100", "RETRACTION_MODE_X10 yes", "FAN_X100 85", "MENU_TIMES_10 5"]
)
def test_what_is_no_number_of_the_feed_path_is_not_asked_about(line: str) -> None:
    assert not recognise([read("tern.h", f"#define {line}\n".encode(), "header")]).in_doubt


@pytest.mark.parametrize("line", ["RETRACTION_FROM 5.5", "RETRACTION_IN_USE 5.5"])
def test_where_a_retraction_begins_or_whether_it_is_used_is_not_its_length(line: str) -> None:
    machine = recognise([read("tern.h", f"#define {line}\n".encode(), "header")])
    assert not machine.readings and machine.in_doubt["retraction.length"].line == 1


@pytest.mark.parametrize(
    ("key", "amperes_rms"),
    [
        ("CURRENT_RMS_MA", 0.85),
        ("CURRENT_MA_RMS", 0.85),
        ("RMS_CURRENT_MA", 0.85),
        ("CURRENT_PEAK_MA", 0.85 / 2**0.5),
    ],
)
def test_rms_and_peak_are_read_wherever_they_stand_in_a_key(key: str, amperes_rms: float) -> None:
    machine = recognise([read("tern.h", f"#define FEEDER_{key} 850\n".encode(), "header")])
    (reading,) = machine.readings
    assert reading.value == pytest.approx(amperes_rms, rel=1e-3) and not machine.doubts
