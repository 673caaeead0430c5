"""Retractions by filament, in words of the user's, beside the one that is read: each is a question."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise


@pytest.mark.parametrize(
    ("dialect", "text", "lines"),
    [
        ("nested", "retraction length:\n  pla: 5.6\n  petg: 6.4\n  default: 5\n", {2, 3}),
        ("sectioned", "[retraction]\nlength = 5\nlength pla = 5.6\nlength petg = 6.4\n", {3, 4}),
        ("flat", "pull_back_length = 5\npull_back_length_pla = 5.6\npull_back_length_quux = 4.1\n", {2, 3}),
    ],
)
def test_each_is_asked_about(dialect: str, text: str, lines: set[int]) -> None:
    machine = recognise([read("tern", text.encode(), dialect)])
    asked = {doubt.place.line for doubt in machine.doubts if doubt.about == "retraction.length"}
    assert asked == lines


@pytest.mark.parametrize(
    "text",
    [
        "pull_back_length = 5\npull_back_length_quux = 90\n",
        "pull_back_length = 5\npull_back_length_quux = yes\n",
        "pull_back_length = 5\nshortest_travel_quux_pull_back_length = 3\n",
        "wipe_length = 5\npull_back_length_quux = 5\n",
    ],
)
def test_another_number_or_another_measure_is_none(text: str) -> None:
    machine = recognise([read("tern", text.encode(), "flat")])
    assert not [doubt for doubt in machine.doubts if "too, but" in doubt.why]


_PROFILE = "[filament]\nname = quux\n[retraction]\nlength = 4.6\nspeed = 35\n"
_DRIVE = "[feeder]\ngear ratio = 14:5\nmicrostepping = 16\nlongest single feed = 520\n"


@pytest.mark.parametrize(
    "line",
    [
        "house retract = 6.5",
        "backward pull = 4.6",
        "tug against gossamer mm = 4.2",
        "travel pull = 4.6",
        "snatch = 4.6",
        "nip quux = 4.6 mm",
    ],
)
def test_the_machines_own_in_words_of_its_own_is_asked_about(line: str) -> None:
    text = f"{_PROFILE}{_DRIVE}{line}\n"
    machine = recognise([read("tern", text.encode(), "sectioned")])
    (asked,) = [doubt for doubt in machine.doubts if doubt.about == "retraction.length"]
    assert asked.place.line == text.count("\n")


@pytest.mark.parametrize(
    "line",
    [
        "house retract = 60",
        "house retract seconds = 4.6",
        "house retract pace = 4.6",
        "home retract = 4.6",
        "backward pull = 9",
        "pull up = 4.6",
        "pull down = 4.6",
        "snatch = 4.2",
        "snatch = 4.6 V",
        "snatch = 4.6  # seconds",
        "grip screw = 4.6",
        "nip quux percent = 4.6",
    ],
)
def test_what_says_another_thing_or_is_far_from_one_is_no_retraction(line: str) -> None:
    text = f"{_PROFILE}{_DRIVE}{line}\n"
    machine = recognise([read("tern", text.encode(), "sectioned")])
    assert not [doubt for doubt in machine.doubts if "too, but" in doubt.why]
