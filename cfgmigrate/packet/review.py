"""The review record: who looked at which packet, and what they said of each change.

    format: 1
    packet: <the packet's hash>
    reviewer: A. Heron
    time: "2031-05-04T10:11:12Z"
    verdicts:
      - {item: feeder.rotation_distance, verdict: accepted, note: ""}
      - {item: retraction.length @ filament petg, verdict: held, note: "it oozes"}
    basis: {...}      what was reviewed, piece by piece, so that a void review can say what changed
    seal: ...         only in the packet's own review.yaml

A verdict is accepted, held or questioned; an item is the id of a change or of what is to be done by hand. A
review is bound to the packet's hash: with any other hash it is void and says what became different. What
is not accepted stays out, and so does what was worked out from it.

This module deliberately trusts no record: only plain text is taken from it.
"""

from __future__ import annotations

import io
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from enum import StrEnum
from pathlib import Path
from typing import Any

from cfgmigrate.ground.disk import write_over
from cfgmigrate.ground.findings import BadInput, Place, Refused
from cfgmigrate.ground.positioned_yaml import LONGEST_YAML, Node, read_marked
from cfgmigrate.packet.folder import REVIEW, Packet, hash_of_json, opened, sealed, unsealed
from cfgmigrate.plan.identity import doubt_names, name_of, parts_of
from cfgmigrate.plan.model import Change, Plan

_FIELDS = ("format", "packet", "reviewer", "time", "verdicts", "basis", "seal")


class Verdict(StrEnum):
    """What a reviewer says of one change."""

    ACCEPTED = "accepted"
    HELD = "held"
    QUESTIONED = "questioned"


@dataclass(frozen=True, slots=True)
class Judgement:
    """A verdict on one item, with the reviewer's note."""

    item: str
    verdict: Verdict
    note: str = ""


@dataclass(frozen=True, slots=True)
class Review:
    """A review of the packet whose hash is `packet`. `basis` maps each reviewed piece to its hash."""

    packet: str
    reviewer: str
    time: str
    judgements: tuple[Judgement, ...]
    basis: Mapping[str, str]

    def of(self, item: str) -> Judgement | None:
        return next((judgement for judgement in self.judgements if judgement.item == item), None)

    def to_json(self) -> dict[str, Any]:
        return {
            "format": 1,
            "packet": self.packet,
            "reviewer": self.reviewer,
            "time": self.time,
            "verdicts": [
                {"item": each.item, "verdict": each.verdict.value, "note": each.note}
                for each in self.judgements
            ],
            "basis": dict(self.basis),
        }


@dataclass(frozen=True, slots=True)
class HeldBack:
    """A change that stays out, by its id, and why."""

    name: str
    why: str

    def to_json(self) -> dict[str, str]:
        quantity, holder = parts_of(self.name)
        return {"id": self.name, "quantity": quantity, "holder": holder, "why": self.why}


@dataclass(frozen=True, slots=True)
class Allowed:
    """The changes that a review lets in, and those that it holds back."""

    changes: tuple[Change, ...]
    held: tuple[HeldBack, ...]


def review_basis(plan: Plan) -> dict[str, str]:
    """What a review is of, piece by piece: files, sheet, rules, each change and by-hand item."""
    return basis_of(plan.to_json())


def basis_of(index: Mapping[str, Any]) -> dict[str, str]:
    """The same of changes.json as it is, whichever release wrote it."""
    inputs = index["inputs"]
    basis = {f"file {file['path']}": str(file["sha256"]) for file in inputs["files"]}
    basis |= {
        f"sheet {inputs['sheet']['path']}": inputs["sheet"]["sha256"],
        "rule book": inputs["rules"]["sha256"],
    }
    for kind, group, name in (("change", "changes", "quantity"), ("by hand", "by_hand", "what")):
        basis |= {f"{kind} {item.get('id', item[name])}": hash_of_json(item) for item in index[group]}
    return basis


def what_changed(review: Review, packet: Packet) -> tuple[str, ...]:
    """What became different since a review; empty where it still holds."""
    if review.packet == packet.hash:
        return ()
    now = basis_of(packet.index)
    found = [f"{piece} is new" for piece in now if piece not in review.basis]
    found += [f"{piece} is gone" for piece in review.basis if piece not in now]
    found += [
        f"{piece} changed" for piece, digest in review.basis.items() if now.get(piece, digest) != digest
    ]
    return tuple(found) or ("the packet's hash is another one",)


def parse_review(data: bytes, source: str) -> Review:
    """A review record from its YAML, from the page or from the terminal.

    Raises BadInput, with line and column, where it is not one.
    """
    if len(data) > LONGEST_YAML:
        raise BadInput(f"{len(data)} bytes are too many for a review record", Place(source))
    top = read_marked(data, source)
    fields = _fields(top, "a review record", _FIELDS)
    if _text(top, fields, "format") != "1":
        raise BadInput("a review record begins with `format: 1`", fields["format"].place)
    verdicts = fields.get("verdicts", top)
    if verdicts.elements is None:
        raise BadInput("`verdicts` must be a list", verdicts.place, _EXAMPLE)
    basis = fields.get("basis", Node(top.place, items=()))
    return Review(
        packet=_text(top, fields, "packet"),
        reviewer=_text(top, fields, "reviewer"),
        time=_text(top, fields, "time"),
        judgements=tuple(_judgements(verdicts.elements)),
        basis={item.key: item.node.text or "" for item in basis.items or ()},
    )


def read_review(packet: Packet | Path) -> Review | None:
    """The review that lies in a packet, None where there is none. It may be void: see `what_changed`."""
    found = opened(packet)
    if found.review is None:
        return None
    text = unsealed(found.review)
    if text is None:
        raise Refused("its seal does not hold", Place(REVIEW), "Review the packet again.")
    return parse_review(found.review, REVIEW)


def current_review(packet: Packet) -> Review:
    """The packet's review. Raises Refused where there is none, or it is void, saying what changed."""
    review = read_review(packet)
    if review is None:
        raise Refused(
            "the packet was not reviewed", Place(str(packet.folder)), "Have somebody review it first."
        )
    _refuse_void(review, packet)
    return review


def record_review(packet: Packet | Path, review: Review) -> Review:
    """Put a review into a packet, in place of an older one; returns it as recorded.

    Raises Refused where it is of another packet, BadInput where it speaks of an item that is not there.
    """
    packet = opened(packet)
    _refuse_void(review, packet)
    plan = packet.plan
    items = [change.id for change in plan.changes] + [item.id for item in plan.by_hand]
    items += doubt_names(plan.doubts)
    for judgement in review.judgements:
        if judgement.item not in items:
            near = get_close_matches(judgement.item, items, 1)
            raise BadInput(
                f"the packet has no change {judgement.item!a}",
                Place(REVIEW),
                f"Did you mean {near[0]}?" if near else "",
            )
    whole = Review(review.packet, review.reviewer, review.time, review.judgements, basis_of(packet.index))
    try:
        write_over(packet.folder / REVIEW, sealed(_review_bytes(whole)))
    except OSError as error:
        raise Refused(
            f"the review can't be written: {error.strerror}", Place(str(packet.folder / REVIEW))
        ) from error
    return whole


def allowed_changes(plan: Plan, review: Review, preparer: str) -> Allowed:
    """The changes that were accepted by someone other than the preparer, and rest on nothing that is held.

    Raises Refused where the reviewer is the preparer, it is not known who prepared the packet, or a doubt was held or
    questioned: what it is about may concern every change.
    """
    if not preparer.strip():
        raise Refused("the packet does not say who prepared it", remedy="Prepare it again with a name.")
    if _same_person(review.reviewer, preparer):
        raise Refused(
            f"{review.reviewer} prepared the packet and can't be its second person",
            remedy="Have somebody else review it.",
        )
    for name in doubt_names(plan.doubts):
        judgement = review.of(name)
        if judgement is not None and judgement.verdict is not Verdict.ACCEPTED:
            raise Refused(
                f"{review.reviewer} {judgement.verdict.value} a doubt: {name}{f' ({judgement.note})' if judgement.note else ''}",
                remedy="Nothing was changed. Settle it, and have it reviewed again.",
            )
    held: dict[str, str] = {}
    for change in plan.changes:
        judgement = review.of(change.id)
        if judgement is None:
            held[change.id] = "not reviewed"
        elif judgement.verdict is not Verdict.ACCEPTED:
            note = f": {judgement.note}" if judgement.note else ""
            held[change.id] = f"{judgement.verdict.value} by {review.reviewer}{note}"
    _hold_dependents(plan, held)
    return Allowed(
        tuple(change for change in plan.changes if change.id not in held),
        tuple(HeldBack(change.id, held[change.id]) for change in plan.changes if change.id in held),
    )


def _hold_dependents(plan: Plan, held: dict[str, str]) -> None:
    """Add to `held` what was worked out from something that is held, directly or by way of others."""
    names = {
        name: change.id
        for change in plan.changes
        for name in (change.id, name_of(change.rule, change.holder))
        if change.rule or name == change.id
    }
    grown = True
    while grown:
        grown = False
        for change in plan.changes:
            needed = {names[name] for name in change.depends if name in names}
            reason = next((name for name in sorted(needed) if name in held), None)
            if change.id not in held and reason is not None:
                held[change.id] = f"depends on {reason}, which is held"
                grown = True


def _refuse_void(review: Review, packet: Packet) -> None:
    changed = what_changed(review, packet)
    if changed:
        raise Refused(
            "the review is void, because it was of something else:\n  " + "\n  ".join(changed),
            Place(str(packet.folder)),
            "Nothing was changed. Have the packet reviewed as it is now.",
        )


def _same_person(one: str, other: str) -> bool:
    from unicodedata import normalize

    spelled = [" ".join(normalize("NFKC", name).casefold().split()) for name in (one, other)]
    return spelled[0] == spelled[1]


_EXAMPLE = 'A verdict is written as `- {item: motor.run_current, verdict: accepted, note: ""}`.'


def _fields(node: Node, what: str, allowed: tuple[str, ...]) -> dict[str, Node]:
    """The fields of a mapping. Raises BadInput where it is none, or has a field that there is not."""
    if node.items is None:
        raise BadInput(f"{what} must have the fields {', '.join(allowed)}", node.place)
    for item in node.items:
        if item.key not in allowed:
            near = get_close_matches(item.key, allowed, 1)
            remedy = f"Did you mean {near[0]}?" if near else f"There are: {', '.join(allowed)}."
            raise BadInput(f"{what} has no field {item.key!a}", item.place, remedy)
    return {item.key: item.node for item in node.items}


def _text(parent: Node, fields: Mapping[str, Node], name: str) -> str:
    node = fields.get(name)
    if node is None or not node.text:
        raise BadInput(f"`{name}` is missing", (node or parent).place)
    return node.text


def _judgements(verdicts: tuple[Node, ...]) -> Iterator[Judgement]:
    seen: set[str] = set()
    for node in verdicts:
        fields = _fields(node, "a verdict", ("item", "verdict", "note"))
        item, verdict = _text(node, fields, "item"), _text(node, fields, "verdict")
        if item in seen:
            raise BadInput(f"a second verdict on {item!a}", node.place, "Keep one of the two.")
        seen.add(item)
        if verdict not in list(Verdict):
            remedy = f"Use one of: {', '.join(Verdict)}."
            raise BadInput(f"{verdict!a} is no verdict", fields["verdict"].place, remedy)
        note = fields.get("note")
        yield Judgement(item, Verdict(verdict), (note.text or "") if note else "")


def _review_bytes(review: Review) -> bytes:
    from ruamel.yaml import YAML

    yaml = YAML(typ="rt", pure=True)
    yaml.width = sys.maxsize  # a key that is broken over two lines can't be read again
    out = io.BytesIO()
    yaml.dump(review.to_json(), out)
    return out.getvalue()
