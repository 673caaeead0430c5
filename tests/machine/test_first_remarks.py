"""What the first remark of a code says of later lines of the same code."""

from __future__ import annotations

import pytest

from cfgmigrate.machine.first_remarks import FirstRemarks

LISTED = "L length mm, F speed mm/min"


def taken(*lines: tuple[str, str, str]) -> FirstRemarks:
    found = FirstRemarks()
    for code, letters, remark in lines:
        found.take(code, tuple(letters), remark)
    return found


@pytest.mark.parametrize(
    ("own", "says"),
    [
        ("the same", "drive current"),
        ("same for the right one", "drive current"),
        ("Ditto", "drive current"),
        ("likewise", "drive current"),
        ("as above", "drive current"),
        ("as before, only less", "drive current"),
        ("left one, like above", "drive current"),
        ("right one, the same letters", "drive current"),
        ("samesies", ""),
        ("something else", ""),
        ("drive current", ""),
        ("", ""),
    ],
)
def test_a_line_that_says_it_is_the_same_means_the_first_of_its_code(own: str, says: str) -> None:
    found = taken(("A9", "C", "drive current"), ("A9", "C", "something new"))
    assert found.same_for("A9", own) == says
    assert found.same_for("A8", own) == ""


def test_a_first_remark_that_says_the_same_is_no_explanation_of_itself() -> None:
    assert taken(("A9", "C", "same as left")).same_for("A9", "same as left") == ""


@pytest.mark.parametrize(
    ("letters", "own", "says"),
    [
        ("LF", "", LISTED),
        ("L", "", LISTED),
        ("LFQ", "", ""),
        ("LF", "slow", LISTED),
        ("LF", "the probe", ""),
        ("LF", "in mm/s", ""),
        ("LF", "the probe, as above", LISTED),
        ("LF", LISTED, ""),
    ],
)
def test_a_list_of_letters_explains_later_lines_that_have_no_more_of_them(
    letters: str, own: str, says: str
) -> None:
    found = taken(("A9", "LF", LISTED), ("A9", "LF", "L way, F pace"))
    assert found.list_for("A9", tuple(letters), own) == says


def test_a_list_that_leaves_out_a_letter_of_its_own_line_is_none() -> None:
    assert taken(("A9", "LFQ", LISTED)).list_for("A9", ("L", "F"), "") == ""
    assert taken(("A9", "LF", "two numbers")).list_for("A9", ("L", "F"), "") == ""


@pytest.mark.parametrize(
    ("code", "letters", "own", "says"),
    [
        ("A9", "C", "", "drive current"),
        ("A9", "C", "less", ""),
        ("A9", "D", "", ""),
        ("A8", "C", "", ""),
        ("A7", "X", "", "most speed"),
        ("A7", "YZ", "", "most speed"),
        ("A7", "E", "", "most speed"),
        ("A7", "XF", "", ""),
    ],
)
def test_a_remark_holds_for_lines_without_one_that_have_the_same_letters_and_axes_are_alike(
    code: str, letters: str, own: str, says: str
) -> None:
    found = taken(("A9", "C", "drive current"), ("A9", "C", "other"), ("A7", "XY", "most speed"))
    assert found.other_for(code, tuple(letters), own) == says


def test_moves_lines_without_letters_and_lines_without_a_remark_explain_nothing() -> None:
    found = taken(("G1", "C", "drive current"), ("A9", "", "same"), ("A9", "C", ""), ("A9", "C", "lag"))
    assert found.other_for("G1", ("C",), "") == "" and found.same_for("G1", "same") == ""
    assert found.other_for("A9", ("C",), "") == "lag" and found.same_for("A9", "same") == "lag"
