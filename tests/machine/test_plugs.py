"""A line that is named by the plug of the feeder's motor is told of as the feeder's, in the measure that its file states."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.perhaps import perhaps
from cfgmigrate.machine.plugs import named_by_plug
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.teach import teachable

SECTIONS = "[x axis]\nmotor plug = M1\nsteps one mm = 80\n[filament drive]\nmotor plug = {plug}\nsteps one mm = 93.4\n"
HEAD = "/* motor currents in mA, PEAK. {told} */\n"
LINES = "#define M1_MA 1270\n#define M5_MA 1700\n#define M5_HOT_WARN_C 100\n"


def current_lines(header: str, sections: str) -> list[tuple[str, str]]:
    machine = recognise(
        [read("board.h", header.encode(), "header"), read("machine.txt", sections.encode(), "sectioned")]
    )
    assert not any(each.quantity == "motor.run_current" for each in machine.readings)
    return [
        (each.unread.text, each.unit) for each in perhaps(machine) if each.quantity == "motor.run_current"
    ]


@pytest.mark.parametrize(
    ("told", "plug", "found"),
    [
        ("M5 the filament", "M5", True),
        ("M5 the filament", "here", True),
        ("M5 the extruder", "here", True),
        ("as the motors' sheets have it", "M5", True),
        ("as the motors' sheets have it", "here", False),
        ("M5 Y", "M5", False),
    ],
)
def test_a_plug_is_the_feeders_by_a_remark_or_by_the_feeders_own_section(
    told: str, plug: str, found: bool
) -> None:
    lines = current_lines(HEAD.format(told=told) + LINES, SECTIONS.format(plug=plug))
    assert lines == ([("M5_MA = 1700", "mA peak")] if found else [])


def test_a_plug_of_the_filament_s_sensor_is_no_motors() -> None:
    sections = "[filament drive]\nsensor plug = M5\nsteps one mm = 93.4\n"
    assert not current_lines("/* mA */\n" + LINES, sections)


def test_the_line_offered_for_the_site_file_says_rms_or_peak_as_the_file_does() -> None:
    machine = recognise(
        [
            read("board.h", (HEAD.format(told="M5 the filament") + LINES).encode(), "header"),
            read("machine.txt", SECTIONS.format(plug="M5").encode(), "sectioned"),
        ]
    )
    for by_numbers in (False, True):
        (line,) = (each for each in teachable(machine, {}, by_numbers) if each.perhaps == "motor.run_current")
        assert line.meaning == '"M5_MA": {quantity: motor.run_current, unit: mA peak}'
        assert "M5 for the feeder's motor" in line.why and "mA peak" in line.why


def test_what_a_hand_sets_is_told_in_the_measure_of_the_line() -> None:
    machine = recognise(
        [
            read("board.h", (HEAD.format(told="M5 the filament") + LINES).encode(), "header"),
            read("machine.txt", SECTIONS.format(plug="M5").encode(), "sectioned"),
        ]
    )
    (line,) = named_by_plug(machine)
    assert line.written(0.65) == "919"
