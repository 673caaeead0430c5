"""Few forms may take each other's place: a whole number another, a truth its contrary where it is known to be one."""

from __future__ import annotations

import pytest

from cfgmigrate.plan.writable import CONTRARY, LONGEST_VALUE, is_value, part_of, why_not


@pytest.mark.parametrize(
    "text", ["0.78", "-3.5", "+4", ".5", "12.", "1e-3", "50:9", "50:9, 3:1", "50/9", "0"]
)
def test_numbers_and_gear_stages_are_written(text: str) -> None:
    assert is_value(text)


@pytest.mark.parametrize(
    "text",
    [
        "7.7.5", "1e400", "1e999", "1" * 100_000, "1" * (LONGEST_VALUE + 1), "nan", "inf", "0x1F", "1,5", "", " 5", "5 ", "5\n6",
        "ttyS1", "10.0.0.8", "--5", "1e", ".", "5mm", "1_000", "٣", "50:", ":9", "50:9:3", "5;G1",
    ],
)  # fmt: skip
def test_nothing_else_is_a_value(text: str) -> None:
    assert not is_value(text)
    assert why_not("5", text, truth=False)


@pytest.mark.parametrize("old", [word for word in CONTRARY if not is_value(word)])
def test_a_word_gives_way_to_its_contrary_only_where_a_truth_is_known_to_stand(old: str) -> None:
    assert why_not(old, CONTRARY[old], truth=True) == ""
    assert "nothing says that it is a truth" in why_not(old, CONTRARY[old], truth=False)


@pytest.mark.parametrize("old", ["on", "true", "enabled", "ttyS0"])
def test_no_word_gives_way_to_another_word_or_number(old: str) -> None:
    for new in ("maybe", "5x", "shell"):
        assert why_not(old, new, truth=True)
    assert old in CONTRARY or why_not(old, "5", truth=True)


@pytest.mark.parametrize(
    ("before", "behind"),
    [
        ("port = ttyS", ""),
        ("host = 10.0.0.", ""),
        ("host = ", ".0.0.7"),
        ("version: 1.4.", ""),
        ("file = run", ".txt"),
        ("AXIS", "_MAX"),
    ],
)
def test_a_number_within_a_name_an_address_or_a_version_is_no_whole_one(before: str, behind: str) -> None:
    assert part_of(before, behind, words=False)
    assert part_of(before, behind, words=True) or before.endswith("AXIS") is False


@pytest.mark.parametrize(
    ("before", "behind"),
    [
        ("length = ", ""),
        ("length=", " mm"),
        ("length=", "mm"),
        ("x: [", ", 5]"),
        ('"', '"'),
        ("#define L (", "f)"),
        ("-", ""),
    ],
)
def test_a_number_with_blanks_signs_or_its_unit_around_it_is_a_whole_one(before: str, behind: str) -> None:
    assert part_of(before, behind, words=False) == ""


def test_words_of_a_line_need_no_blanks_between_them() -> None:
    assert part_of("G1X", "Y20F300", words=True) == ""
    assert part_of("G1X", "Y20F300", words=False)


def test_a_number_has_a_comma_where_the_file_s_numbers_have_them_and_nowhere_else() -> None:
    assert why_not("5,2", "0,8", truth=False, commas=True) == ""
    assert why_not("3,5:1", "4,5:1", truth=False, commas=True) == ""
    assert why_not("5,2", "0.8", truth=False, commas=True)
    assert why_not("5,2", "0,8,1", truth=False, commas=True)
    assert why_not("4.6", "0.5", truth=False, commas=True) == ""  # the words of a script keep their points
    assert why_not("4.6", "0,5.1", truth=False, commas=True)
    assert why_not("5,2", "0,8", truth=False)
