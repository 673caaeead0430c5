"""The words of lines that state units: each is one piece of a name, or it would never be found."""

from __future__ import annotations

import pytest

from cfgmigrate.machine.unit_line_words import UnitLineWords, unit_line_words
from cfgmigrate.machine.words import split


@pytest.mark.parametrize("name", UnitLineWords.__struct_fields__)
def test_a_word_of_a_unit_line_is_one_piece_of_a_name(name: str) -> None:
    assert [word for word in getattr(unit_line_words(), name) if list(split(word)) != [word]] == []
