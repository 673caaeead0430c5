"""What installed packets told to store at the board's console, as the history beside the configuration has it.

What went back as a whole since (`standing.py`) was told to be stored back, and is left out. Whether anything was stored no history
knows: that is the matter of `plan/stored_by_hand.py`.
"""

from __future__ import annotations

from collections.abc import Iterable

from cfgmigrate.apply.standing import still_standing
from cfgmigrate.plan.basis import Install, ToldToStore
from cfgmigrate.store.entries import HistoryEntry


def told_to_store(entries: Iterable[HistoryEntry]) -> tuple[ToldToStore, ...]:
    """What these entries, oldest first, told to store; oldest first."""
    return tuple(
        ToldToStore(file, name, was, text, Install(entry.number, entry.packet))
        for entry in still_standing(entries)
        for item in (entry.reasons or {}).get("by_hand", ())
        for file, name, was, text in item.get("stores", ())
    )
