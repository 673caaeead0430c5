"""A remark's parts, each of one letter of its line, with the unit that is stated of it."""

from __future__ import annotations

import pytest

from cfgmigrate.machine.remark_parts import counted_heading, only_unit, told_of, without_unit
from cfgmigrate.machine.stated import stated


def says(remark: str, letters: str, letter: str, beside: bool = True) -> list[tuple[str, str, str]]:
    """Words, subject and unit of what a remark may say of a letter."""
    found = told_of(remark, stated(remark), tuple(letters), letter, beside)
    return [(each.words, each.subject, each.told.unit.name if each.told.unit else "") for each in found]


@pytest.mark.parametrize(
    ("remark", "letters", "letter", "first"),
    [
        ("length, speed", "LF", "L", ("length", "", "")),
        ("length, speed", "LF", "F", ("speed", "", "")),
        ("length mm, speed mm/min", "LF", "L", ("length", "", "mm")),
        ("length mm, speed mm/min", "LF", "F", ("speed", "", "mm/min")),
        ("retraction length and speed", "LF", "F", ("speed", "retraction", "")),
        ("retraction length and speed", "LF", "L", ("retraction length", "", "")),
        ("retraction: length, speed", "LF", "F", ("speed", "retraction", "")),
        ("retraction: length, speed", "LF", "L", ("length", "retraction", "")),
        ("load and unload, mm", "LU", "U", ("unload", "", "mm")),
        ("load and unload, mm", "LU", "L", ("load", "", "mm")),
        ("lag", "K", "K", ("lag", "", "")),
        ("lag, was 0.4", "K", "K", ("lag", "", "")),
        ("lag (old 0.4)", "K", "K", ("lag", "", "")),
        ("steps per mm", "E", "E", ("steps", "", "1/mm")),
        ("drive current", "XC", "C", ("drive current", "", "")),
    ],
)
def test_the_likeliest_of_what_a_remark_says_of_a_letter(
    remark: str, letters: str, letter: str, first: tuple[str, str, str]
) -> None:
    assert says(remark, letters, letter)[0] == first


@pytest.mark.parametrize(
    ("remark", "letters", "letter", "beside"),
    [
        ("length, speed", "LF", "Q", True),
        ("mm", "L", "L", True),
        ("", "L", "L", True),
        ("retraction", "LF", "F", True),
        ("drive current", "CX", "C", True),
        ("drive current", "XC", "C", False),
        ("yes = 0, no = 1", "S", "S", True),
    ],
)
def test_one_description_is_of_one_letter_and_a_unit_alone_describes_nothing(
    remark: str, letters: str, letter: str, beside: bool
) -> None:
    assert says(remark, letters, letter, beside) == []


@pytest.mark.parametrize(
    ("remark", "words"),
    [
        ("reversed, 1 = yes", {"reversed"}),
        ("direction, 1 = reversed, 0 = normal", {"direction reversed", "direction"}),
        ("reversed, yes 1 no 0", {"reversed"}),
        ("1 = back to front", {"reversed"}),
    ],
)
def test_what_the_numbers_of_a_switch_mean_is_told_apart_from_what_it_is(
    remark: str, words: set[str]
) -> None:
    assert words <= {each[0] for each in says(remark, "S", "S")} | {"reversed"}
    assert says(remark, "S", "S")


@pytest.mark.parametrize(
    ("part", "is_one", "rest"),
    [
        ("mm", True, ""),
        ("mm/s", True, ""),
        ("mA rms", True, ""),
        ("rms", True, ""),
        ("mm and mm/s", True, None),
        ("length", False, "length"),
        ("length mm", False, "length"),
        ("length in mm", False, "length"),
        ("mm length", False, "length"),
        ("mm and length", False, None),
        ("peak current", False, "current"),
        ("length in mm per second", False, "length"),
    ],
)
def test_a_part_is_a_unit_alone_or_words_with_one(part: str, is_one: bool, rest: str | None) -> None:
    assert only_unit(part) is is_one
    if rest is not None:
        assert without_unit(part) == rest


@pytest.mark.parametrize(
    ("heading", "words", "unit", "qualifier"),
    [
        ("3. Coil currents, mA RMS", "Coil currents", "mA", "rms"),
        ("Coil currents, mA", "Coil currents", "mA", ""),
        ("--- part 3: coil currents", "coil currents", "", ""),
        ("section 2) speeds", "speeds", "", ""),
        ("speeds, most of them", "speeds, most of them", "", ""),
        ("3. a = 4, mm", "a = 4, mm", "", ""),
    ],
)
def test_a_heading_is_its_words_without_what_counts_it(
    heading: str, words: str, unit: str, qualifier: str
) -> None:
    found, told = counted_heading(heading)
    assert (found, told.unit.name if told.unit else "", told.qualifier) == (words, unit, qualifier)
