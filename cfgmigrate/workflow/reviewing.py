"""What a second person says of a packet: taken in from the page, from a mail or from the terminal, and taken back.

One record a person lies in the packet; `packet/standing.py` tells what they come to. Item numbers (C7) are looked up
here, because they belong to the cards that were shown; what is kept goes by ids.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec.structs import replace

from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.workflow.inputs import PathLike
from cfgmigrate.workflow.packets import open_packet

if TYPE_CHECKING:
    from cfgmigrate.packet.answer import Answer
    from cfgmigrate.packet.folder import Packet
    from cfgmigrate.packet.review import Judgement, Review

#: so many packets beside one are looked into
MOST_BESIDE = 20


def review(packet: PathLike, record: PathLike) -> Review:
    """Take in a review record that changes.html saved (`record` is its file), and keep it in the packet.

    It takes the place of the same person's older record, and of nobody else's. A group's record gives its verdicts on
    what is the same here (`reviewing_groups.py`). Where a signature lies beside the file
    (`FILE.sig`, as ssh-keygen names it), both are kept as they are. Gives the review as it is kept. Raises
    BadInput where the record can't be read or speaks of something that is not in the packet, Refused where nothing that it
    judges is in this packet, saying what became different.
    """
    from cfgmigrate.ground.positioned_yaml import LONGEST_YAML
    from cfgmigrate.ground.user_file import read_given
    from cfgmigrate.packet.review import parse_review
    from cfgmigrate.packet.signing import SIGNATURE, keep_signed
    from cfgmigrate.packet.standing import record_review

    source = read_given(Path(record), "the review record", LONGEST_YAML)
    opened = open_packet(packet)
    given = parse_review(source, str(record))
    if given.group:
        from cfgmigrate.workflow.reviewing_groups import review_group

        (taken,) = review_group((packet,), record)
        return taken.kept()
    found = record_review(opened, given)
    signature = Path(f"{record}{SIGNATURE}")
    if signature.is_file():
        keep_signed(opened, source, read_given(signature, "the signature", LONGEST_YAML))
    return found


def sign_record(packet: PathLike, reviewer: str, key: PathLike) -> None:
    """Sign the record that `reviewer` has in a packet with an OpenSSH key, and keep it with its signature.

    Raises BadInput where there is none, Refused where it can't be signed."""
    import tempfile

    from cfgmigrate.packet.persons import same_person
    from cfgmigrate.packet.review import bytes_of, read_reviews
    from cfgmigrate.packet.signing import keep_signed, sign

    opened = open_packet(packet)
    own = next((each for each in read_reviews(opened) if same_person(each.reviewer, reviewer)), None)
    if own is None or own.packet != opened.hash:
        raise BadInput(
            f"{reviewer} has no record of this packet as it is", Place("--sign"), "Review it first."
        )
    with tempfile.TemporaryDirectory(prefix="cfgmigrate-") as folder:
        record = Path(folder) / "record.yaml"
        record.write_bytes(bytes_of((own,)))
        keep_signed(opened, record.read_bytes(), sign(record, Path(key)).read_bytes())


def record_verdicts(packet: PathLike, reviewer: str, *, judgements: Sequence[Judgement]) -> Review:
    """Keep verdicts that `reviewer` gave elsewhere than on the page, in the packet.

    They take the place of those that this person gave before. Gives the review as it is kept. Raises what `review` raises.
    """
    from cfgmigrate.packet.standing import record_review

    opened = open_packet(packet)
    return record_review(opened, _record(opened, reviewer, judgements))


def review_mail(packet: PathLike, mail: PathLike, *, reviewer: str = "") -> tuple[Review, Answer]:
    """Take in a mail that gives verdicts by item numbers (`packet/answer.py`). Verdicts that it does not name stay.

    `mail` is its file, `reviewer` who wrote it, if the mail does not tell. Gives the review as it is kept, and what was
    read. Raises BadInput where nobody is named, no verdict can be read or an item is judged twice, Refused where it
    answers another packet or none.
    """
    from cfgmigrate.ground.positioned_yaml import LONGEST_YAML
    from cfgmigrate.ground.user_file import read_given
    from cfgmigrate.packet.answer import read_answer
    from cfgmigrate.packet.standing import record_review

    opened = open_packet(packet)
    text = read_given(Path(mail), "the mail", LONGEST_YAML).decode("utf-8-sig", "replace")
    found = read_answer(text, str(mail), numbers_of(opened), opened.hash, _is_the_only_one(opened))
    name = reviewer.strip() or found.name
    if not name:
        raise BadInput("the mail does not say who wrote it", Place(str(mail)), "Say it with --as NAME.")
    if not found.judgements:
        unread = "".join(f"; not read: line {number}: {line[:120]}" for number, line in found.unread)
        raise BadInput(
            f"no verdict can be read in the mail{unread}",
            Place(str(mail)),
            "Write a line for an item: “C7 accepted”, “C7 held: why” or “C7 question: what”.",
        )
    named = {judgement.item for judgement in found.judgements}
    kept = [each for each in own_verdicts(opened, name) if each.item not in named]
    return record_review(opened, _record(opened, name, [*kept, *found.judgements])), found


def _is_the_only_one(packet: Packet) -> bool:
    """Whether no other packet can be meant: none stood in this one's folder before or lies beside it, and no verdict here
    was given on another."""
    from cfgmigrate.packet.in_place import packets_before
    from cfgmigrate.packet.review import read_reviews

    judged = {each.packet for each in read_reviews(packet)} - {packet.hash}
    return not (judged or packets_before(packet) or any(packets_beside(packet.folder)))


def packets_beside(folder: Path) -> Iterator[Path]:
    """Other folders with a packet beside this one."""
    from cfgmigrate.packet.folder import INDEX

    here = folder.resolve()
    yield from (found.parent for found in sorted(here.parent.glob(f"*/{INDEX}")) if found.parent != here)


def verdicts_beside(packet: Packet) -> tuple[tuple[Path, int], ...]:
    """Packets of the same files that lie beside this one and hold verdicts on items that are the same here, each with how
    many; none where this one has verdicts of its own."""
    from cfgmigrate.ground.findings import CfgError
    from cfgmigrate.packet.folder import REVIEW
    from cfgmigrate.packet.review import read_reviews
    from cfgmigrate.packet.standing import standing_of

    if read_reviews(packet):
        return ()
    found = []
    reviewed = [folder for folder in packets_beside(packet.folder) if (folder / REVIEW).is_file()]
    for folder in reviewed[:MOST_BESIDE]:
        try:
            other = open_packet(folder)
            reviews = read_reviews(other) if other.plan.root == packet.plan.root else ()
        except (CfgError, OSError):
            continue
        same = {each.item for review in reviews for each in standing_of(review, packet).review.judgements}
        if same:
            found.append((folder, len(same)))
    return tuple(found)


def withdraw(packet: PathLike, items: Sequence[str], *, reviewer: str) -> Review:
    """Take `reviewer`'s verdicts on `items` back; each item by its number (C7) or its id.

    Gives what is left of the record. Raises BadInput where this person gave no verdict on one of them.
    """
    from cfgmigrate.packet.standing import record_review

    opened = open_packet(packet)
    numbers, verdicts = numbers_of(opened), own_verdicts(opened, reviewer)
    wanted = {numbers.get(item.upper(), item): item for item in items}
    given = {judgement.item for judgement in verdicts}
    for item, said in wanted.items():
        if item not in given:
            raise BadInput(f"{reviewer} gave no verdict on {said!a}", Place("--withdraw"))
    left = [judgement for judgement in verdicts if judgement.item not in wanted]
    return record_review(opened, _record(opened, reviewer, left))


def numbers_of(packet: Packet) -> dict[str, str]:
    """The items that need a verdict, as number to id, in the order in which they are shown."""
    from cfgmigrate.reports.card import cards_of

    return {card.number: card.key for card in cards_of(packet.plan).reviewed}


def own_verdicts(packet: Packet, reviewer: str) -> tuple[Judgement, ...]:
    """The verdicts of this person that stand for the packet as it is now."""
    from cfgmigrate.packet.persons import same_person
    from cfgmigrate.packet.standing import standings

    for standing in standings(packet):
        if same_person(standing.review.reviewer, reviewer):
            return standing.review.judgements
    return ()


def _record(packet: Packet, reviewer: str, judgements: Sequence[Judgement]) -> Review:
    from datetime import UTC, datetime

    from cfgmigrate.packet.binding import basis_of
    from cfgmigrate.packet.review import Review
    from cfgmigrate.packet.standing import TIME_FORM

    time = datetime.now(UTC).strftime(TIME_FORM)
    found = Review(packet.hash, reviewer, time, tuple(judgements), {})
    return replace(found, basis=basis_of(packet))
