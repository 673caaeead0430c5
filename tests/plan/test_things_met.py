"""A tip that sits higher or lower than before meets its brush elsewhere: that is said, with the lines that go there."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.things_met import THINGS_BESIDE, THINGS_MET, things_met
from cfgmigrate.sheet.reader import parse_sheet

FILE = """\
[axis x]
low end = 0
high end = 240
[feeder]
steps per mm = 97.3
[script park]
lines =
    G90
    G1 X236 Y120 F7800 ; {thing} on the post
    G1 X222 F7800
    G1 X236 F7800
[script start]
lines =
    ; prime at the lip of the bed
    G90
    G1 X12 Y-3 F7800
"""
SHEET = """\
old: {{drive: tube-fed}}
new: {{drive: on the carriage, steps_per_mm: 512 1/mm}}
carriage: {{nozzle_shift: {{x: 0 mm, y: 0 mm, z: {z} mm}}}}
"""


def told(folder: Path, z: str, thing: str = "brush", text: str = FILE):
    (folder / "config").mkdir()
    (folder / "config" / "machine.conf").write_text(text.format(thing=thing))
    (folder / "swap.yaml").write_text(SHEET.format(z=z))
    plan = api.prepare(folder / "config", folder / "swap.yaml", out=folder / "packet").plan
    return [item for item in plan.by_hand if item.rule == THINGS_MET]


@pytest.mark.parametrize(("z", "what"), [("-4.5", "4.5 mm lower"), ("3", "3 mm higher")])
def test_what_the_tip_meets_is_to_be_set_by_as_much_as_the_tip_has_moved(
    tmp_path: Path, z: str, what: str
) -> None:
    (item,) = told(tmp_path, z)
    assert f"set {what} only where" in item.what and "the brush: it stays where" in item.what
    (line,) = item.steps
    assert line.startswith("machine.conf:9: G1 X236 Y120 F7800") and line.endswith("(the brush)")


def test_a_script_that_goes_to_a_height_for_it_speaks_for_leaving_it(tmp_path: Path) -> None:
    """z counts from the tip: at z = 1 mm the new tip stands where the old one did."""
    lines = FILE.replace("    G90\n    G1 X236", "    G90\n    G1 Z1\n    G1 X236", 1)
    (item,) = told(tmp_path, "-4.5", text=lines)
    (line,) = item.steps
    assert "z = 1 mm for it, which speaks for leaving it" in line


@pytest.mark.parametrize(("z", "thing"), [("0", "brush"), ("-0.2", "brush"), ("-4.5", "mark")])
def test_a_tip_that_kept_its_height_or_meets_nothing_asks_for_nothing(
    tmp_path: Path, z: str, thing: str
) -> None:
    assert not told(tmp_path, z, thing)


PAD = """\
[axis x]
low end = -4
high end = 240
[feeder]
steps per mm = 97.3
# the rubber pad, screwed on the frame
[script wipe]
lines =
    G90
    G1 X-3 F7800
    G1 X14 F3000
"""


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("machine_kind: moving bed\n", True),
        ("machine_kind: moving head\n", False),
        ("", True),
        ("one_nozzle: no, ", False),  # the other tips are where they were
    ],
)
def test_what_stands_on_the_frame_is_met_beside_its_place_where_the_bed_goes_in_y(
    said: str, told: bool
) -> None:
    sheet = SHEET.format(z=0).replace("y: 0 mm", "y: -3 mm")
    one = said.startswith("one_nozzle")
    sheet = sheet.replace("carriage: {", "carriage: {" + said) if one else said + sheet
    machine = recognise([read("machine.conf", PAD.encode())])
    found = things_met(machine, parse_sheet(sheet.encode(), "swap.yaml"))
    assert [item.rule for item in found] == [THINGS_BESIDE] * told
    for item in found:
        assert "the rubber pad is fixed to the frame, set it 3 mm further towards lower y" in item.what
        assert item.steps == ("machine.conf:10: G1 X-3 F7800 (the rubber pad)",)
