"""The shape of the reasons that a history keeps with an entry.

What they mean is no matter of the store: who writes them is in `apply/recorded_reasons.py`. But whoever can write a
history can make its hashes anew; so the kinds of all fields are checked where it is read, and nobody who reads them has
to think of a number where a list should stand. Older releases kept less: what they lacked may be missing. A field of a
newer release is passed over.
"""

from __future__ import annotations

from typing import Any, Required, TypedDict

import msgspec

Pairs = list[tuple[str, str]]


class KeptChange(TypedDict, total=False):
    """A value that moved, and why."""

    id: str
    quantity: Required[str]
    holder: str
    cause: Pairs
    label: Required[str]
    unit: Required[str]
    status: Required[str]
    way: str
    old: str
    new: Required[str]
    value: float | None
    uncertainty: Required[float]
    places: list[str]
    says: Required[str]
    formula: Required[str]
    substituted: Required[str]
    source: Required[str]
    warnings: list[str]
    cautions: list[str]
    verify: Required[str]
    verdict: str
    note: str


class KeptByHand(TypedDict, total=False):
    """What was to be done by hand."""

    id: str
    what: Required[str]
    holder: str
    text: str
    rule: str
    was: list[tuple[str, float]]
    value: float | None
    back: str
    #: what was to be stored at the board's console: the listing's file, the name, the old and the new text
    stores: list[tuple[str, str, str, str]]
    why: Required[str]
    verdict: str
    note: str


class KeptHeldFile(TypedDict, total=False):
    """Where values that were held back stood in a file: of each its name, and its bytes before and after."""

    path: str
    dialect: str
    before: str
    after: str
    spans: list[tuple[str, int, int, int, int]]


class KeptHeld(TypedDict, total=False):
    """What a review held back, and why."""

    why: dict[str, str]
    files: list[KeptHeldFile]


class KeptReasons(TypedDict, total=False):
    """All of it."""

    prepared_by: str
    reviewer: str
    reviewed: str
    said: Pairs
    inputs: list[str] | None
    holders: list[str]
    #: the names file that it was prepared with
    names: str
    rest_of: list[str]
    changes: list[KeptChange]
    by_hand: list[KeptByHand]
    lights: list[dict[str, str]]
    doubts: list[str]
    held: KeptHeld
    #: each file that was read, and the name of the copy that is kept of it
    read: dict[str, str]
    #: the hash of each file that was there and is another machine's, since it names one of those that were read
    beside: dict[str, str]
    accepted_unknown: list[str]
    accepted_unproven: list[str]
    #: the changes that went in though somebody held them
    despite_hold: list[str]
    done: list[str]
    undone: bool


def are_reasons(data: Any) -> bool:
    """Whether a piece of JSON has the shape of kept reasons."""
    try:
        found = msgspec.convert(data, KeptReasons)
    except (msgspec.ValidationError, RecursionError):
        return False
    return all({"light", "holder", "state"} <= light.keys() for light in found.get("lights", ()))
