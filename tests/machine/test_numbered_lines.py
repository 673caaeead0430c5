"""A script whose lines are numbered settings is one script: its modes hold from line to line, and its moves are checked."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise

TEXTS = {
    "sectioned": "[stand aside]\n1 = G91\n2 = G1 E-6.4 F2400\n3 = G90\n4 = G1 X216 Y190 F7200\n",
    "nested": '{"stand aside": {"1": "G91", "2": "G1 E-6.4 F2400", "3": "G90", "4": "G1 X216 Y190 F7200"}}\n',
}
FRAME = (
    "[x]\nfrom = -6\nto = 218\n[y]\nfrom = 0\nto = 206\n[z]\nto = 240\n[filament drive]\nsteps per mm = 96\n"
)
SHEET = """\
old: {drive: tube-fed}
new: {drive: on the carriage, steps_per_mm: 410 1/mm, microsteps: 16}
carriage: {nozzle_shift: {x: -3 mm, y: 0 mm, z: 0 mm}}
clearance: {less_at_high_x: 9 mm}
"""


@pytest.mark.parametrize("dialect", TEXTS)
def test_numbered_lines_of_codes_are_one_script(dialect: str) -> None:
    machine = recognise([read("one.txt", TEXTS[dialect].encode(), dialect)])
    (reading,) = machine.readings
    assert reading.quantity.startswith("script.")
    assert reading.text.count("G1 ") == 2 and not machine.unread


@pytest.mark.parametrize(
    "text",
    [
        "[table]\n1 = 200\n2 = 205\n",
        "[aside]\n1 = G91\n",
        "[tools]\n1 = T0\nname = left\n2 = T1\n",
        "[a]\n2 = G90\n1 = G91\n",
    ],
)
def test_rows_of_numbers_lone_lines_and_numbers_that_do_not_grow_are_none(text: str) -> None:
    assert not recognise([read("one.txt", text.encode(), "sectioned")]).readings


def test_a_move_of_such_a_line_beyond_a_new_limit_is_mended_where_a_line_before_says_the_mode(
    tmp_path: Path,
) -> None:
    """218 - 9 - 3 = 206."""
    (tmp_path / "tern").mkdir()
    (tmp_path / "tern" / "frame.conf").write_text(FRAME + TEXTS["sectioned"])
    (tmp_path / "swap.yaml").write_text(SHEET)
    packet = api.prepare(tmp_path / "tern", tmp_path / "swap.yaml", out=tmp_path / "packet")
    edits = {edit.line: (edit.old, edit.new) for change in packet.plan.changes for edit in change.edits}
    assert edits[15] == ("216", "206")
    assert "4 = G1 X206 Y190 F7200" in packet.after["frame.conf"].decode()
    assert api.verify(packet.folder) == ()
