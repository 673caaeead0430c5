"""What the review records come to for the packet as it is now.

A verdict stands as long as its item is the same (`binding.py`). When a packet is prepared again, the verdicts on
what stayed the same are kept, and the others are reopened and named. Nobody's verdicts are ever lost to another
person's record.

To be let in, a change needs to be accepted by somebody other than the preparer (a name that looks the same is the
same), and to be held or questioned by nobody. What was worked out from something that stays out, stays out with it.
A step by hand or a doubt that anybody holds or questions stops the whole install: what it is about may concern every
change.

This module deliberately settles no disagreement between two people.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.ground.findings import BadInput, Place, Refused
from cfgmigrate.ground.one_at_a_time import one_at_a_time
from cfgmigrate.ground.paths import read_ordinary
from cfgmigrate.packet.binding import basis_of, older_digests, pieces_of
from cfgmigrate.packet.folder import REVIEW, Packet
from cfgmigrate.packet.opening import opened
from cfgmigrate.packet.persons import looks_like, same_person
from cfgmigrate.packet.review import Review, Verdict, read_reviews, write_reviews
from cfgmigrate.plan.identity import doubt_names, name_of, parts_of
from cfgmigrate.plan.model import Change, Plan

#: how a record writes when it was made, in Coordinated Universal Time (ISO 8601)
TIME_FORM = "%Y-%m-%dT%H:%M:%SZ"


class StandingRecord(Struct, frozen=True):
    """One person's record: `review` with the verdicts that stand, `reopened` the items that are no longer what they
    judged, `gone` those that there are no more."""

    review: Review
    reopened: tuple[str, ...] = ()
    gone: tuple[str, ...] = ()


class HeldBack(Struct, frozen=True):
    """A change that stays out, by its id, and why."""

    name: str
    why: str

    def to_json(self) -> dict[str, str]:
        quantity, holder = parts_of(self.name)
        return {"id": self.name, "quantity": quantity, "holder": holder, "why": self.why}


class Allowed(Struct, frozen=True):
    """The changes that the reviews let in, and those that they hold back."""

    changes: tuple[Change, ...]
    held: tuple[HeldBack, ...]


def standings(packet: Packet | Path) -> tuple[StandingRecord, ...]:
    """Every record of a packet, by person."""
    found = opened(packet)
    return tuple(standing_of(review, found) for review in read_reviews(found))


def standing_of(review: Review, packet: Packet) -> StandingRecord:
    """What is left of a record for the packet as it is now."""
    if review.packet == packet.hash:
        return StandingRecord(review)
    pieces, now, older = pieces_of(packet.plan), basis_of(packet), older_digests(packet)
    kept, reopened, gone = [], [], []
    for judgement in review.judgements:
        piece = pieces.get(judgement.item)
        if piece is None:
            gone.append(judgement.item)
        elif review.basis.get(piece) in (now[piece], *older.get(piece, ())):
            kept.append(judgement)
        else:
            reopened.append(judgement.item)
    return StandingRecord(replace(review, judgements=tuple(kept)), tuple(reopened), tuple(gone))


def what_changed(review: Review, packet: Packet) -> tuple[str, ...]:
    """What became different since a review; empty where all of it is the same."""
    if review.packet == packet.hash:
        return ()
    now, older = basis_of(packet), older_digests(packet)
    found = [f"{piece} is new" for piece in now if piece not in review.basis]
    found += [f"{piece} is gone" for piece in review.basis if piece not in now]
    found += [
        f"{piece} changed"
        for piece, digest in review.basis.items()
        if piece in now and digest not in (now[piece], *older.get(piece, ()))
    ]
    return tuple(found) or ("the packet's hash is another one",)


def current_reviews(packet: Packet) -> tuple[Review, ...]:
    """The records with the verdicts that stand. Raises Refused where there are none, saying what changed."""
    found = standings(packet)
    if not found:
        raise Refused(
            "the packet was not reviewed", Place(str(packet.folder)), "Have somebody review it first."
        )
    if not any(each.review.judgements for each in found) and any(
        each.reopened or each.gone for each in found
    ):
        _refuse_void(read_reviews(packet)[0], packet)
    return tuple(each.review for each in found)


def record_review(packet: Packet | Path, review: Review) -> Review:
    """Put a record into a packet, in place of the same person's older one; returns it as recorded.

    Raises Refused where none of its verdicts is of what is in the packet, the same person's newer record lies there, or
    the name only looks like one that is known; BadInput where it speaks of an item that is not there.
    """
    packet = opened(packet)
    if review.packet == packet.hash:
        _refuse_unknown(review, packet.plan)
        review = replace(review, basis=basis_of(packet))
    elif not standing_of(review, packet).review.judgements:
        _refuse_void(review, packet)
    with one_at_a_time(packet.folder):
        # since the packet was opened somebody else may have put theirs in
        there = packet.folder / REVIEW
        kept = read_reviews(replace(packet, review=read_ordinary(there, REVIEW) if there.is_file() else None))
        _refuse_double(review.reviewer, (packet.preparer, *(each.reviewer for each in kept)))
        own = next((each for each in kept if same_person(each.reviewer, review.reviewer)), None)
        if own is not None and _is_time(review.time) and review.time < counted_time(own):
            raise Refused(
                f"{own.reviewer}'s record of {own.time} lies in the packet, and this one is older ({review.time})",
                Place(str(packet.folder / REVIEW)),
                "Nothing was changed. Take in the newer record, or give the verdicts anew with --as.",
            )
        others = [each for each in kept if each is not own]
        write_reviews(packet, [*others, review])
    return review


def of_group(review: Review, packet: Packet) -> StandingRecord:
    """What a group's record comes to in one packet: a record of this packet, with the verdicts on what is the same here.

    What isn't the same stays as this person judged it here before, or open.
    """
    found = standing_of(review, packet)
    judged = {judgement.item for judgement in found.review.judgements}
    before = [
        judgement
        for each in standings(packet)
        if same_person(each.review.reviewer, review.reviewer)
        for judgement in each.review.judgements
        if judgement.item not in judged
    ]
    own = replace(
        review,
        packet=packet.hash,
        judgements=(*before, *found.review.judgements),
        basis=basis_of(packet),
        group=(),
    )
    return replace(found, review=own)


def _refuse_double(name: str, others: Iterable[str]) -> None:
    """A name that only looks like another one would make one person two, or two one.

    Raises Refused for such a one, BadInput for one that can't be seen whole."""
    if not name.isprintable():
        what = f"the name {name!a} has letters that can't be seen"
        raise BadInput(what, Place(REVIEW), "Write the name with letters and blanks alone.")
    for other in others:
        if looks_like(name, other) and not same_person(name, other):
            raise Refused(
                f"the name {name!a} looks like {other!a}, and is written with other letters",
                Place(REVIEW),
                f"Nothing was changed. Whoever is {other} writes the name as it is there; anybody else adds what tells "
                "them apart.",
            )


def counted_time(review: Review) -> str:
    """When a record was made, as it tells; "", before all others, where that is no time or is still to come. A clock that
    was wrong once, or somebody who invents a time, must not keep a person from saying something else."""
    now = datetime.now(UTC).strftime(TIME_FORM)
    return review.time if _is_time(review.time) and review.time <= now else ""


def _is_time(text: str) -> bool:
    return len(text) == len("2031-05-04T10:11:12Z") and text.endswith("Z") and text[:4].isdigit()


def _refuse_unknown(review: Review, plan: Plan) -> None:
    items = list(pieces_of(plan))
    for judgement in review.judgements:
        if judgement.item not in items:
            near = get_close_matches(judgement.item, items, 1)
            raise BadInput(
                f"the packet has no change {judgement.item!a}",
                Place(REVIEW),
                f"Did you mean {near[0]}?" if near else "",
            )


def allowed_changes(plan: Plan, reviews: Sequence[Review], preparer: str) -> Allowed:
    """The changes that the reviews let in (see above), and the others with the reason.

    Raises Refused where only the preparer reviewed, it is not known who prepared the packet, or a doubt or a step by hand
    was held or questioned.
    """
    if not preparer.strip():
        raise Refused("the packet does not say who prepared it", remedy="Prepare it again with a name.")
    others = [review for review in reviews if not looks_like(review.reviewer, preparer)]
    if not others:
        raise Refused(
            f"{reviews[0].reviewer} prepared the packet and can't be its second person",
            remedy="Have somebody else review it.",
        )
    _refuse_open(plan, reviews)
    held: dict[str, str] = {}
    for change in plan.changes:
        objections = _objections(change.id, reviews)
        if objections:
            held[change.id] = "; ".join(objections)
        elif all(review.of(change.id) is None for review in others):
            held[change.id] = "not reviewed"
    _hold_dependents(plan, held)
    return Allowed(
        tuple(change for change in plan.changes if change.id not in held),
        tuple(HeldBack(change.id, held[change.id]) for change in plan.changes if change.id in held),
    )


def joint_verdict(item: str, reviews: Iterable[Review]) -> dict[str, Any]:
    """What all said of an item, as a history keeps it: the verdict of whoever objects, else that it was accepted."""
    said = [(review, judgement) for review in reviews if (judgement := review.of(item)) is not None]
    if not said:
        return {"verdict": "", "note": ""}
    against = [judgement for _, judgement in said if judgement.verdict is not Verdict.ACCEPTED]
    notes = [
        judgement.note if len(said) == 1 else f"{review.reviewer}: {judgement.note}"
        for review, judgement in said
        if judgement.note
    ]
    verdict = (against or [said[0][1]])[0].verdict
    return {"verdict": verdict.value, "note": "; ".join(notes)}


def _objections(item: str, reviews: Iterable[Review]) -> list[str]:
    """Who held or questioned an item, and the note."""
    return [
        f"{judgement.verdict.value} by {review.reviewer}{f': {judgement.note}' if judgement.note else ''}"
        for review in reviews
        if (judgement := review.of(item)) is not None and judgement.verdict is not Verdict.ACCEPTED
    ]


def _refuse_open(plan: Plan, reviews: Sequence[Review]) -> None:
    for name in (*doubt_names(plan.doubts), *(item.id for item in plan.by_hand)):
        objections = _objections(name, reviews)
        if objections:
            raise Refused(
                f"not settled: {name}: {'; '.join(objections)}",
                remedy="Nothing was changed. Settle it, and have it reviewed again.",
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
    raise Refused(
        "the review is void, because it was of something else:\n  "
        + "\n  ".join(what_changed(review, packet)),
        Place(str(packet.folder)),
        "Nothing was changed. Have the packet reviewed as it is now.",
    )
