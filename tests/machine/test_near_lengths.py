"""Which lengths matter, and what a number is near to."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.dialects.document import Setting
from cfgmigrate.ground.findings import Place
from cfgmigrate.machine import near_lengths, teach
from cfgmigrate.machine.model import Unread
from cfgmigrate.machine.near_lengths import lengths_of, of_the_path
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.teachable import PATH, RETRACTION


def unread(section: str, key: str, value: str = "5", nearest: tuple[str, ...] = (), said: str = "") -> Unread:
    return Unread(Place("one.ini", 1), key, Setting(section, key, value, 0, 1, 1, 1), nearest, said)


def test_lengths_of_the_filament_s_way_are_told_of_and_other_measures_are_not() -> None:
    text = (
        "#define QUUX_TUBE_MM { 610, 585 }\n#define QUUX_WAITING_MM 17\n#define QUUX_WAITING_SECONDS 17\n"
        "#define QUUX_TUBE_MM_PER_S 17\n#define QUUX_X_WAITING_MM 17\n#define QUUX_TUBE_NAME white\n"
    )
    machine = recognise([read("one.h", text.encode(), "header")])
    told = [each.setting.key for each in machine.unread if of_the_path(each)]
    assert told == ["QUUX_TUBE_MM", "QUUX_WAITING_MM"]


LENGTHS = {430.0: PATH, 5.5: RETRACTION, 400.0: "nearer"}


@pytest.mark.parametrize(
    ("section", "key", "value", "remark", "near"),
    [
        ("filament", "quibble", "5.5", "", RETRACTION),
        ("filament", "quibble", "4.2", "", RETRACTION),
        ("filament", "quibble", "4.1", "", ""),
        ("filament", "quibble", "6.8", "", RETRACTION),
        ("filament", "quibble", "6.9", "", ""),
        ("filament", "quibble", "425", "", PATH),
        ("filament", "quibble", "405", "", "nearer"),
        ("filament", "quibble", "5.5", "mm", RETRACTION),
        ("filament", "quibble", "5.5", "s", ""),
        ("filament", "quibble mm", "5.5", "", RETRACTION),
        ("filament", "quibble ma", "5.5", "", ""),
        ("filament", "quibble speed", "5.5", "", ""),
        ("filament", "quibble", "5.5 A", "", ""),
        ("filament", "quibble", "0.55 cm", "", RETRACTION),
        ("load", "quick quibble", "42.5 cm", "", PATH),
        ("load", "quick quibble", "42.5 cm/s", "", ""),
        ("load", "quick quibble", "425", "", ""),
        ("bed", "quibble", "5.5", "", ""),
        ("feeder wren", "channel", "5", "", ""),
        ("feeder wren", "channel stretch", "5", "", RETRACTION),
    ],
)
def test_a_length_of_the_feed_path_is_near_one_that_matters_within_a_quarter_of_it(
    section: str, key: str, value: str, remark: str, near: str
) -> None:
    one = unread(section, key, value)
    number = teach._number(one)
    assert number is not None
    assert near_lengths.near_to(one, number, remark, LENGTHS) == near
    assert near_lengths.near_to(one, number, remark, {0.0: PATH}) == ""


@pytest.mark.parametrize(
    ("section", "key", "may_be"),
    [
        ("filament", "quibble", True),
        ("bed", "quibble", False),
        ("bed", "quibble mm", True),
        ("filament", "quibble ma", False),
        ("filament", "quibble speed", False),
        ("filament", "quibble x", False),
        ("bed", "quibble x mm", False),
    ],
)
def test_what_speaks_of_the_filament_s_way_or_says_mm_may_be_a_length_unless_it_is_an_axis_s(
    section: str, key: str, may_be: bool
) -> None:
    assert near_lengths.may_be_length(unread(section, key)) is may_be


@pytest.mark.parametrize(
    ("text", "lengths"),
    [
        ("[filament]\nload length = 410\n", {410: PATH, 5.5: RETRACTION}),
        ("[filament]\nunload length = 420\n", {420: PATH, 5.5: RETRACTION}),
        ("[retraction]\nlength = 3\n", {3: RETRACTION}),
        ("[retraction]\nlength = 2.9\n", {5.5: RETRACTION}),
        ("[retraction]\nlength = 6 mm\n", {6: RETRACTION}),
    ],
)
def test_the_lengths_that_matter_are_the_way_and_a_long_retraction_or_else_a_usual_one(
    text: str, lengths: dict[float, str]
) -> None:
    machine = recognise([read("one.ini", text.replace("\\\n", "\n").encode(), "sectioned")])
    assert lengths_of(machine) == lengths
    assert lengths_of(machine, 700) == {700: PATH, **lengths}
