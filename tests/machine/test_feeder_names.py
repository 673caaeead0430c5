"""What a feeder may be called, and which one it then is."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.files.told_feeders import Feeder
from cfgmigrate.machine import feeder_names


@pytest.mark.parametrize(
    ("called", "told", "text", "numbers"),
    [
        (["wren", "heron"], (), "", {"wren": 1, "heron": 2}),
        (["right", "left"], (), "", {"left": 1, "right": 2}),
        (["2", "1"], (), "", {"1": 1, "2": 2}),
        (["wren", "heron"], (), "order = heron, wren\n", {"heron": 1, "wren": 2}),
        (["wren", "heron"], (), "order = heron, wren, other\n", {"wren": 1, "heron": 2}),
        (["wren"], (), "order = wren\n", {"wren": 1}),
        (["wren", "heron"], (Feeder(1, "heron"),), "", {"heron": 1, "wren": 2}),
        (["wren", "heron"], (Feeder(2, "wren"),), "", {"wren": 2, "heron": 1}),
        (["wren"], (Feeder(2),), "", {"2": 2, "wren": 1}),
        (["wren", "port"], (), "", {"wren": 1, "port": 2}),
        (["wren", "left"], (), "", {"left": 1, "wren": 2}),
    ],
)
def test_which_is_the_first_is_said_by_the_site_file_a_list_a_number_or_side_or_the_order(
    called: list[str], told: tuple[Feeder, ...], text: str, numbers: dict[str, int]
) -> None:
    document = read("wren.ini", f"a = 1\n{text}".encode(), "flat")
    assert feeder_names.numbers_of(called, [document], told) == numbers


@pytest.mark.parametrize(
    ("name", "may", "new"),
    [("port", True, False), ("wren", True, True), ("left", False, True), ("2", False, False), ("all", False, True), ("feeder", False, False), ("speed", True, False),
     ("", False, True)],
)  # fmt: skip
def test_a_feeder_s_name_is_no_number_no_side_and_not_all(name: str, may: bool, new: bool) -> None:
    assert feeder_names.may_name(name) is may
    if may:
        assert feeder_names.is_new_word(name) is new


@pytest.mark.parametrize(
    ("wanted", "words", "within"),
    [("a b", "x a b", True), ("a b", "a x b", False), ("", "a", False), ("a", "", False), ("a b", "a b", True), ("b", "a b", True)],
)  # fmt: skip
def test_words_stand_within_others_side_by_side(wanted: str, words: str, within: bool) -> None:
    assert feeder_names.within(wanted.split(), words.split()) is within
