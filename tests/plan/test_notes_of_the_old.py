"""What a file only notes of the old drive is told by hand, with the line and what is so now."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.plan.lines_left import LINES_LEFT
from cfgmigrate.plan.notes_of_the_old import _is_voltage

CODES = """\
; what the codes of this machine mean
;   H11 pulses for one mm               H12 top speed mm/s
;   H31 way of the filament: U hose, V grip to nozzle, mm
;   H33 masses in gram: R carriage, S beam with carriage
;   H35 lamp: U brightness, V colour
;   H37 spare hose: U metres
H11 X63 Y71 Z512 E121.5
H12 X210 Y190 Z11 E55
H31 U455 V548                         ; cut in May
H33 R265 S1010
H35 U455 V540
H37 U45
"""
NAMED = """\
feeder steps per mm = 121.5
hose length = 455
way from grip to nozzle = 548
hose inner diameter = 21
carriage grams = 265
"""
SHEET = """\
old: {drive: tube-fed, path_length: 548 mm}
new: {drive: on the carriage, steps_per_mm: 507 1/mm, path_length: 63 mm}
carriage: {old_mass: 265 g, new_mass: 431 g}
"""


def told(folder: Path, name: str, text: str, sheet: str = SHEET) -> tuple[dict[int, str], list[int]]:
    """Why each line is pointed at by hand, and the lines that are asked about."""
    (folder / "config").mkdir()
    (folder / "config" / name).write_text(text)
    (folder / "swap.yaml").write_text(sheet)
    plan = api.prepare(folder / "config", folder / "swap.yaml", out=folder / "packet").plan
    steps = [step for item in plan.by_hand if item.rule == LINES_LEFT for step in item.steps]
    lines = {int(step.split(":")[1]): step.partition(": ")[2] for step in steps}
    return lines, [doubt.place.line for doubt in plan.doubts]


def test_a_legend_tells_what_the_words_of_its_codes_note(tmp_path: Path) -> None:
    """265 + 431 - 265 = 431, and 1010 + 166 = 1176."""
    lines, _ = told(tmp_path, "start.nc", CODES)
    assert lines[9].startswith("H31 U455 V548") and "from bite to tip it is 63 mm now" in lines[9]
    assert "431 for 265 with the new one, 1176 for 1010 with the new one" in lines[10]
    assert not {11, 12} & lines.keys()


def test_a_name_tells_it_alike_and_is_no_question(tmp_path: Path) -> None:
    lines, asked = told(tmp_path, "start.conf", NAMED)
    assert "from bite to tip it is 63 mm now" in lines[2] and 3 not in lines
    assert "431 for 265 with the new one" in lines[5]
    assert not {2, 3, 5} & set(asked) and 4 not in lines


def test_what_a_remark_says_of_one_key_is_told_of_the_others_that_are_called_so(tmp_path: Path) -> None:
    """Of the one without a remark and of those below the name too; a remark of which not every word is known tells nothing."""
    text = (
        NAMED
        + "gush_ms = 380 ; lag of pressure\nknack = 9 ; wobbly lag\n[soft]\ngush_ms = 940\n[soft.gush_ms]\nwren = 910\n"
    )
    lines, asked = told(tmp_path, "start.conf", text)
    assert all("lag coefficient with the old drive" in lines[at] for at in (9, 11))
    assert 6 in asked and 7 not in lines


def test_without_the_masses_the_note_is_told_all_the_same(tmp_path: Path) -> None:
    lines, _ = told(tmp_path, "start.conf", NAMED, SHEET.partition("carriage:")[0])
    assert "the sheet asks for old and new" in lines[5]


def test_what_a_legend_says_of_a_limit_names_its_line(tmp_path: Path) -> None:
    """The tip gets less far to the front; nothing reads the limits, and the legend says which code they may be."""
    codes = CODES.replace(
        "H35 lamp", "H40 nearest the tip gets, lowest place       H41 loudness of the chime\n;   H35 lamp"
    )
    sheet = f"{SHEET}clearance: {{less_at_low_y: 9 mm}}\n"
    (tmp_path / "config").mkdir()
    (tmp_path / "config" / "start.nc").write_text(f"{codes}H40 X-4 Y-11\nH41 X3\n")
    (tmp_path / "swap.yaml").write_text(sheet)
    plan = api.prepare(tmp_path / "config", tmp_path / "swap.yaml", out=tmp_path / "packet").plan
    (item,) = [item for item in plan.by_hand if item.rule == "axis.y.unread"]
    assert any("[H40] Y = -11" in step for step in item.steps)
    assert not any("H41" in step for step in item.steps)


def test_a_figure_of_the_drive_with_the_tube_is_told_and_is_no_length(tmp_path: Path) -> None:
    text = NAMED + "[tube drive]\nsteps per mm = 97.5\nteeth = 48\nweight g = 310\nmost = 400\n"
    steps, _ = told(tmp_path, "m.conf", text)
    assert "by its name, and not understood" in steps[7] and "now" not in steps[7]
    assert "length of the filament's way" not in steps.get(8, "") + steps.get(9, "")


def test_where_the_old_wheel_gripped_and_that_it_had_no_gear_stand_beside_the_new_figures(
    tmp_path: Path,
) -> None:
    text = "[feeder]\nsteps per mm = 97.4\nroller = 10.45\ngear = none\nidler roller = 12\nwheel age = 9\n"
    sheet = SHEET.replace(
        "steps_per_mm: 507 1/mm", 'drive_gear: {effective_diameter: 8.2 mm, gear_ratio: "48:12"}'
    )
    lines, _ = told(tmp_path, "main.conf", text, sheet)
    assert "gripped" in lines[3] and "8.2 mm" in lines[3]
    assert "no gear" in lines[4] and "has 4" in lines[4]
    assert not lines.keys() & {5, 6}


@pytest.mark.parametrize(("word", "noted"), [("driver", True), ("logic", False), ("sensor", False)])
def test_a_voltage_that_the_feeder_s_parts_are_supplied_with_is_none_of_its_screw(
    word: str, noted: bool
) -> None:
    assert _is_voltage(frozenset(("feeder", word, "voltage")), re.match(r"(\d\.\d)", "3.3")) is noted
