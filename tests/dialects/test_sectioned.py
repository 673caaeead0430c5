"""What a sectioned file says, line by line, and what it does not."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects.document import Document
from cfgmigrate.dialects.sectioned import likelihood, read


def settings(text: str | bytes) -> list[tuple[str, str, str]]:
    return [(each.section, each.key, each.value) for each in document(text).settings]


def document(text: str | bytes) -> Document:
    return read("wren.conf", text.encode() if isinstance(text, str) else text)


@pytest.mark.parametrize(
    ("line", "key", "value"),
    [
        ("mm_per_turn: 22.9", "mm_per_turn", "22.9"),
        ("mm_per_turn=22.9", "mm_per_turn", "22.9"),
        ("gear ratio = 38:13 x 9:4", "gear ratio", "38:13 x 9:4"),
        ("gear ratio: a = b", "gear ratio", "a = b"),
        ("run current: 0.55   # measured", "run current", "0.55"),
        ("run current: 0.55 ; measured", "run current", "0.55"),
        ("colour: a#b;c", "colour", "a#b;c"),
        ("colour =#fff", "colour", "#fff"),
        ('name: "Wren # 2" # the small one', "name", '"Wren # 2"'),
        ("note: it's # a remark", "note", "it's"),
        ("note: ('a ; b', 3) ; c", "note", "('a ; b', 3)"),
        ("lag :\t0.04\t", "lag", "0.04"),
        ("Größe: 3 µm", "Größe", "3 µm"),
    ],
)
def test_a_line_with_a_separator_is_a_setting(line: str, key: str, value: str) -> None:
    assert settings(f"[feeder]\n{line}\n") == [("feeder", key, value)]


@pytest.mark.parametrize(
    ("line", "name"),
    [
        ("[axis z]", "axis z"),
        ("[ axis z ]", "axis z"),
        ("[axis z] # the screw", "axis z"),
        ("[axis z] ; the screw", "axis z"),
        ("[a]b]", "a]b"),
        ("[drive #2]", "drive #2"),
    ],
)
def test_a_header_names_the_section_of_what_follows(line: str, name: str) -> None:
    assert settings(f"{line}\nmax: 1\n") == [(name, "max", "1")]


def test_lines_before_the_first_header_have_no_section() -> None:
    assert settings("max: 1\n[a]\nmin: 0\n") == [("", "max", "1"), ("a", "min", "0")]


def test_deeper_lines_go_on_with_the_value_over_blank_lines_and_remarks() -> None:
    text = "[script end]\nsteps:\n  G91\n\n# lift\n  ; a little\n  G1 Z5 ; up\n\n# done\nnext: 1\n"
    assert settings(text) == [
        ("script end", "steps", "G91\n\n# lift\n  ; a little\n  G1 Z5"),
        ("script end", "next", "1"),
    ]


def test_a_value_of_several_lines_keeps_its_line_ends_and_indentation() -> None:
    assert settings(b"[a]\r\nk: 1,\r\n\t2,\r\n   3  \r\n") == [("a", "k", "1,\r\n\t2,\r\n   3")]


def test_deeper_lines_that_look_like_headers_or_settings_still_belong_to_the_value() -> None:
    assert settings("[a]\nk: 1\n [b]\n x: 2\nl: 3\n") == [("a", "k", "1\n [b]\n x: 2"), ("a", "l", "3")]


def test_a_line_that_a_value_swallows_though_it_looks_like_a_setting_or_a_header_is_a_doubt() -> None:
    found = document(
        "[feeder]\nmm per turn: 7.82  # in may\n  gear ratio = 3:1\n  full steps: 200\nlag: 0.5\n"
    )
    (doubt,) = found.doubts
    assert (doubt.place.line, doubt.place.column, doubt.text) == (3, 3, "gear ratio = 3:1")
    assert "`mm per turn`" in doubt.why and "1 more" in doubt.why
    (header,) = document("[axis x]\nhighest spot: 220\n [axis y]\n").doubts
    assert header.text == "[axis y]"


@pytest.mark.parametrize(
    "text",
    [
        "steps:\n  message = up\n",
        "points: 1, 2,\n  3, 4\n",
        "of: [\n  [1, 2]\n  ]\n",
        "page: a,\n  http://b\n",
    ],
)
def test_a_value_that_is_meant_to_go_on_below_is_no_doubt(text: str) -> None:
    assert document("[a]\n" + text).doubts == ()


def test_an_indented_key_below_a_header_is_a_key() -> None:
    text = "[a]\n    k: 1\n      more\n    l: 2\n  m: 3\n    [b]\n[c]\n\tn: 4\n"
    assert settings(text) == [
        ("a", "k", "1\n      more"),
        ("a", "l", "2"),
        ("a", "m", "3\n    [b]"),
        ("c", "n", "4"),
    ]


def test_the_same_section_and_key_may_stand_twice() -> None:
    assert settings("[a]\nk: 1\n[a]\nk: 2\n") == [("a", "k", "1"), ("a", "k", "2")]


@pytest.mark.parametrize(
    "text", ["[a]\nk:\n", "[a]\nk: \n", "[a]\nk:   # nothing\n", "[a]\nk: # nothing\n", "[a]\nk:"]
)
def test_an_empty_value_has_a_place_where_one_can_be_put(text: str) -> None:
    (empty,) = document(text).settings
    assert empty.value == ""
    assert settings(text[: empty.start] + "7" + text[empty.end :]) == [("a", "k", "7")]


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("mm_per_turn 22.9", "neither a section, nor a setting"),
        ("[axis z", "not closed"),
        ("[]", "not closed"),
        ("= 3", "neither a section, nor a setting"),
        ("lag # was: 0.04", "behind a comment marker"),
    ],
)
def test_a_line_that_can_not_be_placed_is_a_doubt_and_reading_goes_on(line: str, why: str) -> None:
    found = document(f"[a]\nk: 1\n{line}\n  deeper: 2\nl: 3\n")
    assert [setting.key for setting in found.settings] == ["k", "l"]
    (doubt,) = found.doubts
    assert (doubt.place.line, doubt.place.column, doubt.text) == (3, 1, line)
    assert why in doubt.why


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_lines_and_columns_are_counted_in_characters_whatever_the_line_end(end: str) -> None:
    text = f"\ufeff# Größe{end}{end}[a]{end}é:  7{end}"
    (setting,) = document(text).settings
    assert (setting.line, setting.column, setting.value) == (4, 5, "7")
    assert document(text).data[setting.start : setting.end] == b"7"


def test_other_separators_that_unicode_knows_end_no_line() -> None:
    """U+0085, U+2028 and the ASCII separators are letters of a value here; a letter's bytes are never cut."""
    assert settings("[a]\nk: x\x1cy\u2028z\x85 à…\n") == [("a", "k", "x\x1cy\u2028z\x85 à…")]


def test_bytes_that_are_no_utf8_are_shown_as_escapes() -> None:
    assert settings(b"[a]\nk: 4 \xb5m\n") == [("a", "k", "4 \\xb5m")]


def test_include_lines_are_reported_with_their_place() -> None:
    found = document('include = parts/*.conf  # all\n[a]\ninclude: "b c.conf", d.conf\n')
    assert [(each.target, each.line, each.column) for each in found.includes] == [
        ("parts/*.conf", 1, 11),
        ("b c.conf", 3, 10),
        ("d.conf", 3, 22),
    ]


def test_a_text_without_a_header_is_not_sectioned() -> None:
    assert likelihood("a: 1\nb: 2\n") == 0
    assert likelihood("[a]\nb: 2\n") == 1
    assert likelihood("#!/bin/sh\n[a]\nb=2\n") == 0


def test_where_two_dashes_open_a_line_of_remarks_they_open_one_behind_a_value_too() -> None:
    found = document(
        "-- the feeder drives the filament\n[feeder]\nlag: 0.4   -- was 0.5\n  -- deeper\nname: a -- b\n"
    )
    assert [(each.key, each.value) for each in found.settings] == [("lag", "0.4"), ("name", "a")]
    assert not found.doubts
