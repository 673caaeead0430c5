"""Things that are set in just the same words, a motor's among them, are the axes of a machine, whatever they are called."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.files.axes_in_words import axes_in_words

NAMES = ["across", "along", "up", "aside", "around", "askew"]
SETTINGS = ["current = 0.6", "steps of a turn = 200", "reach = 210", "pace = 90", "way home = left"]


def said(things: int, settings: list[str]) -> frozenset[tuple[str, str]]:
    text = "".join(f"[{name}]\n" + "".join(f"{each}\n" for each in settings) for name in NAMES[:things])
    return axes_in_words(read("table.conf", f"[lamp]\nreach = 3\n{text}".encode(), "sectioned"))


def test_each_axis_is_told_with_the_words_of_what_all_of_them_have_and_maybe_others() -> None:
    """The lamp has a reach too."""
    of_axes = ("current", "steps of a turn", "reach", "pace", "way home")
    assert said(3, SETTINGS) == {(name, words) for name in NAMES[:3] for words in of_axes}


@pytest.mark.parametrize(("things", "axes"), [(2, 0), (3, 3), (5, 5), (6, 0)])
def test_there_are_three_axes_to_five(things: int, axes: int) -> None:
    assert len({name for name, _ in said(things, SETTINGS)}) == axes


@pytest.mark.parametrize(
    ("settings", "are"),
    [
        ([*SETTINGS[:2], *SETTINGS[3:]], True),
        ([*SETTINGS[:2], SETTINGS[3]], False),
        ([SETTINGS[0], *SETTINGS[3:], "span = 4"], False),
    ],
    ids=["four, two of a motor", "three", "four, one of a motor"],
)
def test_four_settings_alike_and_two_of_a_motor_make_things_axes(settings: list[str], are: bool) -> None:
    assert bool(said(3, settings)) is are


def test_axes_without_sections_are_known_by_the_first_word_of_each_setting() -> None:
    lines = [f"{name}.{each}\n" for name in NAMES[:3] for each in SETTINGS]
    found = axes_in_words(read("table.conf", "".join(lines).encode(), "flat"))
    assert {name for name, _ in found} == set(NAMES[:3]) and ("up", "current") in found
