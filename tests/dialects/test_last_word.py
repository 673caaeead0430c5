"""By which words a text says that it counts in the end: alone, over another, among names, and between files."""

from __future__ import annotations

import re

import pytest

from cfgmigrate.dialects.last_word import last_word


@pytest.mark.parametrize(
    ("text", "alone", "over_another", "among_names"),
    [
        ("it wins", True, False, True),
        ("this wins over the rest", True, True, True),
        ("win", True, False, False),
        ("override", True, True, False),
        ("looks count more", True, False, False),
        ("what they keep weighs more than a file", True, True, True),
        ("the nozzle goes over the bed", True, True, False),
        ("goes over what the file says", True, True, True),
        ("a winch", False, False, False),
    ],
)
def test_a_verb_is_enough_beside_a_files_name_and_among_names_only_where_it_is_none(
    text: str, alone: bool, over_another: bool, among_names: bool
) -> None:
    words = last_word()
    found = [re.search(each, text) for each in (words.alone, words.over_another, words.among_names)]
    assert [each is not None for each in found] == [alone, over_another, among_names]
    assert not among_names or any(stem in text for stem in words.stems)


def test_to_be_read_behind_the_others_is_said_in_several_ways() -> None:
    says = re.compile(last_word().read_last)
    assert says.search("loaded in afterwards") and says.search("read last") and not says.search("last read")


def test_between_files_only_verbs_count_that_nothing_else_at_a_head_does() -> None:
    said = re.compile(last_word().files.verbs)
    for text, counts in {
        "overrules": True,
        "wins over": True,
        "overridden": False,
        "goes over": False,
    }.items():
        assert bool(said.fullmatch(text)) is counts
    assert not re.search(last_word().alone, "overrules"), "said of a setting it is no such verb"
