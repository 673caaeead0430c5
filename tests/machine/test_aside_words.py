"""The words of asides: each is one piece of a name, or it would never be found."""

from __future__ import annotations

import pytest

from cfgmigrate.machine.aside_words import AsideWords, aside_words
from cfgmigrate.machine.words import split


@pytest.mark.parametrize("name", AsideWords.__struct_fields__)
def test_a_word_of_an_aside_is_one_piece_of_a_name(name: str) -> None:
    assert [word for word in getattr(aside_words(), name) if list(split(word)) != [word]] == []


def test_what_was_before_is_not_in_force() -> None:
    assert aside_words().past < aside_words().otherwise
