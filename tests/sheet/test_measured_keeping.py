"""A measured sheet takes answers one by one, and keeps all else as it stands."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.ground.findings import BadInput, Refused
from cfgmigrate.ground.quantity_text import NotAQuantity
from cfgmigrate.sheet.measured_keeping import put_measured
from cfgmigrate.sheet.schema import measured_schema

TEXT = b"""## a remark that stays
machine: Wren
measured:
  ## what was fed
  feed:
    at_steps_per_mm: 140 1/mm
    # asked: 100 mm
  z:
"""


def put(path: Path, field: str, said: str) -> str:
    put_measured(path, path.read_bytes(), measured_schema().fields[field], said)
    return path.read_text()


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    (tmp_path / "measured.yaml").write_bytes(TEXT)
    return tmp_path / "measured.yaml"


@pytest.mark.parametrize("said", ["98.7 98,9 98.8", "[98.7 mm, 98.9 mm, 98.8 mm]", "98.7mm; 98.9 mm 98.8"])
def test_several_measurements_become_a_list_however_they_are_written(sheet: Path, said: str) -> None:
    found = put(sheet, "measured.feed.moved", said)
    assert "moved: [98.7 mm, 98.9 mm, 98.8 mm]" in found.replace("98.7mm", "98.7 mm")
    assert "## a remark that stays" in found and "# asked: 100 mm" in found


def test_an_answer_that_is_taken_away_leaves_the_sheet_as_it_was(sheet: Path) -> None:
    before = put(sheet, "measured.z.highest", "250,6")
    assert "highest: 250.6 mm" in before
    assert put(sheet, "measured.z.highest", "").encode() == TEXT.replace(b"  z:\n", b"")


@pytest.mark.parametrize(
    ("field", "said"),
    [
        ("measured.feed.moved", "about a lot"),
        ("measured.feed.moved", "98.7 kg"),
        ("measured.feed.moved", "9999999"),
        ("measured.z.highest", "-5"),
        ("measured.retraction.best_storey", "2.5"),
        ("measured.feed.moved", "100,101"),
        ("measured.feed.moved", "1,020 1,018"),
        ("measured.feed.moved", "119,121 120,119"),
        ("measured.feed.moved", "98,99"),
    ],
)
def test_what_is_no_answer_is_refused_and_nothing_is_written(sheet: Path, field: str, said: str) -> None:
    with pytest.raises((NotAQuantity, BadInput)):
        put(sheet, field, said)
    assert sheet.read_bytes() == TEXT


def test_a_sheet_that_was_changed_since_it_was_read_is_not_written_over(sheet: Path) -> None:
    sheet.write_bytes(TEXT + b"  case: {temperature: 50 degC}\n")
    with pytest.raises(Refused):
        put_measured(sheet, TEXT, measured_schema().fields["measured.z.highest"], "250 mm")
    assert b"case" in sheet.read_bytes() and b"highest" not in sheet.read_bytes()


def test_measurements_without_end_are_refused_before_they_are_looked_through(sheet: Path) -> None:
    with pytest.raises(NotAQuantity, match="too many measurements"):
        put(sheet, "measured.feed.moved", "98.7 " * 100_000)
    assert sheet.read_bytes() == TEXT
