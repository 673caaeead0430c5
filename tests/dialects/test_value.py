"""What kind of value a text is, and where in it each number stands."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cfgmigrate.dialects import value as module
from cfgmigrate.dialects.value import LONGEST_READ, Items, Number, Ratio, Text, Truth, Value, read_value


def numbers(value: Value) -> list[Number]:
    if isinstance(value, Number):
        return [value]
    if isinstance(value, Ratio):
        return [number for stage in value.stages for number in stage]
    return [number for item in value.items for number in numbers(item)] if isinstance(value, Items) else []


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("22.9", 22.9, ""),
        ("-1.5", -1.5, ""),
        ("+.5", 0.5, ""),
        ("5.", 5.0, ""),
        ("3e-2", 0.03, ""),
        ("0x1F", 31.0, ""),
        ("-0x10", -16.0, ""),
        ("190 mm", 190.0, "mm"),
        ("190mm", 190.0, "mm"),
        ("2400 mm/s^2", 2400.0, "mm/s^2"),
        ("2400 mm/s²", 2400.0, "mm/s²"),
        ("1800 mm/min", 1800.0, "mm/min"),
        ("0.11 Ω", 0.11, "Ω"),
        ("0.11 \u2126", 0.11, "\u2126"),
        ("450 mA", 450.0, "mA"),
        ("45 °C", 45.0, "°C"),
        ("200 °", 200.0, "°"),
        ("70 %", 70.0, "%"),
        ("70%", 70.0, "%"),
        ("40 ms", 40.0, "ms"),
        ("250 kHz", 250.0, "kHz"),
        ("3 µm", 3.0, "µm"),
        ("9 N*cm", 9.0, "N*cm"),
        ("96 steps/mm", 96.0, "steps/mm"),
        ("96 /mm", 96.0, "/mm"),
        ("80.0f", 80.0, ""),
        ("100UL", 100.0, ""),
        ("(96.5)", 96.5, ""),
        ("((-2))", -2.0, ""),
        ('"96.5 mm"', 96.5, "mm"),
        ("'40'", 40.0, ""),
    ],
)
def test_a_number_may_have_a_unit_brackets_or_quotes_around_it(text: str, value: float, unit: str) -> None:
    found = read_value(text)
    assert isinstance(found, Number)
    assert (found.value, found.unit) == (value, unit)
    assert text[found.start : found.end] == found.text


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("88, 88, 640, 96", [88, 88, 640, 96]),
        ("{ 88, 88, 640, 96 }", [88, 88, 640, 96]),
        ("{ 88, /* y */ 88, \\\n 640, 96 }", [88, 88, 640, 96]),
        ("[1,2]", [1, 2]),
        ("(1, 2,)", [1, 2]),
        ("1 2 -3", [1, 2, -3]),
        ("{1 2}", [1, 2]),
        ("1,\n  2,\r\n  3", [1, 2, 3]),
        ("1 mm, 2 mm", [1, 2]),
        ("[[1, 2], [3, 4]]", [1, 2, 3, 4]),
        ("{ 7 }", [7]),
        ("5,", [5]),
        ("[]", []),
    ],
)
def test_a_list_gives_each_number_its_own_span(text: str, values: list[float]) -> None:
    found = read_value(text)
    assert isinstance(found, Items)
    assert [number.value for number in numbers(found)] == values
    assert all(text[number.start : number.end] == number.text for number in numbers(found))


@pytest.mark.parametrize(
    ("text", "value", "stages"),
    [
        ("46:15", 46 / 15, 1),
        ("46 : 15", 46 / 15, 1),
        ("46:15,3:1", 138 / 15, 2),
        ("46:15 x 3:1", 138 / 15, 2),
        ("46:15×3:1", 138 / 15, 2),
        ("46:15 × 3:1 · 2:1", 276 / 15, 3),
        ("[ 46:15 , 3:1 ]", 138 / 15, 2),
        ("3.5:1", 3.5, 1),
    ],
)
def test_gear_stages_multiply(text: str, value: float, stages: int) -> None:
    found = read_value(text)
    assert isinstance(found, Ratio)
    assert found.value == pytest.approx(value)
    assert len(found.stages) == stages
    assert (found.start, found.end) == (0, len(text))
    assert all(text[number.start : number.end] == number.text for number in numbers(found))


@pytest.mark.parametrize(
    ("text", "truth"),
    [("true", True), ("Yes", True), ("ON", True), ("false", False), ("no", False), ("off", False)],
)
def test_truth_values_are_words_in_any_case(text: str, truth: bool) -> None:
    assert read_value(text) == Truth(truth, 0, len(text))


@pytest.mark.parametrize(
    "text",
    [
        *("", "Wren", "two words", "G1 X5 Y6", "3*16", "(1+2)", "200 * 16", "1-2", "5 - 3", "1.2.3"),
        *(
            "2024-01-01",
            "10:20:30",
            "50:0",
            "1e999",
            "0x" + "F" * 400,
            "9" * 400,
            "1, 2 3",
            "12abc34",
            "5 of 7",
        ),
        *("[1, 2", "1]", "{", "~5", "=1", "1;2", "a: b", '"open', "1 /* 2 */", "5 minutes or more", "1_000"),
    ],
)
def test_anything_else_is_text_and_nothing_is_worked_out(text: str) -> None:
    assert read_value(text) == Text(text, 0, len(text))


def test_a_quoted_text_is_what_stands_between_the_quotes() -> None:
    assert read_value('"Wren # 2"') == Text("Wren # 2", 1, 9)
    assert read_value("'two, three") == Text("'two, three", 0, 11)


def test_blanks_around_a_value_are_no_part_of_it() -> None:
    assert read_value("  5 mm ") == Number(5.0, "5", 2, 3, "mm")


def test_a_value_of_absurd_length_or_depth_is_text() -> None:
    assert isinstance(read_value("1, " * LONGEST_READ), Text)
    assert isinstance(read_value("[" * 50 + "1" + "]" * 50), Text)
    assert isinstance(read_value("[" * 5000), Text)


@given(st.text(max_size=60))
def test_any_text_has_a_value_with_spans_inside_it(text: str) -> None:
    found = read_value(text)
    assert 0 <= found.start <= found.end <= len(text)
    assert all(text[number.start : number.end] == number.text for number in numbers(found))


@given(st.floats(allow_nan=False, allow_infinity=False), st.sampled_from(["", " mm", "A", " %"]))
def test_every_finite_number_python_writes_is_read_as_that_number(number: float, unit: str) -> None:
    found = read_value(f"{number!r}{unit}")
    assert isinstance(found, Number)
    assert (found.value, found.unit) == (number, unit.strip())


_PIECES = [
    *(
        "1",
        "2.5",
        "-3",
        "+.5",
        "5.",
        "0x1F",
        "00",
        "1e3",
        "e5",
        "1e400",
        " ",
        "\t",
        ",",
        ", ",
        ":",
        " : ",
        "/",
        "x",
        " x ",
        "×",
    ),
    *(
        "mm",
        " mm/s",
        "mm^2",
        "%",
        " %",
        "f",
        "UL",
        "°C",
        "µm",
        "on",
        "Yes",
        "word",
        "a-b",
        "(",
        ")",
        "[",
        "]",
        "{",
        "}",
        '"',
        "'",
    ),
    *("#", ";", "=", "\n", "\\\n", "/*c*/", "*", "é", ".", "-", "_"),
]


@given(st.lists(st.sampled_from(_PIECES), min_size=1, max_size=6).map("".join).map(str.strip).filter(bool))
def test_what_is_seen_without_the_parser_is_what_the_parser_finds(text: str) -> None:
    def found(read: Callable[[str, int], Value | None]) -> Value | None:
        try:
            return read(text, 3)
        except module._NoValue:
            return Text(text, 3, 3 + len(text))

    seen = found(module._seen)
    assert seen in (None, found(module._parsed) or Text(text, 3, 3 + len(text)))


@pytest.mark.parametrize(
    "text",
    ["22.9", "190 mm", "52:12", "88, 88, 640, 96", "1 2 3", "yes", '"24 V"', "/var/log", "18 % in squares"],
)
def test_the_usual_values_need_no_parser(text: str) -> None:
    assert module._seen(text, 0) is not None
