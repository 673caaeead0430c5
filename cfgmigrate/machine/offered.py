"""What is offered for what is not understood: `offered.yaml`, checked when it is loaded.

This module deliberately tries nothing out: that is `word_lessons.py`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path

from msgspec import Struct

from cfgmigrate.files.own_words import MEANINGS
from cfgmigrate.ground.compiled import compiled
from cfgmigrate.ground.data_file import expand, load
from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.machine.quantities import known
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.taught_words import meaning_of
from cfgmigrate.machine.vocabulary import vocabulary

_FILE = "offered.yaml"


class Offered(Struct, frozen=True):
    """`meanings` are the pieces of each, the commonest first; `near` what a weak word may stand for, in pieces or,
    as one piece with a dot in it, a quantity's id; `usual` the bounds of a quantity's number, or all that are
    usual, in its unit; `elsewhere` are words of other measures and things."""

    meanings: tuple[tuple[str, ...], ...]
    usual: Mapping[str, tuple[float, ...]]
    near: Mapping[str, tuple[tuple[str, ...], ...]]
    elsewhere: frozenset[str]
    #: the meanings of a script's words, each with the words of remarks by which it is offered
    scripts: Mapping[str, tuple[str, ...]]

    def is_usual(self, quantity: str, value: float) -> bool | None:
        """Whether a number is a usual one, None where nothing is known of its quantity."""
        bounds = self.usual.get(quantity, ())
        if len(bounds) > 2:
            return value in bounds
        return bounds[0] <= value <= bounds[1] if bounds else None

    def telling(self, quantity: str) -> float:
        """How much it says that a number is a usual one: 0 to 1, the more the closer together the bounds are."""
        bounds = self.usual.get(quantity, ())
        if len(bounds) > 2:
            return 1 / (1 + math.log(len(bounds)))
        return 1 / (1 + math.log(bounds[1] / bounds[0])) if bounds and bounds[0] > 0 else 0.0


@compiled
def offered() -> Offered:
    """Raises BadInput where the file names a word or a quantity that there is not."""
    data = load(
        Path(__file__).with_name(_FILE),
        {"meanings": list, "near": dict, "elsewhere": list, "usual": dict, "scripts": dict},
    )
    meanings = tuple(meaning_of(str(text)) for text in data["meanings"])
    near = {str(word): tuple(map(_near, several)) for word, several in data["near"].items()}
    tried = (pieces for several in near.values() for pieces in several if "." not in pieces[0])
    for pieces in (*meanings, *tried):
        for word in (word for piece in pieces for word in ways_of(piece)[0]):
            if word not in vocabulary().known:
                raise BadInput(f"`{' '.join(pieces)}`: there is no word `{word}`", Place(_FILE))
    usual = {}
    for name, bounds in data["usual"].items():
        for quantity, _ in expand(name, list("xyz") if "@" in name else None):
            if not known(quantity) or len(bounds) < 2 or sorted(bounds) != bounds:
                raise BadInput(f"`{quantity}` is no quantity with bounds", Place(_FILE))
            usual[quantity] = tuple(map(float, bounds))
    scripts = {str(meaning): tuple(map(str, words)) for meaning, words in data["scripts"].items()}
    if wrong := set(scripts) - set(MEANINGS):
        raise BadInput(f"no word of a script means {min(wrong)!r}", Place(_FILE))
    return Offered(meanings, usual, near, frozenset(map(str, data["elsewhere"])), scripts)


def _near(text: str) -> tuple[str, ...]:
    if "." in text and not known(text):
        raise BadInput(f"`{text}` is no quantity", Place(_FILE))
    return (text,) if "." in text else meaning_of(text)
