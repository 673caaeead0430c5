"""Laws 1 and 2 over every sample file: reading covers every byte, and an edit replaces exactly the span of one
value. Over generated files the same laws are in `tests/dialects/test_reading_laws.py`.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.dialects import DIALECTS, detect, read
from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.dialects.grammar import data_folder
from cfgmigrate.plan.edits import apply_edits
from cfgmigrate.plan.model import Edit

SAMPLES = data_folder("sample_configs")
FILES = sorted(
    path
    for folder in SAMPLES.iterdir()
    if folder.is_dir() and folder.name != "sheets"
    for path in folder.rglob("*")
    if path.is_file()
)
#: what a new value may look like; each stays on one line
VALUES = ("7", "-0.125", "4:1", "12.5 mm", "50:9 x 3:1", "yes")
#: the value of a word is a plain number
NUMBERS = VALUES[:2]


def label(path: Path) -> str:
    return path.relative_to(SAMPLES).as_posix()


def covers_every_byte(document: Document) -> None:
    """The pieces are in order, none is empty, none overlaps, and joined they are the file."""
    reached = 0
    for piece in document.pieces:
        assert piece.start == reached
        assert piece.end > piece.start
        reached = piece.end
    assert reached == len(document.data)
    assert b"".join(document.data[piece.start : piece.end] for piece in document.pieces) == document.data


def spans_are_sound(document: Document) -> None:
    """Settings stand in the file's order, apart from each other, each at the line and column it says."""
    reached = 0
    for setting in document.settings:
        assert reached <= setting.start <= setting.end <= len(document.data)
        assert document.slice(setting.start, setting.end) == setting.value
        before = document.data[: setting.start]
        ends = before.count(b"\n") + before.count(b"\r") - before.count(b"\r\n")
        assert setting.line == ends + 1
        reached = setting.end


def replaced(document: Document, setting: Setting, new: str) -> bytes:
    edit = Edit(document.path, setting.line, setting.column, setting.start, setting.end, setting.value, new)
    return apply_edits(document.data, [edit])


def an_edit_changes_one_value(document: Document, setting: Setting, new: str) -> None:
    """The bytes outside the span are the same ones; read again, that setting says the new value and every
    other setting says what it said; put back, the file is the old one (a value that is no UTF-8 is shown
    with escapes, so there the text for people can't be put back)."""
    after = replaced(document, setting, new)
    moved = len(after) - len(document.data)
    assert after[: setting.start] == document.data[: setting.start]
    assert after[setting.start : setting.end + moved] == new.encode()
    assert after[setting.end + moved :] == document.data[setting.end :]

    again = read(document.path, after, document.dialect)
    assert [other.name for other in again.settings] == [other.name for other in document.settings]
    for was, now in zip(document.settings, again.settings, strict=True):
        if was.start == setting.start and was.key == setting.key:
            assert now.value == new
            if setting.value.encode() == document.data[setting.start : setting.end]:
                assert replaced(again, now, setting.value) == document.data
        else:
            assert (now.value, now.state) == (was.value, was.state)


def test_every_dialect_has_a_sample_machine() -> None:
    found = {detect(path.read_bytes()) for path in FILES}
    assert {dialect.name for dialect in found if dialect} == set(DIALECTS)


@pytest.mark.parametrize("path", FILES, ids=label)
@pytest.mark.parametrize("dialect", sorted(DIALECTS))
def test_a_sample_is_covered_byte_for_byte_in_whatever_dialect_it_is_read(path: Path, dialect: str) -> None:
    document = read(label(path), path.read_bytes(), dialect)
    covers_every_byte(document)
    spans_are_sound(document)
    assert apply_edits(document.data, []) == path.read_bytes()


@pytest.mark.parametrize("path", FILES, ids=label)
def test_an_edit_of_any_value_of_a_sample_changes_that_value_alone(path: Path) -> None:
    if detect(path.read_bytes()) is None:
        pytest.skip("no dialect reads this file yet")
    document = read(label(path), path.read_bytes())
    # a value that is empty is no number, and nothing ever writes there
    written = [setting for setting in document.settings if setting.start < setting.end]
    edited = [setting for setting in written if setting.state is State.ACTIVE]
    assert edited
    for number, setting in enumerate(edited):
        values = NUMBERS if document.dialect in ("command", "nested") else VALUES  # bare words are no JSON
        an_edit_changes_one_value(document, setting, values[number % len(values)])


def test_swap_sheets_are_not_taken_for_configuration() -> None:
    sheets = sorted((SAMPLES / "sheets").glob("*.yaml"))
    assert sheets
    assert [sheet.name for sheet in sheets if detect(sheet.read_bytes())] == []
