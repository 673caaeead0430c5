"""A length of the filament's way, as the files note it, becomes the new one where the sheet has it, and else is told."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.plan.model import Plan

FILE = """\
[filament drive]
mm per motor turn = 32.5
{line}
[retraction]
length = 6
"""
SHEET = """\
old: {{drive: tube-fed{old}}}
new: {{drive: on the carriage, feed_per_turn: 5.4 mm, path_as_before: no{new}}}
"""


def planned(folder: Path, line: str, old: str = "", new: str = "") -> Plan:
    (folder / "knot").mkdir()
    (folder / "knot" / "knot.conf").write_text(FILE.format(line=line))
    (folder / "swap.yaml").write_text(SHEET.format(old=old, new=new))
    return api.prepare(folder / "knot", folder / "swap.yaml", out=folder / "packet", browsed=False).plan


@pytest.mark.parametrize(
    ("line", "old", "new", "becomes"),
    [
        ("wheel to tip = 585", "", ", path_length: 61 mm", "61"),
        ("wheel to tip = 585", ", path_length: 580 mm", ", path_length: 61 mm", "61"),
        ("tube length = 505", ", tube: {length: 500 mm}", ", tube: {length: 34 mm}", "34"),
    ],
)
def test_a_way_that_the_sheet_has_is_written(
    line: str, old: str, new: str, becomes: str, tmp_path: Path
) -> None:
    edits = {
        edit.line: edit.new for change in planned(tmp_path, line, old, new).changes for edit in change.edits
    }
    assert edits[3] == becomes


@pytest.mark.parametrize(
    ("line", "old", "new"),
    [
        ("wheel to tip = 585", "", ", tube: {length: 34 mm}"),
        ("wheel to tip = 585", ", path_length: 300 mm", ", path_length: 61 mm"),
        ("tube length = 720", ", tube: {length: 500 mm}", ", tube: {length: 34 mm}"),
        ("tube length = 505", "", ", path_length: 61 mm"),
    ],
)
def test_a_way_that_it_has_not_or_has_otherwise_is_told_by_its_line(
    line: str, old: str, new: str, tmp_path: Path
) -> None:
    plan = planned(tmp_path, line, old, new)
    assert 3 not in {edit.line for change in plan.changes for edit in change.edits}
    told = [step for each in plan.by_hand for step in each.steps if "knot.conf:3" in step]
    assert told or [each for each in plan.doubts if each.place.line == 3]


def test_an_old_way_that_the_files_note_need_not_be_measured(tmp_path: Path) -> None:
    """585 + 15 to load is 61 + 15 now."""
    line = "wheel to tip = 585\nload length = 600"
    edits = {
        edit.line: edit.new
        for change in planned(tmp_path, line, "", ", path_length: 61 mm").changes
        for edit in change.edits
    }
    assert edits[4] == "76"
