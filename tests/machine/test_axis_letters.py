"""Which letters of word-address lines are a feeder's, and which another device's, by a file's remarks or by its lines."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.axis_letters import (
    AxisLetters,
    LineOfWords,
    axis_letters,
    letters_by_themselves,
    parts_of_axes,
)
from cfgmigrate.machine.recognise import recognise


def told(found: AxisLetters) -> dict[str, int | str]:
    """For each letter the number of its feeder, else what it means."""
    return {
        letter: found.numbers[letter].number if letter in found.numbers else means
        for letter, means in found.means.items()
    }


@pytest.mark.parametrize(
    ("opening", "listed", "meant"),
    [
        ("A is the feeder", {}, {"A": "E"}),
        ("A = extruder axis", {}, {"A": "E"}),
        ("feeder = A", {}, {"A": "E"}),
        ("A = feeder, V = winch", {}, {"A": "E", "V": ""}),
        ("A = feeder, V = bed", {}, {"A": "E"}),
        ("A = feeder drive, B = feeder drive", {}, {}),
        ("U is the first filament drive and V is the second one", {}, {"U": 1, "V": 2}),
        ("U is the second filament drive and V is the first one", {}, {"U": 2, "V": 1}),
        ("U is the 1st filament drive, V is the 3rd one", {}, {"U": 1, "V": 3}),
        ("U is the third filament drive, V is the 2nd one", {}, {"U": 3, "V": 2}),
        ("U is the first filament drive", {}, {}),
        ("U is the first fan and V is the second one", {}, {}),
        ("U is the first filament drive and U is the second one", {}, {}),
        ("feeders A and B", {}, {"A": 1, "B": 2}),
        ("", {"U": "drive 0", "V": "drive 1"}, {"U": 0, "V": 1}),
        ("", {"U": "drive 1 (big spool)", "V": "drive 2 (small)"}, {"U": 1, "V": 2}),
        ("", {"U": "drive 1", "V": "drive 1"}, {}),
        ("", {"U": "drive 1"}, {}),
        ("", {"U": "drive 1 speed", "V": "drive 2 speed"}, {}),
        ("", {"X": "drive 1", "V": "drive 2"}, {}),
        ("", {"E": "wire feed", "X": "left to right"}, {"E": "E"}),
        ("", {"E": "wire feed", "X": "the winch"}, {"E": "E"}),
        ("", {"E": "wire feed", "V": "the winch"}, {"E": "E", "V": ""}),
        ("", {"U": "wire feed"}, {}),
        ("nothing of this", {}, {}),
    ],
)  # fmt: skip
def test_a_feeder_s_letter_is_said_by_the_opening_remark_or_by_a_list_of_letters(
    opening: str, listed: dict[str, str], meant: dict[str, int | str]
) -> None:
    assert told(axis_letters(opening, listed)) == meant


def lines(letters: str, *codes: str, remark: str = "") -> list[LineOfWords]:
    return [LineOfWords(code, tuple(letters), remark) for code in codes]


FEED = [LineOfWords("A7", ("U",), "feeder current")]


@pytest.mark.parametrize(
    ("opening", "of", "meant"),
    [
        ("", lines("XYZU", "A1", "A2", "A3") + FEED, {"U": "E"}),
        ("", lines("XYZUV", "A1", "A2", "A3") + FEED, {"U": 1, "V": 2}),
        ("", lines("XYZVU", "A1", "A2", "A3") + FEED, {"U": 1, "V": 2}),
        ("", lines("XYZU", "A1", "A2") + FEED, {}),
        ("", lines("XYZU", "A1", "A1", "A2") + FEED, {}),
        ("", lines("XYU", "A1", "A2", "A3") + FEED, {}),
        ("", lines("XYZU", "A1", "A2", "A3"), {}),
        ("", [*lines("XYZU", "A1", "A2", "A3"), LineOfWords("A7", ("U",), "fan")], {}),
        ("", [*lines("XYZU", "A1", "A2", "A3"), LineOfWords("A7", ("U", "X"), "feeder current")], {}),
        ("", [*lines("XYZU", "A1", "A2", "A3"), LineOfWords("A8", ("E",), ""), *FEED], {}),
        ("", [*lines("XYZ", "A1", "A2", "A3"), LineOfWords("A7", (), "feeder current")], {}),
        ("motors: feeder=U", lines("XYZU", "A1", "A2", "A3"), {"U": "E"}),
        ("U= 4 of the feeder", lines("XYZU", "A1", "A2", "A3"), {"U": "E"}),
        ("of the feeder", lines("XYZU", "A1", "A2", "A3"), {}),
        ("fan U=4", lines("XYZU", "A1", "A2", "A3"), {}),
        ("feeder U=4", lines("XYZUV", "A1", "A2", "A3"), {}),
        ("feeder", lines("XYZ", "A1", "A2", "A3"), {}),
    ],
)
def test_a_letter_beside_the_axes_of_several_codes_is_the_feeder_s_where_a_remark_speaks_of_one(
    opening: str, of: list[LineOfWords], meant: dict[str, int | str]
) -> None:
    assert told(axis_letters(opening, {}, of)) == meant


def test_a_letter_without_a_number_says_what_a_line_is_about_where_lines_of_its_code_differ_in_it() -> None:
    text = "M80 U L5.8\nM80 V L6\n M81 U L5\nM82 U2 L5\nM83 U L5\n"
    codes = {1: "M80", 2: "M80", 3: "M81", 4: "M82"}
    assert letters_by_themselves(text, codes) == {1: "U", 2: "V"}
    assert letters_by_themselves("M80 U L5.8\nM80 U L6\n", codes) == {}


def test_letters_that_are_a_part_of_the_machine_each_are_its_axes_and_the_filament_s_is_the_feeder() -> None:
    text = b"( X rail, Y tray, Z spindles, U filament )\n( M71: steps for one mm )\nM71 X80 Y80 Z400 U97.5\n"
    found = {each.quantity: each.value for each in recognise([read("a.nc", text, "command")]).readings}
    assert found == {
        "axis.x.steps_per_mm": 80, "axis.y.steps_per_mm": 80, "axis.z.steps_per_mm": 400, "feeder.steps_per_mm": 97.5,
    }  # fmt: skip
    assert not parts_of_axes({"X": "x offset", "Y": "y offset", "Z": "height"})
    assert not parts_of_axes({"X": "are the axes", "Y": "are the axes", "Z": "are the axes"})
