"""What holds for every dialect and every file: reading covers each byte, and a value can be edited alone.

Laws 1 and 2, over the files of `strategies.py`. The registry is iterated: a dialect
without a strategy fails here.
"""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import FILES, NEW_VALUES, WILD

from cfgmigrate.dialects import DIALECTS, detect, read
from cfgmigrate.dialects.document import Document, MadeWhenAsked, Setting, State, readable
from cfgmigrate.ground.findings import BadInput

EACH = pytest.mark.parametrize("name", sorted(DIALECTS))


def test_every_dialect_has_files_to_be_tested_with() -> None:
    assert set(FILES) == set(DIALECTS)


def is_covered(document: Document) -> bool:
    stands = [0, *(piece.end for piece in document.pieces)]
    return [piece.start for piece in document.pieces] == stands[:-1] and stands[-1] == len(document.data)


def signature(settings: Sequence[Setting]) -> list[tuple[str, str, str]]:
    return [(setting.section, setting.key, setting.value) for setting in settings]


@EACH
@given(data=st.data())
def test_the_pieces_joined_are_the_file(name: str, data: st.DataObject) -> None:
    written = data.draw(FILES[name])
    document = read("f", written, name)
    assert document.data == written
    assert is_covered(document)
    assert all(piece.start < piece.end for piece in document.pieces)


@EACH
@given(data=WILD)
def test_any_bytes_are_read_or_clearly_refused(name: str, data: bytes) -> None:
    try:
        document = read("f", data, name)
    except BadInput as problem:
        assert "UTF-16" in problem.what or "zero bytes" in problem.what
        assert problem.remedy
    else:
        assert is_covered(document)


@EACH
@given(data=st.data())
def test_a_setting_says_where_its_value_stands(name: str, data: st.DataObject) -> None:
    document = read("f", data.draw(FILES[name]), name)
    lines = document.data.replace(b"\r\n", b"\n").replace(b"\r", b"\n").split(b"\n")
    for setting in document.settings:
        assert document.slice(setting.start, setting.end) == setting.value
        line = lines[setting.line - 1]
        if setting.line == 1:
            line = line.removeprefix(b"\xef\xbb\xbf")
        at = len(readable(line)) if setting.column > len(readable(line)) else setting.column - 1
        first = setting.value.replace("\r", "\n").split("\n")[0]
        assert readable(line)[at:].startswith(first)


@EACH
@given(data=st.data())
def test_replacing_one_value_changes_that_value_alone(name: str, data: st.DataObject) -> None:
    document = read("f", data.draw(FILES[name]), name)
    written = [number for number, setting in enumerate(document.settings) if setting.start < setting.end]
    if not written:
        return
    number = data.draw(st.sampled_from(written))
    new = data.draw(NEW_VALUES)
    old = document.settings[number]
    edited = document.data[: old.start] + new.encode() + document.data[old.end :]
    again = read("f", edited, name)
    expected = signature(document.settings)
    expected[number] = (old.section, old.key, new)
    assert signature(again.settings) == expected


@EACH
@given(data=st.data())
def test_doubts_name_a_line_of_the_file_and_a_way_out(name: str, data: st.DataObject) -> None:
    document = read("f", data.draw(FILES[name]), name)
    for doubt in document.doubts:
        assert doubt.place.file == "f"
        assert 1 <= doubt.place.line <= document.lines + 1
        assert doubt.why
        assert doubt.remedy


@given(data=WILD)
def test_detection_never_fails_and_never_takes_zero_bytes(data: bytes) -> None:
    found = detect(data)
    assert found is None or (found.name in DIALECTS and b"\0" not in data)


@given(data=WILD)
def test_what_is_commented_out_is_never_a_setting_in_force(data: bytes) -> None:
    """In sectioned files, save for a machine's own block, and in flat ones: no active value on a `#` line."""
    for name in ("sectioned", "flat"):
        try:
            document = read("f", data, name)
        except BadInput:
            continue
        lines = document.data.replace(b"\r\n", b"\n").replace(b"\r", b"\n").split(b"\n")
        for setting in document.settings:
            line = lines[setting.line - 1].removeprefix(b"\xef\xbb\xbf").lstrip(b" \t\f\v")
            assert setting.saved or setting.state is not State.ACTIVE or not line.startswith((b"#", b";"))


def test_settings_are_made_once_and_only_when_they_are_asked_for() -> None:
    asked: list[str] = []
    made = MadeWhenAsked(2, lambda: asked.append("asked") or "ab")
    assert len(made) == 2 and not asked
    assert [*made, made[-1], made[:1]] == ["a", "b", "b", ("a",)]
    assert made == ("a", "b") and made != ("a",) and asked == ["asked"]


@EACH
@given(data=st.data())
def test_there_are_as_many_pieces_and_settings_as_is_said_before_they_are_made(
    name: str, data: st.DataObject
) -> None:
    document = read("f", data.draw(FILES[name]), name)
    counted = len(document.pieces), len(document.settings)
    assert counted == (len(tuple(document.pieces)), len(tuple(document.settings)))
