"""What the history keeps of a packet: why each value was changed, and who looked at it.

A packet may be lost or thrown away; the machine's record must still be able to say what each value rests on.
So the entry of an install or a tuning holds, in plain JSON, the derivation of each change as text, what was to
be done by hand, what was in doubt, and the review with its verdicts, as far as it was of this very packet.

This module keeps texts only: nothing is worked out from them again, and taking back needs none of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from cfgmigrate.packet.folder import Packet
from cfgmigrate.packet.review import Review, read_review, what_changed
from cfgmigrate.plan.model import ByHand, Change


def reasons_of(packet: Packet, changes: Sequence[Change]) -> dict[str, Any]:
    """The reasons for these changes of a packet, as the history keeps them."""
    review = _review(packet)
    return {
        "prepared_by": packet.preparer,
        "reviewer": review.reviewer if review else "",
        "reviewed": review.time if review else "",
        "said": [list(pair) for pair in packet.plan.swap],
        "inputs": [file.path for file in packet.plan.files],
        "holders": list(packet.plan.holders),
        "rest_of": list(packet.plan.rest_of),
        "changes": [_change(change, review) for change in changes],
        "by_hand": [_by_hand(item, review) for item in packet.plan.by_hand],
        "doubts": [f"{doubt.place}: {doubt.why}" for doubt in packet.plan.doubts],
    }


def _review(packet: Packet) -> Review | None:
    review = read_review(packet)
    return review if review is not None and not what_changed(review, packet) else None


def _change(change: Change, review: Review | None) -> dict[str, Any]:
    derivation = change.derivation
    return {
        "id": change.id,
        "quantity": change.quantity,
        "holder": change.holder,
        "cause": [list(pair) for pair in change.cause],
        "label": change.label,
        "unit": change.unit,
        "status": change.status.value,
        "way": change.way,
        "old": change.old.text if change.old else "",
        "new": change.new.text,
        "value": change.new.value,
        "uncertainty": change.new.uncertainty,
        "places": [f"{edit.file}:{edit.line}" for edit in change.edits],
        "says": change.says,
        "formula": derivation.formula,
        "substituted": derivation.substituted,
        "source": derivation.source,
        "warnings": list(change.warnings),
        "verify": change.verify,
        **_verdict(change.id, review),
    }


def _by_hand(item: ByHand, review: Review | None) -> dict[str, Any]:
    said = {"id": item.id, "what": item.what, "holder": item.holder, "text": item.text, "why": item.why}
    return {**said, **_verdict(item.id, review)}


def _verdict(item: str, review: Review | None) -> dict[str, str]:
    judgement = review.of(item) if review else None
    if judgement is None:
        return {"verdict": "", "note": ""}
    return {"verdict": judgement.verdict.value, "note": judgement.note}
