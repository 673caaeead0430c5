"""The words of notes: each is one that a line can be split into, or it would never be found."""

from __future__ import annotations

import pytest

from cfgmigrate.files.marks import words_of
from cfgmigrate.plan.note_words import NoteWords, note_words


@pytest.mark.parametrize("name", [name for name in NoteWords.__struct_fields__ if name != "ungeared"])
def test_a_word_of_a_note_is_one_word_of_a_line(name: str) -> None:
    assert [word for word in getattr(note_words(), name) if words_of(word) != (word,)] == []


def test_what_a_drive_does_is_no_length_of_the_way() -> None:
    assert note_words().turning < note_words().other
