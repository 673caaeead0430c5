"""A letter before those of the axes is no word, where the names behind it are the same for all of them."""

from __future__ import annotations

import pytest

from cfgmigrate.machine.axis_marks import axis_marks

THREE = ("steps", "current", "speed")


def marked(letters: str, names: tuple[str, ...] = THREE, axes: str = "xyz") -> list[tuple[str, ...]]:
    return [(letter + axis, name) for letter in letters for axis in axes for name in names]


def test_three_names_for_three_axes_make_a_letter_a_mark() -> None:
    assert axis_marks(marked("d")) == {"dx": "x", "dy": "y", "dz": "z"}
    assert axis_marks(marked("d", THREE[:2])) == {}
    assert axis_marks(marked("d", axes="xy")) == {}


def test_an_axis_by_itself_is_no_name_more() -> None:
    assert axis_marks([*marked("d", THREE[:2]), ("dx",), ("dy",), ("dz",), ()]) == {}


@pytest.mark.parametrize(
    ("names", "there"), [(THREE[:2], True), (THREE[:1], False), (("length", "wipe"), False)]
)
def test_the_feeder_is_marked_too_where_it_has_two_of_the_names(names: tuple[str, ...], there: bool) -> None:
    found = axis_marks([*marked("d"), *marked("d", names, "e")])
    assert found.get("de", "") == ("e" if there else "")


@pytest.mark.parametrize("letter", [*"valtihr", *"xyze", "2"])
def test_the_symbol_of_a_measure_an_axis_and_a_number_are_no_marks(letter: str) -> None:
    assert axis_marks(marked(letter)) == {}


def test_longer_beginnings_and_marks_at_the_end_are_none() -> None:
    assert axis_marks([("do" + path[0][1:], path[1]) for path in marked("d")]) == {}
    assert axis_marks([path[::-1] for path in marked("d")]) == {}
    assert axis_marks([("drx", name) for name in THREE]) == {}
