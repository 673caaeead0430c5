"""A spot is a part of a value in its file, to the byte and to the line, however its bytes are written."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from cfgmigrate.dialects import read
from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.dialects.value import read_value
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.model import MACHINE, Form, Reading, feeder
from cfgmigrate.machine.spots import MOST_HOPS, Said, Spot, byte_offset, joined, name_line, never_edited


def spot(text: str, value: str, at: int = 0, path: str = "wren.ini") -> Spot:
    """The spot of a value that stands in a text, behind `at` bytes."""
    data = text.encode("latin-1")
    raw = value.encode("latin-1")
    start = data.index(raw, at)
    shown = raw.decode("utf-8", errors="backslashreplace")
    setting = Setting("feed", "lengths", shown, start, start + len(raw), 3, 7)
    return Spot(Document(path, data, "flat", (), ()), setting)


@pytest.mark.parametrize(
    ("text", "part", "standing"),
    [
        ("a = 12 mm", "12", b"12"),
        ("a = \xc2\xb5 12 mm", "12", b"12"),
        ("a = \xe2\x82\xac 12", "12", b"12"),
        ("a = \xf0\x9d\x9f\x8f 12", "12", b"12"),
        ("a = \xb5 12", "12", b"12"),
        ("a = \xb5 \xc2\xb5 12", "12", b"12"),
        ("a = 4 \xc2\xb5", "\xb5", b"\xc2\xb5"),
    ],
)
def test_a_part_of_a_value_stands_where_its_bytes_are(text: str, part: str, standing: bytes) -> None:
    found = spot(text, text.removeprefix("a = "))
    start = found.setting.value.index(part)
    span = found.span(start, start + len(part))
    assert span and found.document.data[slice(*span)] == standing


def test_a_value_that_is_not_written_as_it_reads_has_no_part_in_the_file() -> None:
    found = spot("a = 12 mm", "12 mm")
    assert replace(found, setting=replace(found.setting, value="12  mm")).span(0, 2) is None


def test_a_value_behind_an_alias_is_the_alias_s_where_it_reads_as_that() -> None:
    found = spot("b: &one 12\na: *one\n", "*one")
    behind = replace(found, setting=replace(found.setting, value="12", behind=(8, 10)))
    assert behind.span(0, 1) == (found.setting.start, found.setting.end)
    assert replace(behind, setting=replace(behind.setting, value="13")).span(0, 1) is None


def test_so_many_characters_are_no_more_bytes_than_there_are() -> None:
    assert byte_offset("µ1".encode(), 0) == 0
    assert byte_offset("µ1".encode(), 9) == 3
    assert byte_offset(b"\xb51", 4) == 1, "an escape of four characters is one byte"
    assert byte_offset(b"\xb51", 5) == 2


@pytest.mark.parametrize(
    ("value", "start", "line", "column"),
    [
        ("12 mm", 0, 3, 7),
        ("12 mm", 3, 3, 10),
        ("12\n  13", 5, 4, 3),
        ("12\r\n  13", 6, 4, 3),
        ("12\r  13", 5, 4, 3),
        ("12\n13\n14", 6, 5, 1),
    ],
)
def test_a_place_is_counted_from_the_line_it_is_in(value: str, start: int, line: int, column: int) -> None:
    place = spot(f"a = {value}", value).place(start)
    assert (place.file, place.line, place.column) == ("wren.ini", line, column)


@pytest.mark.parametrize(
    ("value", "shown"), [("12\n13", "lengths = 12"), ("", "lengths"), ("7", "lengths = 7")]
)
def test_a_doubt_shows_the_first_line_and_where_it_is(value: str, shown: str) -> None:
    found = spot(f"a = {value}", value) if value else spot("a = ", " ")
    found = replace(found, setting=replace(found.setting, value=value))
    doubt = found.doubt("why", "remedy")
    assert (doubt.text, doubt.why, doubt.remedy, doubt.place.line) == (shown, "why", "remedy", 3)


def test_a_name_leads_to_its_number_and_is_shown_by_the_name_that_was_read() -> None:
    one, other = spot("a = LONG\n", "LONG"), spot("LONG = 12\n", "12", path="heron.ini")
    named = replace(one, defined={"LONG": (other.document, replace(other.setting, key="LONG"))})
    there = named.behind(read_value("LONG"))
    assert there is not None
    assert (there.document.path, there.setting.value, there.named.key) == ("heron.ini", "12", "lengths")
    assert there.doubt("why").text == "lengths = 12" and named.named.key == "lengths"
    assert named.behind(read_value("SHORT")) is None
    assert named.behind(read_value("12")) is None


def test_a_name_for_a_name_for_a_name_comes_to_an_end() -> None:
    one = spot("LONG = LONG\n", "LONG")
    here = replace(one, defined={"LONG": (one.document, one.setting)})
    hops = 0
    while (there := here.behind(read_value("LONG"))) is not None:
        here, hops = there, hops + 1
    assert hops == MOST_HOPS == 20
    assert here.named.key == "lengths"


def _said(number: int) -> Said:
    found = spot("a = 12", "12")
    reading = Reading("axis.x.max", 12.0, "12", found.place(), 4, 6, Form(), found.setting)
    doubt = found.doubt(f"why {number}")
    return Said((reading,), (doubt,), (("mm", doubt),))


def test_what_several_parts_say_is_all_that_each_says() -> None:
    all_of_it = joined([_said(1), Said(), _said(2)])
    assert len(all_of_it.readings) == 2
    assert [each.why for each in all_of_it.doubts] == ["why 1", "why 2"]
    assert [each.why for _, each in all_of_it.unsure] == ["why 1", "why 2"]


def test_what_is_never_edited_says_why_and_what_is_a_feeder_s_is_that_feeder_s() -> None:
    (shut,) = never_edited(_said(1), "it stands twice").readings
    assert (shut.editable, shut.why_not, shut.holder) == (False, "it stands twice", MACHINE)
    (own,) = _said(1).of_feeder(2).readings
    assert own.holder == feeder(2) and own.editable
    assert isinstance(_said(1).doubts[0], Doubt)


@pytest.mark.parametrize(
    ("section", "key", "unit", "file", "line"),
    [
        ("feed", "length", "", "", '"[feed] length": axis.x.max'),
        ("", "length", "mm", "", '"length": {quantity: axis.x.max, unit: mm}'),
        ("", "length", "", "wren.ini", '"wren.ini length": axis.x.max'),
        ("", 'a "b" \\c', "", "", '"a \\"b\\" \\\\c": axis.x.max'),
    ],
)
def test_a_line_of_a_names_file_is_quoted_as_it_is_read(
    section: str, key: str, unit: str, file: str, line: str
) -> None:
    assert name_line(Setting(section, key, "1", 0, 1, 1, 1), "axis.x.max", unit, file) == line


def test_a_value_that_a_document_has_is_found_there() -> None:
    document = read("wren.ini", "a = 12 µm\n".encode(), "flat")
    (setting,) = document.settings
    assert Spot(document, setting).span(0, 5) == (4, 10)
