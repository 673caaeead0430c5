"""Lines of files that are no configuration, and that hold an old number, are on the checklist with their place."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.plan.model import Plan
from cfgmigrate.workflow.left_behind import MOST_TOLD_LINES, ChangedWord, _to_have

MACHINE = """\
[axis x]
high end = 210
steps per mm = 84
[feeder]
steps per mm = 97.25
[retraction]
length = 5.5
"""
SHEET = """\
old: {drive: tube-fed, tube: {length: 420 mm}}
new: {drive: on the carriage, steps_per_mm: 426.7 1/mm, microsteps: 16, tube: {length: 40 mm}}
carriage: {nozzle_shift: {x: 0 mm, y: 0 mm, z: 0 mm}}
clearance: {as_before: yes}
"""


def prepared(folder: Path, text: bytes) -> Plan:
    (folder / "ladle").mkdir()
    (folder / "ladle" / "ladle.conf").write_text(MACHINE)
    (folder / "ladle" / "notes of mine.txt").write_bytes(text)
    (folder / "swap.yaml").write_text(SHEET)
    return api.prepare(folder / "ladle", folder / "swap.yaml", out=folder / "packet").plan


def lines(plan: Plan) -> tuple[str, ...]:
    (found,) = [each for each in plan.left_out if each.path.startswith("notes")]
    return found.lines


NOTES = (
    b"bought the thing\nthe drive wants 97.25, counted twice\nthe tube has 425\nlovely weather, 20 degrees\n"
)


def test_they_are_told_with_what_they_hold(tmp_path: Path) -> None:
    found = lines(prepared(tmp_path, NOTES))
    assert [each.partition(":")[0] for each in found] == ["2", "3"]
    assert "notes of mine.txt:2" in (tmp_path / "packet" / "checklist.md").read_text()
    assert api.verify(tmp_path / "packet") == ()


def test_nothing_is_told_of_what_is_no_text(tmp_path: Path) -> None:
    assert lines(prepared(tmp_path, NOTES + b"\0")) == ()


def test_of_many_lines_the_first_are_told_and_the_rest_counted(tmp_path: Path) -> None:
    found = lines(prepared(tmp_path, b"so the pulses are 97.25, I think\n" * (MOST_TOLD_LINES + 30)))
    assert len(found) == MOST_TOLD_LINES + 1 and found[-1] == "and 30 more lines"


def test_a_log_is_told_of_once_since_nobody_goes_by_its_entries(tmp_path: Path) -> None:
    entries = b"".join(b"%02d.03. jug, 97.25 pulses, fine\n" % day for day in range(1, 21))
    found = lines(prepared(tmp_path, entries))
    assert found[0].startswith("1: 01.03. jug") and found[1:] == ("and 19 more lines",)


def test_what_the_checklist_promises_of_them_is_on_the_pages(tmp_path: Path) -> None:
    found = lines(prepared(tmp_path, b"so the pulses are 97.25, I think\n" * 6))
    assert "and more lines: changes.md has them" in (tmp_path / "packet" / "checklist.md").read_text()
    pages = [(tmp_path / "packet" / name).read_text() for name in ("changes.md", "changes.html")]
    assert all(f"notes of mine.txt:{each}" in page for each in found for page in pages)


@pytest.mark.parametrize(
    ("row", "told"), [("rise X3000", True), ("rise X2400", False), ("rise X2400.0", False)]
)
def test_a_row_of_a_listing_that_has_the_new_value_is_not_told(row: str, told: bool) -> None:
    changed = ChangedWord(frozenset({"rise"}), "X", 3000.0, "2400", "x acceleration")
    assert bool(_to_have(row, [changed])) is told


def test_a_row_of_a_listing_is_told_with_what_to_have_there(tmp_path: Path) -> None:
    rows = b"steps X84 A98.5\nhigh X212.5 Y97\nokay A97\n< length A5.9 F2400\nsteps A98.5 B97.5\n"
    first, second, *others = lines(prepared(tmp_path, b"hello\n" * 4 + rows))
    assert first == "5: steps X84 A98.5 (for the new drive: A98.5 → A426.70, feeder steps per mm)"
    assert second.startswith("8: < length A5.9 F2400 (for the new drive: A5.9 → A")
    assert not any("for the new drive" in each for each in others)
    assert "→ A426.70" in (tmp_path / "packet" / "checklist.md").read_text()
