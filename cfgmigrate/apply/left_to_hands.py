"""What a revert leaves to hands: what the packets asked of them, to be undone, and the lines that a person changed since a
packet had named them.

How such a thing is worded is the matter of `undone_by_hand.py`, which lines are meant that of `made_for_the_new.py`. No file
is read or written here but the copies that the history keeps.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from cfgmigrate.apply.file_revert import RevertedItem
from cfgmigrate.apply.made_for_the_new import asked_likewise, made_for_the_new
from cfgmigrate.apply.standing import still_standing
from cfgmigrate.apply.undone_by_hand import back_to, leaves_nothing, undone, with_its_old, without_newer
from cfgmigrate.apply.whole_revert import before_entries
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.packet.folder import Packet
from cfgmigrate.plan.model import ByHand
from cfgmigrate.store.entries import HistoryEntry
from cfgmigrate.store.keeping import Store

_COLUMN = pattern(r"(?::\d{1,9}){1,2}$")


def undone_in_order(items: Sequence[ByHand]) -> list[str]:
    """What a packet asked of hands; first what has an old value to go back to, since that is to be done for certain."""
    left = [item for item in items if not leaves_nothing(item.rule)]
    return [undone(item) for item in sorted(left, key=lambda item: not back_to(item))]


def asked_by_hand(later: Sequence[HistoryEntry]) -> list[str]:
    """What the packets of these entries asked of hands, without those that went back as a whole since."""
    asked: dict[str, list[str]] = {}
    for each in still_standing(later):
        if each.reasons:
            asks = _first(each.reasons.get("by_hand", ()))
            left = [item for item in asks if not leaves_nothing(str(item.get("rule", "")))]
            asked[each.packet] = [with_its_old(str(item["what"]), str(item.get("back", ""))) for item in left]
    known: set[str] = set()
    every = (without_newer(what, known) for hands in asked.values() for what in hands)
    return [what for what in every if what]


def _first(asks: Sequence[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    return sorted(asks, key=lambda item: not item.get("back"))


def questions_of(packet: Packet) -> list[tuple[str, list[str]]]:
    """What a packet asked, each with its places."""
    return [
        (
            each.why,
            [
                f"{each.place.file}:{each.place.line}",
                *asked_likewise(each.why, each.place.file),
                each.why,
                each.remedy,
            ],
        )
        for each in packet.plan.doubts
    ]


def made_for(store: Store, entry: HistoryEntry, kept: Sequence[RevertedItem]) -> tuple[str, ...]:
    """What is told of edits in lines that the steps of an install had named."""
    asks = (entry.reasons or {}).get("by_hand", ())
    hands = [(str(item["what"]), [str(step) for step in item["steps"]]) for item in asks if item.get("steps")]
    doubts = (str(each).partition(": ") for each in (entry.reasons or {}).get("doubts", ()))
    questions = [
        (why, [place, *asked_likewise(why, _COLUMN.sub("", place)), why]) for place, _, why in doubts
    ]
    if not (hands or questions) or not kept:
        return ()
    before = {path: each.data for path, each in before_entries(store, [entry])[0].items()}
    return made_for_the_new(before, hands, kept, questions)
