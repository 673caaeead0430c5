"""What the history keeps of a packet: why each value was changed, and who looked at it.

A packet may be lost or thrown away; the machine's record must still be able to say what each value rests on.
So the entry of an install or a tuning holds, in plain JSON, the derivation of each change as text, what was to
be done by hand, what was in doubt, and the reviews with their verdicts, as far as they stand for this very packet.

This module keeps texts only: nothing is worked out from them again, and taking back needs none of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from cfgmigrate.apply.made_for_the_new import steps_of_lines
from cfgmigrate.apply.told_by_hand import old_values
from cfgmigrate.apply.undone_by_hand import back_to
from cfgmigrate.packet.folder import Packet
from cfgmigrate.packet.review import Review
from cfgmigrate.packet.standing import joint_verdict, standings
from cfgmigrate.plan.at_console import told_values
from cfgmigrate.plan.lights_left import after_review
from cfgmigrate.plan.model import ByHand, Change


def reasons_of(packet: Packet, changes: Sequence[Change]) -> dict[str, Any]:
    """The reasons for these changes of a packet, as the history keeps them."""
    found = (standing.review for standing in standings(packet))
    reviews = [review for review in found if review.judgements or review.packet == packet.hash]
    return {
        "prepared_by": packet.preparer,
        "reviewer": ", ".join(review.reviewer for review in reviews),
        "reviewed": max((review.time for review in reviews), default=""),
        "said": [list(pair) for pair in packet.plan.swap],
        "inputs": [file.path for file in packet.plan.files],
        "holders": list(packet.plan.holders),
        **({"called": dict(packet.plan.called)} if packet.plan.called else {}),
        **({"names": packet.names.decode("utf-8", "replace")} if packet.names is not None else {}),
        "rest_of": list(packet.plan.rest_of),
        "changes": [_change(change, reviews) for change in changes],
        "by_hand": [_by_hand(item, reviews) for item in packet.plan.by_hand],
        "lights": _lights(packet, changes),
        "doubts": [f"{doubt.place}: {doubt.why}" for doubt in packet.plan.doubts],
    }


def _lights(packet: Packet, changes: Sequence[Change]) -> list[dict[str, str]]:
    """The lights of what goes in."""
    held = {change.id for change in packet.plan.changes} - {change.id for change in changes}
    return [
        {"light": each.light, "holder": each.holder, "state": each.state, "why": each.why}
        for each in after_review(packet.plan.lights, held)
    ]


def _change(change: Change, reviews: Sequence[Review]) -> dict[str, Any]:
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
        **joint_verdict(change.id, reviews),
    }


def _by_hand(item: ByHand, reviews: Sequence[Review]) -> dict[str, Any]:
    said: dict[str, Any] = {
        "id": item.id,
        "what": item.what,
        "holder": item.holder,
        "text": item.text,
        "rule": item.rule,
        "why": item.why,
    }
    if back := back_to(item):
        said["back"] = back
    if stores := told_values(item):
        said["stores"] = [list(values) for values in stores]
    if steps := steps_of_lines(item.steps):
        said["steps"] = steps
    if was := old_values(item):
        said |= {"was": [list(pair) for pair in was], "value": item.value}
    return {**said, **joint_verdict(item.id, reviews)}
