"""Which installs still stand after steps back, by the values alone."""

from __future__ import annotations

import pytest

from cfgmigrate.apply.standing import still_standing
from cfgmigrate.store.entries import HistoryEntry


def entry(number: int, kind: str, packet: str, **values: tuple[str, str]) -> HistoryEntry:
    moved = tuple((name, *each) for name, each in values.items())
    return HistoryEntry(number, kind, "", packet, "wader", (), moved, "")


SWAP = entry(1, "install", "swap", steps=("94", "695"), pull=("5", "0.6"))
TUNE = entry(2, "tune", "tune", steps=("695", "702"))
BY_HAND = entry(3, "install", "by hand alone")


@pytest.mark.parametrize(
    ("back", "standing"),
    [
        ((), [1, 2, 3]),
        ((entry(4, "revert", "tune", steps=("702", "695")),), [1, 3]),
        # to the start: recorded under the newest packet, and all of them went
        ((entry(4, "revert", "tune", steps=("702", "94"), pull=("0.6", "5")),), [3]),
        # a part of a packet leaves it standing; the rest takes it back
        ((entry(4, "revert", "swap", pull=("0.6", "5")),), [1, 2, 3]),
        (
            (entry(4, "revert", "swap", pull=("0.6", "5")), entry(5, "revert", "tune", steps=("702", "94"))),
            [3],
        ),
        # a value that somebody changed since goes back all the same
        ((entry(4, "revert", "tune", steps=("711", "695")),), [1, 3]),
        ((entry(4, "revert", "by hand alone"),), [1, 2]),
        ((entry(4, "done", "swap"), entry(5, "install", "swap", pull=("0.6", "0.7"))), [1, 2, 3, 5]),
    ],
)
def test_an_install_stands_until_all_of_its_values_went_back(
    back: tuple[HistoryEntry, ...], standing: list[int]
) -> None:
    assert [each.number for each in still_standing([SWAP, TUNE, BY_HAND, *back])] == standing
