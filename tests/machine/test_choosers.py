"""Letters of word-address lines that only choose: a parameter by its number, a tool by its own."""

from __future__ import annotations

from collections.abc import Container

import pytest
from msgspec.structs import replace

from cfgmigrate.dialects import read
from cfgmigrate.dialects.document import Setting, State
from cfgmigrate.machine.choosers import LINES, MOST_TOOLS, Choosers
from cfgmigrate.machine.recognise import recognise


def choosers(text: str, explained: Container[str] = ()) -> Choosers:
    lines: dict[int, tuple[str, tuple[Setting, ...]]] = {}
    for setting in read("wren.nc", text.encode(), "command").settings:
        if setting.section:  # and is not the code itself
            _, words = lines.get(setting.line, ("", ()))
            lines[setting.line] = setting.section, (*words, setting)
    return Choosers.of_lines(lines, explained)


def table(*numbers: object) -> str:
    return "".join(f"W1 P{number} Q{at}.5\n" for at, number in enumerate(numbers))


def test_a_letter_with_another_whole_number_on_each_of_many_lines_says_which_parameter() -> None:
    found = choosers(table(31, 32, 33, 34))
    assert [found.parameter(line) for line in range(1, 6)] == ["P31", "P32", "P33", "P34", ""]
    assert len(found.starts) == LINES == 4


@pytest.mark.parametrize(
    "text",
    [
        table(31, 32, 33),
        table(31, 32, 33, 3.4),
        table(31, 31, 32, 33),
        "".join(f"W1 Q{at}.5 P{at}\n" for at in range(4)),
        "".join(f"W{at} P{at} Q1.5\n" for at in range(4)),
        "".join(f"W1 P{at}\n" for at in range(4)),
    ],
)
def test_fewer_lines_parts_of_a_number_the_same_one_twice_or_the_last_letter_choose_nothing(
    text: str,
) -> None:
    found = choosers(text)
    assert not found.starts and found.parameter(1) == ""


def test_one_number_of_five_may_stand_twice() -> None:
    assert choosers(table(31, 32, 33, 34, 34)).parameter(5) == "P34"


def test_a_parameter_that_a_legend_explains_is_one_on_a_single_line_unless_a_line_begins_with_it() -> None:
    assert choosers("W1 P31 Q4.5\n", {"P31"}).parameter(1) == "P31"
    assert choosers("w1 p31 Q4.5\n", {"P31"}).parameter(1) == "P31"
    assert choosers("W1 P31 Q4.5\n").parameter(1) == ""
    assert choosers("W1 P31 Q4.5\nP31 Q2\n", {"P31"}).parameter(1) == ""
    assert choosers("W1 P3.5 Q4.5\n", {"P3.5", "P"}).parameter(1) == ""
    assert choosers("W1 Q4.5 P31\n", {"P31"}).parameter(1) == "", "the last word is what is set"


def test_t_beside_a_value_is_the_tool_where_lines_of_a_code_differ_in_it() -> None:
    found = choosers("C21 T0 E137.7\nC21 T1 E139.9\nC22 T1 E4\n")
    assert [found.tool(line) for line in (1, 2, 3)] == [0, 1, None]
    assert len(found.starts) == 2
    assert choosers("C21 E137.7 T0\nC21 E139.9 T1\n").tool(2) == 1


@pytest.mark.parametrize(
    "text",
    [
        "C21 T0 E137.7\nC21 T0 E139.9\n",
        "C21 T0 E137.7\nC22 T1 E139.9\n",
        "C21 T0\nC21 T1\n",
        "C21 T1 E139.9\nC21 T0\n",
        f"C21 T0 E137.7\nC21 T{MOST_TOOLS} E139.9\n",
        "C21 T0 E137.7\nC21 T1.5 E139.9\n",
        "C21 U0 E137.7\nC21 U1 E139.9\n",
    ],
)
def test_without_two_numbers_of_tools_beside_values_of_one_code_no_tool_is_chosen(text: str) -> None:
    assert choosers(text).tool(1) is None


def test_seven_is_the_last_tool_and_a_line_without_a_value_beside_it_chooses_none() -> None:
    found = choosers("C21 T0 E1.5\nC21 T7 E1.5\nC21 T3\n")
    assert [found.tool(line) for line in (1, 2, 3)] == [0, 7, None]


def test_what_is_out_of_force_counts_for_nothing() -> None:
    words = [
        each for each in read("wren.nc", b"C21 T0 E1.5\nC21 T1 E1.5\n", "command").settings if each.section
    ]
    lines = {
        1: ("C21", tuple(words[:2])),
        2: ("C21", tuple(replace(each, state=State.INACTIVE) for each in words[2:])),
    }
    assert Choosers.of_lines(lines).tool(1) is None


def test_where_nothing_chooses_nothing_is_chosen() -> None:
    assert Choosers().tool(1) is None and Choosers().parameter(1) == ""


@pytest.mark.parametrize(
    ("lines", "asked"),
    [
        ("M207 P0 S5 ; tube feeder\nM207 P1 S3 ; second feeder\n", True),
        ("M207 P20 S5\nM207 P21 S3\n", True),
        ("M207 S5\nM207 P1 S3\n", True),
        ("C21 P0 E5 ; retraction length mm\nC21 P1 E3 ; retraction length mm\n", True),
        ("M207 P0 S5\nM207 P0 S3\n", False),
        ("M207 P0 S5\nM207 P1 S5\n", False),
        ("M207 S5 F2400\nM207 S3 Z0.2\n", False),
    ],
)
def test_lines_of_one_code_that_differ_in_a_letter_nobody_explained_may_be_of_several_feeders(
    lines: str, asked: bool
) -> None:
    machine = recognise([read("heron.cmd", f"M92 E93\n{lines}".encode(), "command")])
    assert ("retraction.length" in {each.quantity for each in machine.readings}) is not asked
    assert ("retraction.length" in {each.about for each in machine.doubts}) is asked


@pytest.mark.parametrize(
    ("line", "tool"),
    [("C22 T1 S5.2\n", 1), ("C22 T3 S5.2\n", None), ("C22 T1\n", None)],
)
def test_a_tool_that_one_code_counts_may_be_chosen_by_a_line_of_another_one_that_names_a_feeder(
    line: str, tool: int | None
) -> None:
    found = choosers(f"C21 T0 E137.7\nC21 T1 E139.9\n{line}")
    assert (found.tool(3, of_feeder=True), found.tool(3)) == (tool, None)


@pytest.mark.parametrize(("remark", "said"), [("; feeder B, mm and mm/min", True), ("; mm", False)])
def test_a_pull_beside_counted_tools_is_of_the_feeder_that_its_remark_names(remark: str, said: bool) -> None:
    text = f"M92 T0 E137.7 ; feeder A\nM92 T1 E139.9 ; feeder B\nM207 T1 S5.2 F2400 {remark}\n"
    machine = recognise([read("wren.nc", text.encode(), "command")])
    pulls = [each.value for each in machine.every_reading if each.quantity == "retraction.length"]
    assert pulls == ([5.2] if said else [])
    assert any(doubt.about == "retraction.length" for doubt in machine.doubts) is not said
