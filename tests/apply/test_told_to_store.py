"""What installed packets told to store at the board's console, as the history has it."""

from __future__ import annotations

from cfgmigrate.apply.told_to_store import told_to_store
from cfgmigrate.store.entries import HistoryEntry


def entry(number: int, kind: str, packet: str, before: str, after: str) -> HistoryEntry:
    stores = [("kept.txt", "feeder.steps_per_mm", before, after)]
    reasons = None if kind == "revert" else {"by_hand": [{"stores": stores}]}
    values = (("feeder.steps_per_mm", before, after),)
    return HistoryEntry(number, kind, "", packet, "wader", (), values, "", reasons=reasons)


SWAP, TUNE = entry(1, "install", "swap", "94", "695"), entry(2, "tune", "tune", "695", "702")


def test_what_the_packets_told_stands_in_their_order() -> None:
    assert [each.entry.number for each in told_to_store([SWAP, TUNE])] == [1, 2]


def test_taking_one_packet_back_forgets_what_that_one_told_and_no_more() -> None:
    assert [
        each.entry.number for each in told_to_store([SWAP, TUNE, entry(3, "revert", "tune", "702", "695")])
    ] == [1]


def test_going_back_to_a_time_before_both_forgets_both() -> None:
    assert not told_to_store([SWAP, TUNE, entry(3, "revert", "tune", "702", "94")])
