"""A file whose numbers have commas: read in points, as many characters, and written with commas again."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.dialects.decimal_commas import in_commas, in_points, with_decimal_commas
from cfgmigrate.dialects.value import Items, Number, Text, read_value


@pytest.mark.parametrize(
    ("written", "numbers"),
    [
        ("5,2", [5.2]),
        ("-0,58 s", [-0.58]),
        ('"1,05"', [1.05]),
        ("1,5; 2,5", [1.5, 2.5]),
        ("1,5 2,5", [1.5, 2.5]),
        ("80, 80,5", [80.0, 80.5]),
        ("5,200", [5.2]),
    ],
)
def test_a_value_in_points_is_as_long_and_has_the_numbers(written: str, numbers: list[float]) -> None:
    points = in_points(written)
    value = read_value(points)
    items = value.items if isinstance(value, Items) else (value,)
    assert len(points) == len(written)
    assert [item.value for item in items if isinstance(item, Number)] == numbers


@pytest.mark.parametrize("written", ["1.500", "1.500,5", "1,5,2,5", "1.5; 2.5"])
def test_what_is_written_otherwise_in_such_a_file_is_no_number(written: str) -> None:
    assert isinstance(read_value(in_points(written)), Text)


@pytest.mark.parametrize("text", ["black, 2 of 3", "G1 X5,5", "reel_1,2.txt", ""])
def test_text_stays_as_it_is(text: str) -> None:
    assert in_points(text) == text


@pytest.mark.parametrize(
    ("points", "commas"), [("0.8", "0,8"), ("469", "469"), ("3.5:1", "3,5:1"), ("12.625", "12,6250")]
)
def test_what_is_written_has_commas_and_can_not_be_taken_for_thousands(points: str, commas: str) -> None:
    assert in_commas(points) == commas


def test_the_file_s_bytes_stay() -> None:
    data = b"pull = 5,2\nholes = 1, 2\n"
    found = with_decimal_commas(read("reel.txt", data, "flat"))
    assert found.data == data and [each.value for each in found.settings] == ["5.2", "1, 2"]
