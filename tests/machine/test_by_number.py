"""What a number may be, by its unit, its axes and what is usual; and what a pattern says of the feeder beside the axes."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.files.site_reading import parse_site
from cfgmigrate.ground.units import units
from cfgmigrate.machine.by_number import Numbered, can_be, for_letter, may_be
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.names import names_said
from cfgmigrate.machine.near_lengths import lengths_of
from cfgmigrate.machine.quantities import known
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.teach import teachable
from cfgmigrate.machine.word_lessons import word_lessons


def group(*numbers: float, letters: str = "xyze", unit: str = "") -> list[Numbered]:
    told = units()[unit] if unit else None
    return [
        Numbered(letter, number, told, "", frozenset())
        for letter, number in zip(letters, numbers, strict=False)
    ]


@pytest.mark.parametrize(
    "numbers, unit, first",
    [
        ((800.0, 850.0, 700.0, 620.0), "mA", "axis.@.run_current"),
        ((200.0, 180.0, 12.0, 60.0), "mm/s", "axis.@.max_speed"),
        ((3000.0, 2500.0, 100.0, 1500.0), "mm/s^2", "axis.@.max_acceleration"),
        ((16.0, 16.0, 16.0, 16.0), "", "axis.@.microsteps"),
        ((82.0, 86.0, 410.0, 431.0), "", "axis.@.steps_per_mm"),
        ((222.0, 214.0, 230.0), "mm", "axis.@.max"),
    ],
)
def test_the_numbers_of_the_axes_together_say_what_they_are_likeliest(
    numbers: tuple[float, ...], unit: str, first: str
) -> None:
    assert may_be(group(*numbers, unit=unit))[0] == first


def test_all_numbers_of_a_group_are_in_one_unit_and_possible() -> None:
    assert "axis.@.max_speed" not in may_be(group(100.0, 100.0, 8000.0, unit="mm/s"))
    assert may_be(group(0.0, 1.0, 1.0))[0] != "axis.@.microsteps"


def test_what_is_said_already_is_not_offered_again() -> None:
    assert "feeder.max_speed" not in may_be(group(60.0, letters=" ", unit="mm/s"), {"feeder.max_speed"})


def test_every_axis_has_its_quantity_and_the_feeder_beside_them_its_own() -> None:
    assert for_letter("axis.@.max_speed", "y") == "axis.y.max_speed"
    assert for_letter("axis.@.run_current", "e") == "motor.run_current"
    assert for_letter("axis.@.max", "e") == ""
    assert all(known(for_letter(f"axis.@.{each}", "e")) for each in ("microsteps", "direction", "full_steps"))


def said(text: str, entries: str, file: str = "one.cfg", dialect: str = "flat") -> Machine:
    site = parse_site(f"site: 1\n{entries}\n".encode(), "cfgmigrate.yaml")
    return recognise([read(file, text.encode(), dialect)], names_said(None, site))


def test_one_line_of_a_pattern_or_a_code_teaches_the_axes_and_the_feeder() -> None:
    wanted = {
        "axis.x.max_speed": 200.0,
        "axis.y.max_speed": 180.0,
        "axis.z.max_speed": 12.0,
        "feeder.max_speed": 60.0,
    }
    text = "gruz_x = 200\ngruz_y = 180\ngruz_z = 12\ngruz_e = 60\n"
    by_pattern = said(text, 'meanings: {"gruz_@": axis.@.max_speed}')
    by_code = said("K20 X200 Y180 Z12 E60\n", "codes: {K20.@: axis.@.max_speed}", "one.nc", "command")
    for machine in (by_pattern, by_code):
        assert {each.quantity: each.value for each in machine.readings} == wanted
        assert not machine.doubts


def test_a_code_is_offered_as_one_line_for_all_of_its_axes() -> None:
    machine = recognise([read("one.nc", b"K20 X200 Y180 Z12 E60 ; gruz vabek, mm/s\n", "command")])
    found = [
        line
        for each in teachable(machine, lengths_of(machine), by_numbers=True)
        for line in each.lines()
        if each.code
    ]
    assert found[0].startswith("# K20.@: {quantity: axis.@.max_speed}    # 200, 180, 12, 60")


def test_a_name_that_says_peak_says_so_of_what_it_is_named_as() -> None:
    text = "gruz_klo_ma_peak = 900\n"
    read_so = said(text, 'meanings: {"gruz_klo_ma_peak": motor.run_current}').readings[0]
    assert read_so.value == pytest.approx(0.6364, abs=1e-4)
    told = said(text, 'meanings: {"gruz_klo_ma_peak": {quantity: motor.run_current, unit: mA rms}}').readings[
        0
    ]
    assert told.value == pytest.approx(0.9)


def test_a_remark_that_calls_a_number_a_share_makes_it_no_amount() -> None:
    text = "#define COIL_HOLD_MILLIAMP_E 50 // percent, of all\n"
    machine = recognise([read("one.h", text.encode(), "header")])
    assert not machine.readings
    assert not any(each.candidates for each in teachable(machine, lengths_of(machine), by_numbers=True))


def test_words_of_one_code_on_several_lines_are_offered_once_with_all_of_their_numbers() -> None:
    machine = recognise([read("one.nc", b"T0\nK22 E50 ; gruz\nT1\nK22 E45 ; gruz\n", "command")])
    found = [each for each in teachable(machine, lengths_of(machine), by_numbers=True) if each.code]
    assert [(each.code, each.text) for each in found] == [("K22.E", "50, 45")]


@pytest.mark.parametrize(
    ("value", "word", "fits", "no"),
    [
        (60.0, "speed", "feeder.max_speed", "motor.sense_resistor"),
        (610.0, "length", "feeder.load_length", "feeder.steps_per_mm"),
        (2500.0, "", "machine.max_acceleration", "feeder.load_length"),
        (96.0, "", "heater.hotend.tuning_d", "nozzle.diameter"),
    ],
)
def test_only_what_fits_the_numbers_size_and_the_names_measure_is_offered(
    value: float, word: str, fits: str, no: str
) -> None:
    each = Numbered("", value, None, "", frozenset({word} - {""}))
    assert can_be(fits, each) and not can_be(no, each)
    assert no not in may_be([each])


@pytest.mark.parametrize(
    ("line", "offered"),
    [
        ("[carriage]\nmass = 385\n", False),
        ("[walls]\nouter speed = 45\n", False),
        ("[feeder]\nquux = 62\n", True),
    ],
)
def test_a_name_that_speaks_of_another_measure_is_offered_nothing_by_its_number(
    line: str, offered: bool
) -> None:
    machine = recognise([read("one.ini", line.encode(), "sectioned")])
    lines = [each.candidates for each in teachable(machine, {}, by_numbers=True)]
    words = [each.meanings for each in word_lessons(machine)]
    assert bool([each for each in (*lines, *words) if each]) is offered


def test_a_sensors_table_is_not_listed_row_by_row() -> None:
    rows = "".join(f"at-{20 * each} = {9000 - each}\n" for each in range(9))
    machine = recognise([read("one.ini", f"[nozzle one]\n{rows}".encode(), "sectioned")])
    assert not teachable(machine, {}, by_numbers=True)
