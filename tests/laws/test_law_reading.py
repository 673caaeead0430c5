"""Laws 1 and 2, over every sample file and over generated ones: reading covers every byte, and an edit
replaces exactly the span of one value.

The generated files are lines that a person might write in a dialect, mixed with lines that fit none, with
every line end, with and without a byte-order mark, with tabs, letters outside ASCII and bytes that are no
UTF-8. Every dialect of the registry reads every one of them, its own and the others'.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cfgmigrate.changes.edits import apply_edits
from cfgmigrate.changes.plan import Edit
from cfgmigrate.dialects import DIALECTS, detect, read
from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.dialects.grammar import data_folder
from cfgmigrate.findings import BadInput

SAMPLES = data_folder("sample_configs")
FILES = sorted(
    path
    for folder in SAMPLES.iterdir()
    if folder.is_dir() and folder.name != "sheets"
    for path in folder.rglob("*")
    if path.is_file()
)
#: what a new value may look like; each stays on one line
VALUES = ("7", "-0.125", "4:1", "12.5 mm", "50:9, 3:1", "yes")
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


# --- every sample ------------------------------------------------------------------------------------


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
        values = NUMBERS if document.dialect == "command" else VALUES
        an_edit_changes_one_value(document, setting, values[number % len(values)])


def test_swap_sheets_are_not_taken_for_configuration() -> None:
    sheets = sorted((SAMPLES / "sheets").glob("*.yaml"))
    assert sheets
    assert [sheet.name for sheet in sheets if detect(sheet.read_bytes())] == []


# --- generated files -----------------------------------------------------------------------------------

BLANK = st.sampled_from(["", " ", "  ", "\t", " \t "])
WORD = st.text(st.sampled_from("abkzEXZ019_.-°µé"), min_size=1, max_size=8)
COMMENT = st.builds(
    "{}{}{}".format, st.sampled_from("#;"), BLANK, st.text(st.sampled_from("ab =:[]#;\"'\\°"), max_size=12)
)
NUMBER = st.one_of(
    st.integers(-400, 400).map(str), st.floats(-999, 999, allow_nan=False).map(lambda value: f"{value:.3f}")
)
VALUE = st.one_of(
    NUMBER,
    st.builds("{} {}".format, NUMBER, st.sampled_from(["mm", "mm/s", "A", "%", "°"])),
    st.builds("{}:{}".format, st.integers(1, 60), st.integers(1, 20)),
    st.lists(NUMBER, min_size=2, max_size=4).map(", ".join),
    WORD,
    st.sampled_from(['"a # b"', "'x ; y'", "a=b", "x:y", "", "\\", "{ 1, 2 }", "G1 X5"]),
)
SETTING = st.builds(
    "{}{}{}{}{}{}{}".format,
    BLANK,
    st.lists(WORD, min_size=1, max_size=3).map(" ".join),
    BLANK,
    st.sampled_from(["=", ":", " ", "  "]),
    BLANK,
    VALUE,
    st.one_of(BLANK, st.builds(" {}".format, COMMENT)),
)
LINE = st.one_of(
    SETTING,
    COMMENT,
    st.builds("[{}]".format, st.lists(WORD, min_size=1, max_size=2).map(" ".join)),
    st.builds("{}{}".format, st.sampled_from([" ", "    ", "\t"]), VALUE),
    BLANK,
    st.text(st.characters(max_codepoint=0x2FF, exclude_characters="\0\r\n"), max_size=20),
)
END = st.sampled_from(["\n", "\r\n", "\r"])


@st.composite
def written_files(draw: st.DrawFn) -> bytes:
    """Lines as a person might write them, in one encoding, mostly with one kind of line end."""
    usual = draw(END)
    lines = draw(st.lists(LINE, max_size=12))
    ends = [usual if draw(st.integers(0, 9)) else draw(END) for _ in lines]
    text = "".join(line + end for line, end in zip(lines, ends, strict=True))
    if text and draw(st.booleans()):
        text = text.removesuffix(ends[-1])
    encoding = draw(st.sampled_from(["utf-8", "utf-8", "latin-1"]))
    mark = b"\xef\xbb\xbf" if draw(st.integers(0, 5)) == 0 else b""
    return mark + text.encode(encoding, errors="replace")


@pytest.mark.parametrize("dialect", sorted(DIALECTS))
@given(data=st.one_of(written_files(), st.binary(max_size=200)))
def test_any_bytes_are_covered_or_clearly_refused(dialect: str, data: bytes) -> None:
    try:
        document = read("any", data, dialect)
    except BadInput as refusal:
        assert refusal.what
        assert refusal.place is not None
        assert b"\0" in data or data.startswith((b"\xff\xfe", b"\xfe\xff"))
        return
    assert document.data == data
    covers_every_byte(document)
    spans_are_sound(document)
    assert apply_edits(data, []) == data


@pytest.mark.parametrize("dialect", sorted(DIALECTS))
@given(data=written_files(), new=st.integers(0, 1000), pick=st.integers(0, 1000))
def test_an_edit_of_any_value_of_a_generated_file_changes_that_value_alone(
    dialect: str, data: bytes, new: int, pick: int
) -> None:
    document = read("any", data, dialect)
    values = NUMBERS if dialect == "command" else VALUES
    # a value that is empty is no number, and nothing ever writes there
    written = [setting for setting in document.settings if setting.start < setting.end]
    if written:
        an_edit_changes_one_value(document, written[pick % len(written)], values[new % len(values)])


@given(data=st.one_of(written_files(), st.binary(max_size=200)))
def test_finding_the_dialect_of_any_bytes_gives_an_answer(data: bytes) -> None:
    found = detect(data)
    assert found is None or found.name in DIALECTS
