"""A line that may be a retraction is found beside the one that is read; one that is read, or is another thing, is none."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.asked_beside import asked_beside


@pytest.mark.parametrize(
    ("text", "beside"),
    [
        ("[retraction]\nlength = 5\nlength pla = 5.6\n", {"retraction.length": "tern:3"}),
        ("[retraction]\nlength = 5\n[end]\nretract = 4\n", {"retraction.length": "tern:4"}),
        ("[retraction]\nlength = 5\n[retraction 2]\nlength = 60\n", {"retraction.length": "tern:4"}),
        ("[retraction]\nlength = 5\nspeed = 40 mm/s\n", {}),
        ("[retraction]\nlength = 5\n[driver]\ndelay = 0.5\n", {}),
    ],
)
def test_a_question_beside_the_retraction_is_found(text: str, beside: dict[str, str]) -> None:
    assert asked_beside(recognise([read("tern", text.encode(), "sectioned")])) == beside


def test_a_row_that_may_have_the_drive_s_steps_is_found_beside_the_ones_that_are_read() -> None:
    text = "M92 X64 Y64 Z512 E88\nwick ticks/mm .... x 64 y 64 z 512 feed 91\n"
    assert asked_beside(recognise([read("tern", text.encode(), "command")])) == {
        "feeder.steps_per_mm": "tern:2"
    }


def test_lines_of_which_nobody_knows_whose_each_is_are_found_beside_the_one_that_is_read() -> None:
    texts = (
        ("tern.conf", "[retraction]\nlength = 5.2\n", "sectioned"),
        ("tern.nc", "; B74 retraction length (L), mm\nB74 P0 L5.2\nB74 P1 L4.7\n", "command"),
    )
    machine = recognise([read(path, text.encode(), dialect) for path, text, dialect in texts])
    assert asked_beside(machine) == {"retraction.length": "tern.nc:2"}


LIST_BESIDE = """\
#define COG_MM 10.6
#define DRIVE_PULSES_PER_MM (3200 / (COG_MM * 3.14159))
#define STEPS_PER_MM { 80, 80, 400, 96.1 }
"""


def test_a_formula_that_no_change_moves_is_found_beside_the_number_that_is_read() -> None:
    machine = recognise([read("tern.h", LIST_BESIDE.encode(), "header")])
    assert [each.place.line for each in machine.every_reading if each.quantity == "feeder.steps_per_mm"] == [
        3
    ]
    assert asked_beside(machine) == {"feeder.steps_per_mm": "tern.h:2"}


HEIGHTS = "#define FEED_STEPS_PER_MM 93\n#define Z_MAX_MM 250\n#define PRINT_HEIGHT 250\n"


def test_the_highest_z_that_is_lowered_in_one_line_leaves_its_light_unknown_where_another_says_it_too(
    tmp_path: Path,
) -> None:
    (tmp_path / "tern.h").write_text(HEIGHTS)
    (tmp_path / "sheet.yaml").write_text("new: {drive: on the carriage}\nclearance: {highest_z: 200 mm}\n")
    plan = api.prepare([tmp_path / "tern.h"], tmp_path / "sheet.yaml", out=tmp_path / "packet").plan
    (light,) = (each for each in plan.lights if each.light == "height")
    assert light.state == "unknown"
    assert "tern.h:3" in light.why
