"""What is offered for what is not understood: `offered.yaml`, checked when it is loaded.

This module deliberately tries nothing out: that is `word_lessons.py`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from cfgmigrate.ground.data_file import expand, load
from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.machine.quantities import known
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.taught_words import meaning_of

_FILE = "offered.yaml"


@dataclass(frozen=True, slots=True)
class Offered:
    """`meanings` are the pieces of each, the commonest first; `usual` the bounds of a quantity's number, in its unit."""

    meanings: tuple[tuple[str, ...], ...]
    usual: Mapping[str, tuple[float, float]]

    def is_usual(self, quantity: str, value: float) -> bool | None:
        """Whether a number is a usual one, None where nothing is known of its quantity."""
        low, high = self.usual.get(quantity, (0.0, -1.0))
        return None if high < low else low <= value <= high

    def telling(self, quantity: str) -> float:
        """How much it says that a number is a usual one: 0 to 1, the more the closer together the bounds are."""
        low, high = self.usual.get(quantity, (0.0, -1.0))
        return 1 / (1 + math.log(high / low)) if 0 < low <= high else 0.0


@lru_cache(maxsize=1)
def offered() -> Offered:
    """Raises BadInput where the file names a word or a quantity that there is not."""
    data = load(Path(__file__).with_name(_FILE), {"meanings": list, "usual": dict})
    meanings = tuple(meaning_of(str(text)) for text in data["meanings"])
    for pieces in meanings:
        for word in (word for piece in pieces for word in ways_of(piece)[0]):
            if word not in vocabulary().known:
                raise BadInput(f"`{' '.join(pieces)}`: there is no word `{word}`", Place(_FILE))
    usual = {}
    for name, (low, high) in data["usual"].items():
        for quantity, _ in expand(name, list("xyz") if "@" in name else None):
            if not known(quantity) or low > high:
                raise BadInput(f"`{quantity}` is no quantity with bounds", Place(_FILE))
            usual[quantity] = (float(low), float(high))
    return Offered(meanings, usual)
