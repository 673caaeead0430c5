"""Which installs still stand, as the history has it: those of which not every value went back since.

A step back says of each value to which text it went. So it takes back the newest install of that value, and those below it down
to the one that started from this text: going back to a time before two packets takes back both, and one of them alone leaves
the other. An install of which only some values went back stands; what it asked of hands is not to be forgotten for that.

What follows, and whether a person did what was asked, is not told here.
"""

from __future__ import annotations

from collections.abc import Iterable

from cfgmigrate.apply.past_steps import GONE_BACK
from cfgmigrate.store.entries import DONE, HistoryEntry


def still_standing(entries: Iterable[HistoryEntry]) -> tuple[HistoryEntry, ...]:
    """The installs and tunings among these entries that still stand; both oldest first."""
    # of each its names that did not go back, and with every name the text that it started from
    standing: list[tuple[HistoryEntry, set[str], frozenset[tuple[str, str]]]] = []
    for entry in entries:
        if entry.kind == DONE:
            continue
        if entry.kind != GONE_BACK:
            starts = frozenset((name, was) for name, was, _ in entry.values)
            standing.append((entry, {name for name, _ in starts}, starts))
            continue
        for name, _, now in entry.values:
            for _, left, starts in reversed(standing):
                if name in left:
                    left.discard(name)
                    if (name, now) in starts:
                        break
        standing = [
            (each, left, starts)
            for each, left, starts in standing
            if left or not (each.values or each.packet == entry.packet)
        ]
    return tuple(each for each, _, _ in standing)
