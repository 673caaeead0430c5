"""Which files are worth comparing with a further one, so that thousands are not compared each with each.

Those are the files with enough settings to tell, and those whose name is the same but for marks. What comes of the
comparison is for `judge.py`.
"""

from __future__ import annotations

from msgspec import Struct, field

#: from so many settings on, two files can be told to be alike
ENOUGH = 5
#: so many files of one bare name are compared with a further one; more are a numbered family
MOST_OF_A_NAME = 50


class Likely(Struct):
    """The files that another one may be a look-alike of."""

    large: list[str] = field(default_factory=list)
    by_bare: dict[tuple[str, ...], list[str]] = field(default_factory=dict)

    def add(self, path: str, bare: tuple[str, ...], size: int) -> None:
        alike = self.by_bare.setdefault(bare, [])
        if len(alike) < MOST_OF_A_NAME:
            alike.append(path)
        if size >= ENOUGH:
            self.large.append(path)

    def others(self, bare: tuple[str, ...], size: int) -> dict[str, None]:
        large = self.large if size >= ENOUGH else ()
        # a longer name may be that of a shorter one's file once more; the last word is the ending
        shorter = (self.by_bare.get(bare[:end] + bare[-1:], ()) for end in range(1, len(bare) - 1))
        return dict.fromkeys(
            (*large, *self.by_bare.get(bare, ()), *(path for each in shorter for path in each))
        )
