"""The words of places: each is one piece of a name, or it would never be found."""

from __future__ import annotations

import pytest

from cfgmigrate.machine.words import split
from cfgmigrate.plan.place_words import PlaceWords, place_words

PLACES = place_words()


@pytest.mark.parametrize("name", [name for name in PlaceWords.__struct_fields__ if name != "both"])
def test_a_word_of_a_place_is_one_piece_of_a_name(name: str) -> None:
    assert [word for word in getattr(PLACES, name) if list(split(word)) != [word]] == []


def test_where_the_carriage_parks_it_waits() -> None:
    assert PLACES.parks <= PLACES.waits
