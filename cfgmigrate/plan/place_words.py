"""The words by which a name says that it has a place over the bed: `place_words.yaml`, checked when it is loaded.

This module deliberately decides nothing: which places are out of reach is said in `places_out_of_reach.py`.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from msgspec import Struct

from cfgmigrate.ground.compiled import compiled
from cfgmigrate.ground.data_file import load
from cfgmigrate.ground.findings import BadInput, Place

_FILE = "place_words.yaml"
_BY_AXIS = ("sides", "both")


class PlaceWords(Struct, frozen=True):
    """`place_words.yaml`; `sides` turned round, from the word to the axis, and `both` from the two words to it."""

    places: frozenset[str]
    sides: Mapping[str, str]
    both: tuple[tuple[frozenset[str], str], ...]
    things: frozenset[str]
    of_things: frozenset[str]
    goes: frozenset[str]
    waits: frozenset[str]
    parks: frozenset[str]
    areas: frozenset[str]
    heights: frozenset[str]
    no_place: frozenset[str]
    probed: frozenset[str]
    levels: frozenset[str]


@compiled
def place_words() -> PlaceWords:
    """Raises BadInput where the file is wrong."""
    lists = [name for name in PlaceWords.__struct_fields__ if name not in _BY_AXIS]
    data = load(
        Path(__file__).with_name(_FILE), {**dict.fromkeys(lists, list), **dict.fromkeys(_BY_AXIS, dict)}
    )
    if strange := sorted({*data["sides"], *data["both"]} - set("xyz")):
        raise BadInput(f"there is no axis `{strange[0]}`", Place(_FILE))
    sides = {word: axis for axis, words in data["sides"].items() for word in words}
    both = tuple((frozenset(pair), axis) for axis, pairs in data["both"].items() for pair in pairs)
    return PlaceWords(sides=sides, both=both, **{name: frozenset(data[name]) for name in lists})
