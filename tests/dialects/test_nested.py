"""The nested dialect reads JSON as the standard has it, and a file with a fault up to the fault."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cfgmigrate.dialects import DIALECTS, detect, read
from cfgmigrate.dialects.document import Document
from cfgmigrate.machine.recognise import recognise


def document(text: str) -> Document:
    return DIALECTS["nested"].read("siskin.json", text.encode())


def settings(text: str) -> list[tuple[str, str, str]]:
    return [(found.section, found.key, found.value) for found in document(text).settings]


def test_a_member_is_a_setting_with_the_path_of_its_objects() -> None:
    text = '{"name": "Siskin", "feeder": {"mm per turn": 22.9, "driver": {"quiet": true}}}'
    assert settings(text) == [
        ("", "name", '"Siskin"'),
        ("feeder", "mm per turn", "22.9"),
        ("feeder.driver", "quiet", "true"),
    ]


def test_a_list_of_plain_values_is_one_value() -> None:
    assert settings('{"max": [200, 200, 12], "rows": [[0, 1], [2]], "none": []}') == [
        ("", "max", "[200, 200, 12]"),
        ("", "rows", "[[0, 1], [2]]"),
    ]


def test_objects_in_a_list_have_their_number() -> None:
    text = '{"feeders": [{"lag": 0.4}, {"lag": 0.5}, 3]}'
    assert settings(text) == [("feeders.0", "lag", "0.4"), ("feeders.1", "lag", "0.5")]


def test_null_is_no_value() -> None:
    assert settings('{"a": null, "b": [1, null], "c": 2}') == [("", "c", "2")]


def test_remarks_and_a_last_comma_are_no_fault() -> None:
    found = document('{ // of the hut\n "a": 1, /* "b": 2, */\n}\n')
    assert [setting.key for setting in found.settings] == ["a"]
    assert not found.doubts


@pytest.mark.parametrize(
    ("text", "line", "column", "why"),
    [
        ('{"a": 1\n "b": 2}', 2, 2, "a comma is missing"),
        ('{"a" 1}', 1, 6, "a colon is missing"),
        ('{"a": 1, b: 2}', 1, 10, "a member's name in quotes is missing"),
        ('{"a": 1, "b": }', 1, 15, "`}` closes nothing"),
        ('{"a": 1, "b": [2}', 1, 17, "`}` closes nothing"),
        ('{"a": 1, "b": 07}', 1, 15, "a value is missing"),
        ('{"a": 1} 2', 1, 10, "beside the one object"),
        ('{"a": 1', 1, 7, "ends before"),
    ],
)
def test_a_fault_is_a_doubt_at_its_place_and_nothing_behind_it_is_read(
    text: str, line: int, column: int, why: str
) -> None:
    found = document(text)
    assert [setting.key for setting in found.settings] in ([], ["a"])
    (doubt,) = found.doubts
    assert (doubt.place.line, doubt.place.column) == (line, column)
    assert why in doubt.why


def test_nesting_past_all_sense_is_a_fault() -> None:
    assert settings('{"a":' * 90 + "1" + "}" * 90)[0][1:] == ("a", "1")
    (doubt,) = document('{"a":' * 50_000 + "1" + "}" * 50_000).doubts
    assert "deep" in doubt.why


def flattened(value: Any, path: tuple[str, ...] = ()) -> list[tuple[str, Any]]:
    """The members that are settings, by their paths, from the values of the reference reader."""
    found = []
    for key, inner in value.items() if isinstance(value, dict) else enumerate(value):
        here = (*path, str(key))
        if isinstance(inner, dict) or (isinstance(inner, list) and not plain(inner)):
            found += flattened(inner, here)
        elif isinstance(value, dict) and inner is not None and inner != []:
            found.append((".".join(here), inner))
    return found


def plain(items: list[Any]) -> bool:
    return all(
        plain(item) if isinstance(item, list) else not isinstance(item, dict) and item is not None
        for item in items
    )


WORD = st.text("abcxyz _", min_size=1, max_size=5)
SCALAR = st.one_of(
    st.integers(), st.floats(allow_nan=False, allow_infinity=False), st.booleans(), st.none(), st.text()
)
TREE = st.dictionaries(
    WORD,
    st.recursive(
        SCALAR,
        lambda inner: st.one_of(st.lists(inner, max_size=4), st.dictionaries(WORD, inner, max_size=4)),
        max_leaves=12,
    ),
    max_size=5,
)


@given(tree=TREE, indent=st.sampled_from([None, 2, "\t"]), ascii=st.booleans())
def test_every_value_is_what_the_standard_library_reads(
    tree: dict[str, Any], indent: Any, ascii: bool
) -> None:
    """Reference: CPython's `json`."""
    text = json.dumps(tree, indent=indent, ensure_ascii=ascii)
    found = DIALECTS["nested"].read("siskin.json", text.encode("utf-8", "surrogatepass"))
    assert not found.doubts
    mine = [
        (f"{setting.section}.{setting.key}".lstrip("."), json.loads(found.data[setting.start : setting.end]))
        for setting in found.settings
    ]
    assert mine == flattened(json.loads(text))


REELS = b'[\n  {"filament": "PLA red", "retract_mm": 5, "lead": {"s": 0.4}},\n  {"filament": "PETG", "retract_mm": 5.8}\n]\n'


def test_a_list_of_objects_may_be_the_whole_file_and_each_goes_by_its_own_name() -> None:
    found = detect(REELS)
    assert found is not None and found.name == "nested"
    found_in = read("shelf/filaments.json", REELS, "nested")
    assert not found_in.doubts and b"".join(found_in.data[a.start : a.end] for a in found_in.pieces) == REELS
    assert [(each.section, each.key) for each in found_in.settings] == [
        ("filaments.0", "filament"),
        ("filaments.0", "retract_mm"),
        ("filaments.0.lead", "s"),
        ("filaments.1", "filament"),
        ("filaments.1", "retract_mm"),
    ]
    held = {
        each.holder.name: each.value for each in recognise([found_in]).readings if "length" in each.quantity
    }
    assert held == {"PLA red": 5.0, "PETG": 5.8}


@pytest.mark.parametrize("text", [b"[1, 2]", b"[]", b'["a"]', b"[[{}]]", b"5", b'"a"'])
def test_a_lone_value_or_a_list_of_anything_else_is_no_configuration(text: bytes) -> None:
    found_in = read("f.json", text, "nested")
    assert not found_in.settings and found_in.doubts[0].why.startswith("no object begins here")


def test_what_is_no_object_in_such_a_list_ends_the_reading() -> None:
    found_in = read("f.json", b'[{"a": 1}, 2, {"b": 3}]', "nested")
    assert [each.key for each in found_in.settings] == ["a"] and len(found_in.doubts) == 1
    assert read("f.json", b'[{"a": 1}', "nested").doubts[0].why.startswith("the file ends before")
