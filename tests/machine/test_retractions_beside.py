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
