"""What a file says that its own words stand for: tags, letters before axes, remarks behind headings, initials, corners."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine import explained
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise


def machine(text: str, dialect: str = "flat") -> Machine:
    return recognise([read("twite", text.encode(), dialect)])


def values(text: str, dialect: str = "flat") -> dict[str, float | None]:
    return {reading.quantity: reading.value for reading in machine(text, dialect).readings}


TAGGED = """\
/* Parts: K1 axes   K2 feeder   K3 probe   K7 gadgets
 * Currents are r.m.s. */
#define K1_PULSES_PER_MM      { 84, 84, 420 }
#define K1_TOP_SPEED_MM_PER_S { 180, 170, 8 }
#define K2_TOP_SPEED_MM_PER_S 45
#define K2_RUN_CURRENT_MA     620
#define K3_OFFSET_X_MM        -12
#define K7_TOP_SPEED_MM_PER_S 30
"""


def test_a_tag_that_the_file_explains_is_the_part_that_it_marks() -> None:
    found = machine(TAGGED, "header")
    assert {r.quantity: r.value for r in found.readings} == {
        "axis.x.steps_per_mm": 84,
        "axis.y.steps_per_mm": 84,
        "axis.z.steps_per_mm": 420,
        "axis.x.max_speed": 180,
        "axis.y.max_speed": 170,
        "axis.z.max_speed": 8,
        "feeder.max_speed": 45,
        "motor.run_current": 0.62,
        "probe.offset_x": -12,
    }
    assert all(r.editable for r in found.readings) and not found.doubts


def test_tags_that_nothing_explains_are_read_as_nothing() -> None:
    assert not values(
        TAGGED.replace("K1 axes   K2 feeder   K3 probe   K7 gadgets", "see the drawing"), "header"
    )


def test_two_tags_are_no_legend() -> None:
    """`M8 bolt, M3 nut` is a remark about screws."""
    assert not values(TAGGED.replace("   K3 probe", ""), "header")


def marked(letter: str, names: dict[str, object]) -> str:
    return "".join(
        f"#define {letter}{axis}_{name} {value}\n" for axis in "XYZE" for name, value in names.items()
    )


STEPPERS = {"PULSES_MM": 84, "MICROSTEPS": 16, "RUN_CURRENT_MA_RMS": 600, "MAX_SPEED_MM_S": 60}


def test_a_letter_before_all_axes_and_the_feeder_is_no_word_of_any() -> None:
    found = machine(marked("D", STEPPERS), "header")
    assert {r.value for r in found.readings if r.quantity.endswith("steps_per_mm")} == {84}
    assert len(found.readings) == 4 * len(STEPPERS) and all(r.editable for r in found.readings)


@pytest.mark.parametrize("letter", ["V", "A", "I"])
def test_the_symbol_of_a_measure_is_no_mark(letter: str) -> None:
    """`VX_MAX` is a speed and no position."""
    found = values(marked(letter, {"MAX": 200, "MIN": 2, "FIRST": 20}), "header")
    assert not {"axis.x.max", "axis.x.min"} & found.keys()


def test_a_letter_before_two_names_only_is_no_mark() -> None:
    assert not values(marked("D", dict(list(STEPPERS.items())[:2])).replace("DZ", "QZ"), "header")


def test_an_offset_at_the_end_of_a_name_stays_one() -> None:
    assert values("#define PROBE_DX 12\n#define PROBE_DY -3\n", "header") == {
        "probe.offset_x": 12,
        "probe.offset_y": -3,
    }


SIDES = """\
[along]   # x, to the right
lowest: 0
highest: 231
pulses per mm: 84
[away]    # y
lowest: -3
highest: 222
[resting place]
along: 5
away: 200
"""


def test_a_remark_behind_a_heading_says_which_axis_it_is_of() -> None:
    assert values(SIDES, "sectioned") == {
        "axis.x.min": 0,
        "axis.x.max": 231,
        "axis.x.steps_per_mm": 84,
        "axis.y.min": -3,
        "axis.y.max": 222,
        "park.x": 5,
        "park.y": 200,
    }


def test_headings_of_one_and_the_same_axis_name_none() -> None:
    """Two sections about z are not both the axis."""
    text = SIDES.replace("# x, to the right", "# z, the screws").replace("# y", "# z")
    assert not {q for q in values(text, "sectioned") if q.startswith("axis.")}


LEGEND = "# The beam = X   tray = Y   hauler = the motor that feeds the wire\n"
PARTS = "[beam]\nmicrosteps: 32\n[tray]\nmicrosteps: 8\n[hauler]\nmicrosteps: 64\n"


def test_the_opening_remark_says_which_sections_are_axes_and_which_the_filament_drive() -> None:
    wanted = {"axis.x.microsteps": 32, "axis.y.microsteps": 8, "feeder.microsteps": 64}
    assert values(LEGEND + PARTS, "sectioned") == wanted


@pytest.mark.parametrize("said", ["tray = X", "stool = Y"])
def test_names_of_one_axis_twice_or_of_no_section_say_nothing(said: str) -> None:
    assert "axis.x.microsteps" not in values(LEGEND.replace("tray = Y", said) + PARTS, "sectioned")


def test_initials_of_a_heading_stand_for_its_words() -> None:
    text = "# melt lag\nml.k=0.4\nml.smooth=0.05\n"
    assert values(text) == {"lag.coefficient": 0.4, "lag.averaging": 0.05}
    assert not values(text.replace("melt lag", "mill lamp"))
    assert not values(text.replace("# melt lag\n", ""))


def test_initials_and_the_last_word_of_a_drawn_heading_stand_for_its_words() -> None:
    text = "/* --- cord pusher, over the door --- */\n#define CPUSHER_TOP_SPEED 45\n"
    assert values(text, "header") == {"feeder.max_speed": 45}
    assert not values(text.replace("cord pusher", "cooling pusher"), "header")
    other = "/* --- cabbage pusher --- */\n#define {}_TOP_SPEED 20\n"
    assert values(text + other.format("TROLLEY"), "header") == {"feeder.max_speed": 45}
    assert not values(text + other.format("CPUSHER"), "header")


def test_numbers_behind_the_axes_of_a_grid_are_its_corners() -> None:
    expected = {"mesh.from_x": 12, "mesh.from_y": 14, "mesh.to_x": 210, "mesh.to_y": 200}
    for low, high in (("0", "1"), ("1", "2")):
        text = f"grid.x{low}=12\ngrid.y{low}=14\ngrid.x{high}=210\ngrid.y{high}=200\n"
        assert values(text) == expected
    assert not values("grid.x1=12\ngrid.y1=14\n")
    assert not {"mesh.from_x", "axis.x.min"} & values("lamp.x0=12\nlamp.x1=210\n").keys()


def test_minutes_behind_a_time_are_minutes() -> None:
    for key in ("MOTORS_OFF_AFTER_MIN", "MOTORS_OFF_AFTER_MINUTES"):
        assert values(f"#define {key} 20\n", "header") == {"machine.idle_time": 1200}


def test_rms_may_have_dots() -> None:
    (reading,) = machine("# currents in mA, r.m.s.\n[feeder]\nrun current = 700\n", "sectioned").readings
    assert reading.value == pytest.approx(0.7)
    assert not machine("# currents in mA, r.m.s.\n[feeder]\nrun current = 700\n", "sectioned").doubts


@pytest.mark.parametrize(
    ("first", "keys", "both"),
    [
        ("feeda feedb", "speed accel lag", True),
        ("feeda feedb", "speed accel", False),
        ("ea eb", "speed accel lag", False),
        ("feedc feedd", "speed accel lag", False),
        ("zuma zumb", "speed accel lag", False),
    ],
)
def test_a_letter_joined_to_a_word_of_the_feed_path_is_a_feeder_s_where_three_names_stand_behind_both(
    first: str, keys: str, both: bool
) -> None:
    paths = [("feeda",), *((one, key) for one in first.split() for key in keys.split())]
    assert explained._sides(paths) == (
        {"feeda": ("feed", "left"), "feedb": ("feed", "right")} if both else {}
    )
