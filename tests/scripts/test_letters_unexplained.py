"""A letter of a further axis that nobody explained may move a filament: its lines are named, and nothing else is."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.scripts.letters_unexplained import letter_doubts


def asked(text: str) -> list[Doubt]:
    return list(letter_doubts(recognise([read("load.w", text.encode(), "command")])))


def test_each_letter_is_one_question_with_all_its_lines() -> None:
    first, second = asked("G91\nG1 A560 F3600\nG1 X3 B-6.5\nG1 A-14 F1200\nG90\n")
    assert (first.place.line, second.place.line) == (2, 3)
    assert "load.w:2, load.w:4" in first.why and "load.w:3" in second.why
    assert "is the feeder" not in first.remedy + second.remedy


def test_one_letter_alone_may_be_explained_in_the_file() -> None:
    (doubt,) = asked("G91\nG1 A560 F3600\n")
    assert "`A is the feeder`" in doubt.remedy
    assert not asked("; A is the feeder\nG91\nG1 A560 F3600\n")


@pytest.mark.parametrize("line", ["G1 E560 F3600", "G1 Z10", "G1 X1 ; A560", "M104 A5", "G92 A0"])
def test_other_lines_ask_nothing(line: str) -> None:
    assert not asked(f"G91\n{line}\n")


def test_a_letter_that_is_no_axis_and_is_moved_by_itself_is_a_question_with_all_its_lines() -> None:
    (doubt,) = asked(
        "; P = pousse-fil in mm\nG91\nG1 P10 F240\nG1 P-20 F2400\nG0 X30 Y30\nG1 P-560 F2600\nG90\n"
    )
    assert "load.w:3, load.w:4, load.w:6" in doubt.why and "is the feeder" not in doubt.remedy


@pytest.mark.parametrize(
    "line",
    [
        "G1 X20 P40",  # something of that move
        "G1 P1",  # a choice
        "G2 X10 Y10 I5 J5",
        "G2 R20",
        "G4 P500",
        "M204 P500",
        "G1 S200",
        "G1 F2400",
        "G1 E-20 F2400 ; P-20",
        "G10 P2",
        "G1 P{far} F20",
    ],
)
def test_parameters_arcs_waits_and_choices_are_no_letter_moved_by_itself(line: str) -> None:
    assert not asked(f"G91\n{line}\n")
