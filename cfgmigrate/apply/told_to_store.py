"""What installed packets told to store at the board's console, as the history beside the configuration has it.

What went back as a whole since was told to be stored back, and is left out. Whether anything was stored no history knows:
that is the matter of `plan/stored_by_hand.py`.
"""

from __future__ import annotations

from collections.abc import Iterable

from cfgmigrate.plan.basis import Install, ToldToStore
from cfgmigrate.store.entries import DONE, HistoryEntry


def told_to_store(entries: Iterable[HistoryEntry]) -> tuple[ToldToStore, ...]:
    """What these entries, oldest first, told to store; oldest first."""
    told: dict[int, tuple[str, set[str], list[ToldToStore]]] = {}
    for entry in entries:
        if entry.kind == DONE:
            continue
        moved = {name for name, _, _ in entry.values}
        if entry.reasons:
            stores = [
                values for item in entry.reasons.get("by_hand", ()) for values in item.get("stores", ())
            ]
            by = Install(entry.number, entry.packet)
            told[entry.number] = (
                entry.packet,
                moved,
                [ToldToStore(file, name, was, text, by) for file, name, was, text in stores],
            )
            continue
        own = [number for number, (packet, _, _) in told.items() if packet == entry.packet]
        back = own[-1:] or [number for number, (_, names, _) in told.items() if names and names <= moved]
        for number in back:
            del told[number]
    return tuple(each for *_, several in told.values() for each in several)
