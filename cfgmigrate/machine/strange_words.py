"""The words of settings' names that nobody knows, cut as a person would teach them.

Strange pieces side by side are one word, as `zum klo` in `zum_klo_x`, unless one of them stands elsewhere without the
other: then each is a word by itself, and `zum_klo` and `zum_dub` have three.

This module looks at names only; what such a word may mean is tried out in `word_lessons.py`.
"""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache

from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.vocabulary import vocabulary

Pieces = tuple[str, ...]


@lru_cache(maxsize=16384)
def is_strange(piece: str) -> bool:
    """Whether a run of letters is no word of the trade and short for none. A single letter may be anything."""
    if len(piece) < 2 or piece.isdigit() or piece in vocabulary().known:
        return False
    return ways_of(piece) == ((piece,),)


def runs_of(pieces: Pieces) -> Iterator[Pieces]:
    """The strange pieces of a part of a name that stand side by side."""
    run: list[str] = []
    for piece in (*pieces, ""):
        if piece and is_strange(piece):
            run.append(piece)
        elif run:
            yield tuple(run)
            run = []


class Cuts:
    """How runs of strange pieces are cut into words: where two of them don't always stand together."""

    def __init__(self, runs: Iterable[Pieces]) -> None:
        self._pieces: Counter[str] = Counter()
        self._pairs: Counter[tuple[str, str]] = Counter()
        for run in dict.fromkeys(runs):
            self._pieces.update(run)
            self._pairs.update(itertools.pairwise(run))

    def words(self, run: Sequence[str]) -> Iterator[Pieces]:
        """The words of a run."""
        word = [run[0]]
        for before, piece in itertools.pairwise(run):
            if self._pairs[before, piece] == self._pieces[before] == self._pieces[piece]:
                word.append(piece)
            else:
                yield tuple(word)
                word = [piece]
        yield tuple(word)
