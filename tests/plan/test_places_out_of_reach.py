"""A place over the bed that lies beyond an end which came nearer is told with its line, whatever its name and its form."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.plan.lines_left import LINES_LEFT

FRAME = """\
[axis x]
lowest = 0
highest = 262
[probe]
offset x = -30
"""
LESS = "new: {drive: on the carriage}\nclearance: {highest_x: 250 mm}\n"
STOPPED = FRAME.replace("[probe]", "end stop position = 262\n[probe]")
SHIFTED = "new: {drive: on the carriage}\ncarriage: {nozzle_shift: {x: -9 mm, y: 0 mm}}\n"


def told(folder: Path, lines: str, frame: str = FRAME, sheet: str = LESS) -> dict[int, str]:
    (folder / "hen.conf").write_text(frame + lines)
    (folder / "sheet.yaml").write_text(sheet)
    plan = api.prepare([folder / "hen.conf"], folder / "sheet.yaml", out=folder / "packet").plan
    steps = [step for each in plan.by_hand if each.rule == LINES_LEFT for step in each.steps]
    found = {int(step.split(":")[1]): step for step in steps if "beyond the " in step}
    first = frame.count("\n")
    return {line - first: step for line, step in found.items()}


HALF_DONE = """\
[park]
x = 262
[feeder]
max_feed_speed = 60
[filament sensor]
distance = 730
"""


def test_an_end_that_is_not_written_for_a_value_of_the_new_drive_beside_it_leaves_its_places_named(
    tmp_path: Path,
) -> None:
    sheet = "new: {drive: on the carriage, filament_behind_sensor: 730 mm, recommended_feed_speed: 40 mm/s}\nclearance: {less_at_high_x: 12 mm}\n"
    (tmp_path / "hen.conf").write_text(
        f"{FRAME}{HALF_DONE}[where the plate is fixed]\nfar right = 258, 230\n"
    )
    (tmp_path / "end.nc").write_text("G28\nG90\nG1 X262 F6000\n")
    (tmp_path / "sheet.yaml").write_text(sheet)
    plan = api.work_out([tmp_path], tmp_path / "sheet.yaml").plan
    assert "axis.x.max" not in {each.quantity for each in plan.changes}
    steps = [step for each in plan.by_hand if each.rule == LINES_LEFT for step in each.steps]
    assert any("hen.conf:7" in step for step in steps) and any("hen.conf:13" in step for step in steps)
    assert any(each.place.file.endswith("end.nc") for each in plan.doubts)


LINES = """\
[where the plate is fixed]
near left = 8, 8
far right = 258, 230
near right = [ 258.5 , 12 ]
[corner places]
all of them = 8 8, 258 8, 258 230
two = 8 240, 12 250
beyond it before = 300, 8
[dipping]
dip points = 8,8; 226,8; 8,215
[lamp]
of rows = 258, 9
knob pin = 258, 9
"""


def test_the_lines_of_such_places_are_told_and_no_others(tmp_path: Path) -> None:
    found = told(tmp_path, LINES)
    assert found.keys() == {3, 4, 6, 10}
    assert "the tip goes to 256 mm for it" in found[10]


SIDES = """\
[devices]
lamp photo left right = 259
brush right = 258
scraper = 258
brush passes = 258
lamp front back = 258
lamp brightness = 258
shaking left right = 258
"""


def test_a_place_may_be_called_by_the_sides_or_by_a_thing_that_the_carriage_goes_to(tmp_path: Path) -> None:
    assert told(tmp_path, SIDES).keys() == {2, 3, 4}


def test_where_the_probe_sits_farther_off_it_reaches_less_though_no_end_came_nearer(tmp_path: Path) -> None:
    sheet = "new: {drive: on the carriage}\ncarriage: {nozzle_shift: {x: 0 mm}, probe_shift: {x: -15 mm}}\n"
    found = told(
        tmp_path,
        "[levelling]\npoints = 8,8; 226,8\n[where the plate is fixed]\nnear right = 263, 9\nprobe at = 200, 9\n",
        sheet=sheet,
    )
    assert found.keys() == {2}
    assert "the tip goes to 271 mm for it, beyond the X maximum of 262" in found[2]


def test_a_place_along_an_axis_by_its_owner_s_word_for_it_is_told(tmp_path: Path) -> None:
    frame = f"# across = x, along = y, up = z\n\n{FRAME}"
    assert told(tmp_path, "[where the plate is fixed]\nzumklo = 258\nacross = 258\n", frame).keys() == {3}


@pytest.mark.parametrize(("place", "beyond"), [("258, 12", True), ("240, 12", False)])
def test_an_end_that_is_set_by_hand_counts_as_well(tmp_path: Path, place: str, beyond: bool) -> None:
    found = told(tmp_path, f"[where the plate is fixed]\nnear right = {place}\n", STOPPED, SHIFTED)
    assert [("once its end stop is set by hand" in step) for step in found.values()] == [True] * beyond


def test_a_side_to_which_something_goes_is_a_place_also_where_a_person_says_ignore(tmp_path: Path) -> None:
    lines = "[swap]\nat_left = 258\nat_front = 258\n[service]\nto_up = 258\nleft = 258\n"
    assert told(tmp_path, lines).keys() == {2}
    (tmp_path / "cfgmigrate.yaml").write_text('site: 1\nmeanings: {"[swap] at_left": ignore}\n')
    (tmp_path / "packet").rename(tmp_path / "before")
    assert told(tmp_path, lines).keys() == {2}


UP = FRAME + "[axis z]\nlowest = 0\nhighest = 318\n"
LOWER = LESS.replace("250 mm", "250 mm, highest_z: 290 mm, keep_clear: 1 mm")
WAITING = """\
[park]
end = 315
aside = 240
height = 316 mm
[area]
across = 0..262
up = 318
deep = 0..262
[motor]
end = 315
"""


def test_where_the_carriage_waits_may_be_along_any_axis_and_a_direction_says_which(tmp_path: Path) -> None:
    found = told(tmp_path, WAITING, UP, LOWER)
    assert {line: step.split("beyond the new ")[1][0] for line, step in found.items()} == {
        2: "Z",
        4: "Z",
        6: "X",
        7: "Z",
    }
    plan = api.prepare([tmp_path / "hen.conf"], tmp_path / "sheet.yaml", out=tmp_path / "again").plan
    assert not [each for each in plan.doubts if each.place.line == UP.count("\n") + 7]


def test_of_two_such_places_on_one_line_both_are_told(tmp_path: Path) -> None:
    ends = "axis:\n  x: {lowest: 0, highest: 262}\n  z: {lowest: 0, highest: 318}\n"
    (tmp_path / "cfgmigrate.yaml").write_text("site: 1\ndialects: {hen.conf: nested}\n")
    (step,) = told(tmp_path, "area: { across: [0, 262], up: [0, 318] }\n", ends, LOWER).values()
    assert "X maximum" in step and "Z maximum" in step


def test_a_height_is_a_place_of_z_but_for_that_of_a_layer_or_a_picture(tmp_path: Path) -> None:
    lines = "safe height = 240\ntravel height = 245\nlayer height most = 239\npicture height = 240\nlifted height = 300\ntallest print = 248\n"
    frame = "[z]\nmax = 252\n[bed]\n"
    assert set(
        told(tmp_path, lines, frame, "new: {drive: on the carriage}\nclearance: {highest_z: 238 mm}\n")
    ) == {1, 2, 6}


@pytest.mark.parametrize(("line", "places"), [("x switch rest = 1", 0), ("x switch rest = 2", 1)])
def test_how_a_switch_stands_is_no_place(tmp_path: Path, line: str, places: int) -> None:
    low = "new: {drive: on the carriage}\ncarriage: {nozzle_shift: {x: 2.5 mm, y: 0 mm}}\n"
    assert len(told(tmp_path, f"[end switches]\n{line}\n", sheet=low)) == places


@pytest.mark.parametrize(
    ("line", "named"),
    [
        ("points x = 3", False),
        ("X addr = 1", False),
        ("X hyst end = 2", False),
        ("point x = 3", True),
        ("screw points x = 2.5", True),
    ],
)
def test_how_many_points_there_are_and_what_a_chip_has_are_no_places(
    tmp_path: Path, line: str, named: bool
) -> None:
    sheet = "new: {drive: on the carriage}\nclearance: {lowest_x: 8 mm}\n"
    assert bool(told(tmp_path, f"[levelling]\n{line}\n", sheet=sheet)) is named


AREA = '#define ROLL "PLA birch"\n#define ROLL_DENSITY 1.24\n#define HOT_FIRST 212\n#define PULL_LEN 5.8\n#define AREA_X {{ -5, {} }}\n'


@pytest.mark.parametrize(
    ("remark", "high", "beyond"),
    [("", 222, True), ("/* switch at the right */", 222, True), ("/* switch at the right */", 210, False)],
)
def test_an_end_of_travel_of_a_profile_is_written_or_named(
    remark: str, high: int, beyond: bool, tmp_path: Path
) -> None:
    """Where the machine's own end goes by hand, that of a profile is told with its line; one that lies within the new end is not."""
    wren = tmp_path / "wren"
    (wren / "profiles").mkdir(parents=True)
    (wren / "wren.h").write_text(
        f"#define X_HOME_AT 223.0 {remark}\n#define X_MIN -9.0\n#define X_MAX 223.0\n#define Y_MIN -12.0\n#define Y_MAX 224.0\n"
        "#define STEPS_X 80.0\n#define PULL_LEN 6.0\n"
    )
    (wren / "profiles" / "pla_birch.h").write_text(AREA.format(high))
    (tmp_path / "sheet.yaml").write_text(
        "new: {drive: on the carriage}\ncarriage: {nozzle_shift: {x: -6 mm, y: 0 mm, z: 0 mm}}\n"
        "clearance: {less_at_low_x: 0 mm, less_at_high_x: 0 mm, less_at_low_y: 0 mm, less_at_high_y: 0 mm}\n"
    )
    plan = api.work_out([wren], tmp_path / "sheet.yaml").plan
    written = any(
        edit.file.endswith("birch.h") and edit.line == 5 for each in plan.changes for edit in each.edits
    )
    steps = [step for each in plan.by_hand for step in each.steps if "pla_birch.h:5" in step]
    assert written + bool(steps) == beyond
