"""The words of what a name says beside what it names: `aside_words.yaml`, checked when it is loaded.

This module deliberately decides nothing: what is an aside is said in `asides.py`.
"""

from __future__ import annotations

from pathlib import Path

from msgspec import Struct

from cfgmigrate.ground.compiled import compiled
from cfgmigrate.ground.data_file import load
from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.ground.side_words import SIDES_OF_A_MACHINE

_FILE = "aside_words.yaml"


class AsideWords(Struct, frozen=True):
    """`aside_words.yaml`, each set with those that go with it."""

    past: frozenset[str]
    otherwise: frozenset[str]
    moves: frozenset[str]
    sites: frozenset[str]
    heads: frozenset[str]


@compiled
def aside_words() -> AsideWords:
    """Raises BadInput where the file is wrong."""
    lists = AsideWords.__struct_fields__
    found = load(Path(__file__).with_name(_FILE), dict.fromkeys(lists, list))
    past, otherwise, moves, sites, heads = (frozenset(found[name]) for name in lists)
    if strange := sorted(heads - sites):
        raise BadInput(f"`{strange[0]}` is among the heads and not among the sites", Place(_FILE))
    return AsideWords(past, past | otherwise, moves, sites | SIDES_OF_A_MACHINE, heads)
