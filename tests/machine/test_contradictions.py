"""Steps per mm that contradict the microsteps and the feed beside them are shown and not edited."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects.sectioned import read
from cfgmigrate.machine.recognise import recognise


def steps(text: str):
    return recognise([read("a.conf", f"[feeder]\n{text}".encode())]).get("feeder.steps_per_mm")


@pytest.mark.parametrize(
    "beside",
    [
        "microsteps = 16\nmm per turn = 33\n",  # 200 · 16 / 33 = 96.97
        "microsteps = 16\nmm per turn = 33\nfull steps = 200\n",
        "microsteps = 8\nmm per turn = 33\n",  # 400 · 8 / 33
        "microsteps = 16\nmm per turn = 99\ngear ratio = 3:1\n",
        "microsteps = 16\n",
        "mm per turn = 33\n",
    ],
)
def test_what_agrees_or_says_too_little_is_edited(beside: str) -> None:
    assert steps(f"steps per mm = 96.97\n{beside}").editable


@pytest.mark.parametrize(
    "beside",
    [
        "microsteps = 4\nmm per turn = 33\n",
        "microsteps = 8\nmm per turn = 33\nfull steps = 200\n",
        "microsteps = 16\nmm per turn = 33\ngear ratio = 3:1\n",
        "microsteps = 16\nmm per turn = 25\n",
    ],
)
def test_what_comes_to_another_number_is_asked_about(beside: str) -> None:
    reading = steps(f"steps per mm = 96.97\n{beside}")
    assert not reading.editable
    assert "one of them is not in use" in reading.why_not
