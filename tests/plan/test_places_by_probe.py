"""A place that was chosen so that the probe stood over a round one is told where the probe's offset changes."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.plan.lines_left import LINES_LEFT

FILE = """\
[axis x]
highest = 240
[axis y]
highest = 240
[probe]
x offset = -27.3
y offset = 11
[z finding]
home over = 147.3, 114
[levelling]
screw one = {}
[lamp]
colours = 120, 125
"""
SHEET = "new: {{drive: on the carriage}}\ncarriage: {{probe_offset: {{x: {} mm, y: {} mm}}, nozzle_shift: {{x: 0 mm, y: 0 mm, z: 0 mm}}}}\n"


def told(folder: Path, x: float, y: float, screw: str = "57.3, 19") -> list[str]:
    (folder / "m").mkdir()
    (folder / "m" / "a.conf").write_text(FILE.format(screw))
    (folder / "s.yaml").write_text(SHEET.format(x, y))
    plan = api.work_out(folder / "m", folder / "s.yaml").plan
    steps = [step for item in plan.by_hand if item.rule == LINES_LEFT for step in item.steps]
    return [step for step in steps if "the probe stood over" in step]


def test_such_places_are_told_with_where_they_have_to_go(tmp_path: Path) -> None:
    # 147.3 - 27.3 = 120, 114 + 11 = 125; 120 - 18.5 = 101.5, 125 + 6 = 131
    home, screw = told(tmp_path, 18.5, -6)
    assert "a.conf:9" in home and "stood over 120, 125" in home and "101.5, 131" in home
    assert "a.conf:11" in screw and "11.5, 36" in screw  # 57.3 - 27.3 = 30, 19 + 11 = 30


@pytest.mark.parametrize(("x", "y", "screw"), [(-27.3, 11, "57.3, 19"), (18.5, -6, "57, 19")])
def test_where_the_offset_stays_or_nothing_comes_to_a_round_place_nothing_is_told(
    tmp_path: Path, x: float, y: float, screw: str
) -> None:
    assert not [step for step in told(tmp_path, x, y, screw) if "a.conf:11" in step]


def steps_of(folder: Path, text: str, moves: str = "") -> list[str]:
    (folder / "m").mkdir()
    (folder / "m" / "a.h").write_text(text)
    if moves:
        (folder / "m" / "b.nc").write_text(moves)
    (folder / "s.yaml").write_text(SHEET.format(18.5, -6))
    plan = api.work_out(folder / "m", folder / "s.yaml").plan
    steps = [step for item in plan.by_hand if item.rule == LINES_LEFT for step in item.steps]
    return [step for step in steps if "the probe stood over" in step]


HEADER = """\
#define X_HIGHEST 240
#define Y_HIGHEST 240
#define PROBE_OFFSET_X {}
#define PROBE_OFFSET_Y {}
"""


def test_two_settings_that_differ_in_their_axis_are_one_place(tmp_path: Path) -> None:
    text = HEADER.format("-27.3", "11") + "#define SEEK_TIP_X 147.3\n#define SEEK_TIP_Y 114\n"
    (step,) = steps_of(tmp_path, text)
    assert "a.h:5" in step and "SEEK_TIP_Y = 114" in step and "101.5, 131" in step


def test_a_move_to_a_place_over_which_the_probe_stood_is_told(tmp_path: Path) -> None:
    moves = "G90\nG28 X Y\nG0 X147.3 Y114 F9000\nG0 X31.3 Y7 F9000\nG0 X33 Y12\nG0 X147.3\nG0 Y114\n"
    (step,) = steps_of(tmp_path, HEADER.format("-27.3", "11"), moves)
    assert "b.nc:3" in step and "101.5, 131" in step


@pytest.mark.parametrize(
    ("remark", "told_lines"),
    [("// so that the probe is over the middle", 1), ("// the lamp shines on it", 0), ("", 0)],
)
def test_an_offset_in_whole_mm_needs_a_word_of_the_probe(
    tmp_path: Path, remark: str, told_lines: int
) -> None:
    text = HEADER.format("26", "-14") + f"#define SEEK_X 84 {remark}\n#define SEEK_Y 124\n"
    assert len(steps_of(tmp_path, text)) == told_lines


def test_what_is_read_as_something_else_is_no_such_place(tmp_path: Path) -> None:
    text = HEADER.format("-27.3", "11") + "#define X_STEPS_PER_MM 147.3\n#define Y_STEPS_PER_MM 114\n"
    assert not steps_of(tmp_path, text)


def test_an_edge_of_the_map_is_as_good_as_a_round_place(tmp_path: Path) -> None:
    text = HEADER.format("-27.3", "11") + "#define MESH_FROM_X 17\n#define MESH_FROM_Y 14\n"
    (step,) = steps_of(tmp_path, text + "#define FIRST_TIP_X 44.3\n#define FIRST_TIP_Y 3\n")
    assert "a.h:7" in step and "stood over 17, 14" in step


@pytest.mark.parametrize(
    ("remark", "told_lines"),
    [("; where the tip goes, not the probe", 3), ("; corners of the lamp", 0)],
)  # fmt: skip
def test_whole_numbers_are_enough_below_a_remark_on_the_probe(
    tmp_path: Path, remark: str, told_lines: int
) -> None:
    moves = f"G90\nG28 X Y\n{remark}\nM71 X44.3 Y3\nM71 X233.3 Y3\nM71 X233.3 Y206\nM72\nM71 X40 Y207\n"
    assert (
        sum(step.count("M71") for step in steps_of(tmp_path, HEADER.format("-27.3", "11"), moves))
        == told_lines
    )


def test_the_offset_may_be_one_that_another_file_wins_over(tmp_path: Path) -> None:
    text = HEADER.format("-28", "12") + "#define PROBE_SEEK_TIP_X 138\n#define PROBE_SEEK_TIP_Y 98\n"
    (tmp_path / "m").mkdir()
    (tmp_path / "m" / "kept.nc").write_text(
        "; values that the board kept, in force, not the header. length mm\n"
        "M80 X-28.3 Y11.8 ; probe offset from the nozzle, mm\nM81 E96.4 ; steps per mm\n"
    )
    (tmp_path / "m" / "a.h").write_text(text)
    (tmp_path / "s.yaml").write_text(
        "new: {drive: on the carriage}\ncarriage: {nozzle_shift: {x: 6 mm, y: -8 mm, z: 0 mm}, probe_shift: {x: 0 mm, y: 0 mm}}\n"
    )
    (tmp_path / "m" / "cfgmigrate.yaml").write_text("site: 1\nroles: {kept.nc: saved values}\n")
    plan = api.work_out(tmp_path / "m", tmp_path / "s.yaml").plan
    steps = [step for item in plan.by_hand if item.rule == LINES_LEFT for step in item.steps]
    (step,) = [each for each in steps if "PROBE_SEEK_TIP_X" in each]
    assert "stood over 110, 110" in step and "144, 90" in step


@pytest.mark.parametrize(
    ("moves", "told_of"),
    [
        ("G28 X Y\nG0 X92 Y132 F9000 ; pin over the middle\nM72\n", True),
        ("G28 X Y\nG0 X92 Y132 F9000\nG28 Z\n", True),
        ("G28 X Y\nG0 X92 Y132 F9000\nG28 X\n", False),
        ("G28 X Y\nG0 X92 Y132 F9000 ; pin 31 off\nM72\n", False),
        ("G28 X Y\nG0 X93 Y132 F9000\nG28 Z\n", False),
    ],
)
def test_whole_numbers_are_enough_where_z_is_homed_next_or_the_probe_is_a_pin(
    tmp_path: Path, moves: str, told_of: bool
) -> None:
    """Found in a made-up folder, where z would have been homed 30 mm beside the middle."""
    steps = steps_of(tmp_path, HEADER.format("28", "-12"), moves)
    assert bool([step for step in steps if "b.nc:2" in step and "stood over 120, 120" in step]) == told_of
