"""The lines that may say where an end stop stands are those of its axis with a place in them."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.end_stop_lines import end_stops


def test_how_a_switch_is_wired_and_another_axis_s_switch_are_no_places_of_it() -> None:
    text = b"#define END_SWITCH_X_LINE 31\n#define END_SWITCH_Y 12\n#define END_SWITCH_X 4\n#define END_SWITCH_PULLED 1\n"
    told = list(end_stops(recognise([read("ladle.h", text, "header")]), "x"))
    assert len(told) == 1 and "ladle.h:3: END_SWITCH_X = 4" in told[0]


def test_where_the_carriage_is_when_the_switch_clicks_is_offered_and_a_pin_or_a_retreat_is_not() -> None:
    """Found in a made-up folder, whose carriage would have been 3 mm off."""
    sections = b"[x axis]\nsteps one mm = 80\ncarriage at switch = -4\nfurthest = 232\nswitch approach = 40\nswitch again = 8\n"
    pins = b"#define STOP_X_IN 60\n#define STOP_Y_IN 61\n"
    machine = recognise([read("machine.txt", sections, "sectioned"), read("board.h", pins, "header")])
    (told,) = end_stops(machine, "x")
    assert "machine.txt:3: [x axis] carriage at switch = -4" in told
    assert '"[x axis] carriage at switch": end_stop.x' in told


def test_a_filament_s_switch_is_no_end_stop_of_an_axis_where_no_limit_tells_the_axis_s_section() -> None:
    text = b"[watcher]\nswitch to nozzle = 640\n\n[x rail]\nend switch = -3\n"
    machine = recognise([read("heron.txt", text, "sectioned")])
    (told,) = end_stops(machine, "x")
    assert "heron.txt:5" in told and not list(end_stops(machine, "y"))


def test_at_which_end_a_switch_is_is_no_place_of_it() -> None:
    """Whoever added a shift to it had a side of 3.5."""
    text = b"#define X_AT_STOP -12.0\n#define X_STOP_SIDE -1\n#define STOP_X_DIR 1\n"
    (told,) = end_stops(recognise([read("ladle.h", text, "header")]), "x")
    assert "ladle.h:1: X_AT_STOP = -12.0" in told


STOPS = b"#define X_AT_STOP -12.0\n#define Y_AT_STOP 312.0\n"


@pytest.mark.parametrize(
    ("line", "axis", "shift", "told_of"),
    [
        (b"#define CHANGE_PARK_Y 308", "y", -6, True),
        (b"#define WIPE_PLACE_Y 311.5", "y", -6, True),
        (b"#define CHANGE_PARK_X -10", "x", 4.5, True),
        (b"#define CHANGE_PARK_Y 305", "y", -6, False),
        (b"#define CHANGE_PARK_Y 320", "y", -6, False),
        (b"#define CHANGE_PARK_Y 308", "y", 6, False),
        (b"#define CHANGE_PARK_X -7", "x", 4.5, False),
        (b"#define MAX_SPEED_Y 308", "y", -6, False),
        (b"#define FAN_Y 308", "y", -6, False),
    ],
)
def test_places_between_an_end_stop_s_old_place_and_its_new_one_are_told(
    line: bytes, axis: str, shift: float, told_of: bool
) -> None:
    machine = recognise([read("ladle.h", STOPS + line + b"\n", "header")])
    past = [each for each in end_stops(machine, axis, shift) if "lie beyond it: ladle.h:3" in each]
    assert len(past) == told_of


def test_moves_of_scripts_that_go_there_are_told_too() -> None:
    moves = read("ladle.nc", b"G90\nG28\nG0 X10 Y308 F9000\nG0 X10 Y302\nM44 Y308\n", "command")
    told = " ".join(end_stops(recognise([read("ladle.h", STOPS, "header"), moves]), "y", -6.0))
    assert "ladle.nc:3" in told and "ladle.nc:4" not in told and "ladle.nc:5" not in told


def test_a_line_with_the_same_number_on_the_same_axis_is_told_and_codes_are_no_section() -> None:
    kept = b"; acceleration, mm/s2\nM31 X5000 Y3200\n; tip over the plate at the switch\nM33 X-12.00 Y312.00\nM34 X-12 Y0\n"
    machine = recognise([read("ladle.h", STOPS, "header"), read("kept.nc", kept, "command")])
    told = " ".join(end_stops(machine, "y"))
    assert "ladle.h:2: Y_AT_STOP = 312.0" in told
    assert "kept.nc:4" in told and "kept.nc:5" not in told


def test_the_place_of_homing_with_a_limit_s_number_may_be_the_end_stop_s() -> None:
    """Found in a made-up folder, where it stood one line above the limit that was written."""
    text = b"#define X_HOME_POS -6\n#define X_LOW -6\n#define X_HIGH 241\n#define Y_HOME_POS 12\n#define X_HOME_PACE 241\n"
    machine = recognise([read("ladle.h", text, "header")])
    (told,) = end_stops(machine, "x")
    assert "ladle.h:1: X_HOME_POS = -6" in told and '"X_HOME_POS": end_stop.x' in told
    assert not list(end_stops(machine, "y"))
