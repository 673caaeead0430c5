"""Two letters of one axis are its ends only where the numbers rise from the first to the second."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise


def machine(text: str) -> Machine:
    return recognise([read("m.nc", text.encode(), "command")])


def ends(found: Machine) -> list[str]:
    return [each.quantity for each in found.every_reading if each.quantity.startswith("axis.")]


@pytest.mark.parametrize("head", ["", "; lengths mm\n"])
@pytest.mark.parametrize("words", ["C30 travel in mm", "C30 nozzle ends", "C30 software limits"])
@pytest.mark.parametrize(
    "line", ["A230 B-3 C210 D-5", "A-3 B230 C210 D-5", "A230 C-5 D210", "A5 B5 C0 D210", "A230"]
)
def test_ends_that_do_not_rise_are_asked_about_and_none_of_their_line_is_taken(
    head: str, words: str, line: str
) -> None:
    found = machine(f"{head}; {words}: A/B = X, C/D = Y\nC30 {line}\n")
    assert not ends(found)
    assert {each.place.line for each in found.doubts if "where an axis begins" in each.why} == {
        2 + bool(head)
    }


def test_ends_that_rise_are_read() -> None:
    found = machine("; lengths mm\n; C30 travel in mm: A/B = X, C/D = Y\nC30 A-3 B230 C-5 D210\n")
    assert sorted(ends(found)) == ["axis.x.max", "axis.x.min", "axis.y.max", "axis.y.min"]


def test_a_line_of_another_code_beside_them_keeps_its_ends() -> None:
    text = (
        "; lengths mm\n; C30 travel in mm: A/B = X\n; C31 travel in mm: A/B = Y\nC30 A230 B-3\nC31 A-4 B210\n"
    )
    assert sorted(ends(machine(text))) == ["axis.y.max", "axis.y.min"]


HEAD = "; lengths mm\n; C30 travel in mm: A/B = X, C/D = Y\n"


def test_pairs_on_two_lines_of_one_code_are_each_its_own_line_s() -> None:
    found = machine(f"{HEAD}C30 A-3 B230\nC30 C-5 D210\n")
    assert sorted(ends(found)) == ["axis.x.max", "axis.x.min", "axis.y.max", "axis.y.min"]
    assert not [each for each in found.doubts if "where an axis begins" in each.why]


@pytest.mark.parametrize(
    "lines", ["C30 A230 B-3\nC30 C-5 D210\n", "C30 A-3 B230\nC30 C210 D-5\n", "C30 A-3 B230\nC30 C-5\n"]
)
def test_a_pair_that_does_not_rise_leaves_the_code_s_other_line_unknown_too(lines: str) -> None:
    found = machine(f"{HEAD}{lines}")
    assert not ends(found)
    asked = [each for each in found.doubts if "where an axis begins" in each.why]
    assert {each.place.line for each in asked} == {3, 4}
    assert all(f"not known of line {each.place.line} " in each.why for each in asked)


def test_a_pair_torn_over_two_lines_is_asked_about() -> None:
    assert not ends(machine(f"{HEAD}C30 A-3\nC30 B230\n"))
