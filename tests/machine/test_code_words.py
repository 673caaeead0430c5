"""The words of a code's remark as those of a key, and of a maker's own command as those of a name."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects.document import Setting
from cfgmigrate.machine.code_words import key_of, own_command, rates_of, without_code, without_value
from cfgmigrate.machine.remark_parts import ToldCode
from cfgmigrate.machine.stated import NOTHING


def word(section: str, key: str) -> Setting:
    return Setting(section, key, "1", 0, 1, 1, 1)


@pytest.mark.parametrize(
    ("section", "key", "words"),
    [
        ("SET_DRIVE", "CURRENT", ("set", "drive", "current")),
        ("SET_DRIVE", "C", ("set", "drive")),
        ("SET-DRIVE", "HOLD_CURRENT", ("set", "drive", "hold", "current")),
        ("SET DRIVE", "C", ("set", "drive")),
        ("A101", "C", ()),
        ("SET_2", "CURRENT", ()),
        ("SET", "P2", ()),
    ],
)
def test_a_command_in_words_says_what_it_sets_and_a_code_says_nothing(
    section: str, key: str, words: tuple[str, ...]
) -> None:
    assert own_command(word(section, key)) == words


@pytest.mark.parametrize(
    ("remark", "left"),
    [
        ("A101 = steps per mm", "steps per mm"),
        ("A101: steps per mm", "steps per mm"),
        ("A101 - steps per mm", "steps per mm"),
        ("A101 is the lag", "lag"),
        ("A101 sets lag", "lag"),
        ("A101 lag", "lag"),
        ("A102 = steps per mm", "A102 = steps per mm"),
        ("steps per mm", "steps per mm"),
        ("A101 = steps; A102 = lag", "A101 = steps; A102 = lag"),
    ],
)
def test_a_remark_that_begins_with_its_line_s_code_is_what_stands_behind_it(remark: str, left: str) -> None:
    assert without_code(remark, "A101") == left


@pytest.mark.parametrize(
    ("letters", "letter", "key"),
    [
        (("X", "Y"), "X", ("x", "speed")),
        (("X", "Y"), "Y", ("y", "speed")),
        (("E",), "E", ("e", "speed")),
        (("X", "F"), "F", ("y", "z", "speed")),
        (("F",), "F", ("x", "y", "z", "speed")),
    ],
)
def test_a_description_of_several_axes_is_of_the_letter_s_own_axis(
    letters: tuple[str, ...], letter: str, key: tuple[str, ...]
) -> None:
    assert key_of("x y z speed", letters, letter) == key


def test_a_rate_s_words_are_of_a_speed_and_nothing_else() -> None:
    (first, *_) = rates_of(ToldCode("return", "retraction", NOTHING))
    assert (first.key, first.said, first.dimension, first.section) == (("return",), ("speed",), "speed", ())


@pytest.mark.parametrize(
    ("remark", "left"),
    [
        ("strand 2.85 mm thick", "strand thick, mm"),
        ("strand thickness 2.85", "strand thickness"),
        ("strand 2.9 mm thick", "strand 2.9 mm thick"),
        ("strand 2.85 of the thick kind", "strand 2.85 of the thick kind"),
    ],
)
def test_a_line_s_own_number_in_its_remark_counts_no_feeders(remark: str, left: str) -> None:
    assert without_value(remark, "2.85") == left
