"""The words by which a line is a note of the old drive: `note_words.yaml`, checked when it is loaded.

This module deliberately decides nothing: what is such a note is said in `notes_of_the_old.py`.
"""

from __future__ import annotations

from pathlib import Path

from msgspec import Struct

from cfgmigrate.ground.compiled import compiled
from cfgmigrate.ground.data_file import load


class NoteWords(Struct, frozen=True):
    """`note_words.yaml`."""

    carriage: frozenset[str]
    weight: frozenset[str]
    begins: frozenset[str]
    ends: frozenset[str]
    turning: frozenset[str]
    other: frozenset[str]
    volts: frozenset[str]
    supplied: frozenset[str]
    drives: frozenset[str]
    grips: frozenset[str]
    no_grip: frozenset[str]
    geared: frozenset[str]
    ungeared: frozenset[str]


@compiled
def note_words() -> NoteWords:
    """Raises BadInput where the file is wrong."""
    lists = NoteWords.__struct_fields__
    found = load(Path(__file__).with_name("note_words.yaml"), dict.fromkeys(lists, list))
    words = {name: frozenset(found[name]) for name in lists}
    return NoteWords(**{**words, "other": words["other"] | words["turning"]})
