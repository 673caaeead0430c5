"""Feeders that the files count otherwise than this program does are asked about, and not taken for each other."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects.sectioned import read
from cfgmigrate.files.told_feeders import Feeder
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.which_is_first import which_is_first

LEFT = "[left feeder]\nsteps per mm = 97.1\nretraction = 5.8\n"
RIGHT = "[right feeder]\nsteps per mm = 96.5\nretraction = 5.5\n"


def asked(text: str, *told: Feeder) -> list[str]:
    machine = recognise([read("a.conf", text.encode())], feeders=told)
    return [light.missing[0] for light in which_is_first(machine)]


@pytest.mark.parametrize(
    "text",
    [
        f"# T1 is the left one, T0 the right one\n{LEFT}{RIGHT}",
        f"# left = T1 / right = T0\n{LEFT}{RIGHT}",
        f"# feeder 1: right, feeder 2: left\n{LEFT}{RIGHT}",
        f"order = right, left\n{LEFT}{RIGHT}",
        f"{LEFT}tool = 1\n{RIGHT}tool = 0\n",
        f"{RIGHT}{LEFT}",
    ],
)
def test_files_that_count_from_the_right_are_a_question_whose_answer_counts_so_too(text: str) -> None:
    (answer,) = asked(text)
    assert "{1: {name: right, known_as: [right]}, 2: {name: left, known_as: [left]}}" in answer
    assert asked(text, Feeder(1, "right", ("right",)), Feeder(2, "left", ("left",))) == []


@pytest.mark.parametrize(
    "text",
    [
        f"order = right, middle\n{LEFT}{RIGHT}",
        f"{LEFT}{RIGHT}",
        f"# T0 is the left one, T1 the right one\n{RIGHT}{LEFT}",
        f"# 2 screws on the left, 1 on the right\n{LEFT}{RIGHT}",
        "[feeder]\nsteps per mm = 97.1\n# T1 is left\n",
    ],
)
def test_files_that_count_from_the_left_or_not_at_all_are_none(text: str) -> None:
    assert asked(text) == []


def test_names_are_asked_about_too() -> None:
    own = "steps per mm = 97.1\nretraction = 5.8\nmicrosteps = 16\n"
    (answer,) = asked(f"# T0 is starboard, T1 port\n[feeder port]\n{own}[feeder starboard]\n{own}")
    assert "1: {name: starboard" in answer
