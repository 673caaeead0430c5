"""A word is plain where it is a spelling of a thing by itself, and what is spelled with several words is none of them."""

from __future__ import annotations

from cfgmigrate.machine.plain_words import plain
from cfgmigrate.machine.vocabulary import vocabulary


def test_a_word_is_the_thing_that_it_spells_by_itself_and_any_other_word_is_itself() -> None:
    spellings = vocabulary().spellings
    single = {
        spelling[0]: name for name, several in spellings.items() for spelling in several if len(spelling) == 1
    }
    within = {
        word for several in spellings.values() for spelling in several for word in spelling
    } - single.keys()
    assert within and single
    for word in single:
        assert (word,) in spellings[plain(word)]
    for word in (*within, "quux", ""):
        assert plain(word) == word
