"""Text from files acts on nothing that shows it."""

from __future__ import annotations

import shlex
import unicodedata
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cfgmigrate.reports.safe_text import _MAY_CLIMB, LIMIT, inert, shell_word


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("\x1b[31mred\x1b[0m", "\\x1b[31mred\\x1b[0m"),
        ("\x9b31m", "\\x9b31m"),
        ("safe\u202egnp.exe", "safe\\u202egnp.exe"),
        ("\u2066\u2069\u200e\u061c", "\\u2066\\u2069\\u200e\\u061c"),
        ("two\nlines\r\n", "two\\nlines\\r\\n"),
        ("a\u2028b", "a\\u2028b"),
        ("bell\x07 nul\x00", "bell\\x07 nul\\x00"),
        ("\ufeffmark", "\\ufeffmark"),
        ("tag \U000e0041", "tag \\U000e0041"),
        ("Bäume, 木, עץ, e\u0301", "Bäume, 木, עץ, e\u0301"),
        ("tab\tkept", "tab\tkept"),
    ],
)
def test_what_acts_is_shown_as_an_escape_and_letters_stay(text: str, shown: str) -> None:
    assert inert(text) == shown


def test_marks_that_would_climb_into_other_lines_are_shown_as_escapes() -> None:
    assert inert("e" + "\u0301" * 50).count("\\u0301") == 47


def test_a_long_text_is_cut_and_says_by_how_much() -> None:
    shown = inert("x" * 10_000)
    assert shown.startswith("x" * LIMIT)
    assert shown.endswith("[9,760 more characters]")
    assert len(shown) < LIMIT + 40


def test_nothing_is_cut_that_is_shorter_than_the_remark_on_it() -> None:
    text = "x" * LIMIT + " --more"
    assert inert(text) == text


def test_the_end_of_a_long_text_can_be_kept_instead() -> None:
    assert inert("a" * 500 + "end", 3, keep="end") == "[500 more characters] … end"


@given(st.text(), st.sampled_from([0, 10, 240]))
def test_nothing_that_acts_is_left_whatever_the_text(text: str, limit: int) -> None:
    shown = inert(text, limit)
    acting = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
    assert not [letter for letter in shown if unicodedata.category(letter) in acting and letter != "\t"]
    assert len(shown.splitlines()) <= 1


@given(st.text())
def test_inert_text_stays_as_it_is(text: str) -> None:
    once = inert(text, 0)
    assert inert(once, 0) == once


@pytest.mark.parametrize(
    "name", ["dunlin", "ringing hut", "x; rm -rf ~", "$(id)", "it's", "a\nb; id", "-rf", "ü\u202e"]
)
def test_a_path_in_a_command_line_to_be_copied_is_one_word_of_it(name: str) -> None:
    told = shell_word(Path(name))
    assert "\n" not in told and "\u202e" not in told
    assert shlex.split(told) == [inert(name, limit=0)]


def test_no_letter_of_the_blocks_that_are_not_looked_at_is_a_combining_mark() -> None:
    passed_over = [letter for code in range(0x11_0000) if not _MAY_CLIMB.match(letter := chr(code))]
    assert len(passed_over) > 2000
    assert {unicodedata.category(letter) for letter in passed_over}.isdisjoint({"Mn", "Me"})
