"""The reviews of a packet in a terminal: who said what of which item, what stays out, and what is open.

Items on which all said the same share a row, so that a packet of fifty items is read at a glance; `--full` gives each
its own. What was reopened, because it is no longer what somebody judged, is named.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cfgmigrate.ground.findings import Refused
from cfgmigrate.packet.folder import REVIEW, Packet
from cfgmigrate.packet.signing import SIGNED
from cfgmigrate.packet.standing import StandingRecord, allowed_changes, standings
from cfgmigrate.reports.card import Card, cards_of
from cfgmigrate.reports.console import ALARM, heading, line, make_table, plain
from cfgmigrate.reports.safe_text import inert, shell_word
from cfgmigrate.reports.wording import count

if TYPE_CHECKING:
    from rich.console import Console

A_ROW_EACH = 20
"""So many items are shown a row each."""


def review_to_json(packet: Packet) -> dict[str, Any]:
    """The matrix of people and items as plain JSON: each item's number and id, and what each person said of it."""
    found = standings(packet)
    people = [
        {
            "reviewer": each.review.reviewer,
            "time": each.review.time,
            "reopened": list(each.reopened),
            "gone": list(each.gone),
        }
        for each in found
    ]
    items = [
        {
            "number": card.number,
            "id": card.key,
            "verdicts": {
                each.review.reviewer: {"verdict": judgement.verdict.value, "note": judgement.note}
                for each in found
                if (judgement := each.review.of(card.key)) is not None
            },
        }
        for card in cards_of(packet.plan).reviewed
    ]
    return {"packet": packet.hash, "prepared_by": packet.preparer, "people": people, "items": items}


def show_reviews(packet: Packet, console: Console, *, full: bool = False) -> None:
    """The matrix of people and items, the notes, and what an install with `--require-review` would do."""
    found, cards = standings(packet), cards_of(packet.plan).reviewed
    if not found:
        line(console, f"Nobody has reviewed this packet yet; {count(len(cards), 'item')} to judge.", indent=0)
        _next(packet, console)
        return
    heading(console, f"Review of {packet.plan.machine or 'this machine'}")
    table = make_table("item", *(inert(_head(each, packet)) for each in found))
    for those, words in _rows(cards, found, full or len(cards) <= A_ROW_EACH):
        table.add_row(plain(_named(those)), *(plain(word or "–") for word in words))
    console.print(table)
    numbers = {card.key: card.number for card in cards}
    for standing in found:
        line(console, _summary(standing), indent=0)
        for judgement in standing.review.judgements:
            if judgement.note:
                told = f"{standing.review.reviewer} on {numbers[judgement.item]}: {judgement.note}"
                line(console, told, bullet="·")
        if standing.reopened:
            told = ", ".join(numbers[item] for item in standing.reopened)
            line(
                console,
                f"reopened for {standing.review.reviewer}, no longer what was judged: {told}",
                bullet="!",
                style=ALARM,
            )
        if standing.gone:
            line(
                console,
                f"no longer there: {count(len(standing.gone), 'item')} that {standing.review.reviewer} judged",
            )
    line(console, _proof(packet), indent=0)
    _next(packet, console)


def show_taken(found: Sequence[Mapping[str, Any]], console: Console) -> None:
    """What several packets took in of one record, a line each; what was not judged there is named below.

    `found` is what `review PACKET... --record FILE --json` prints."""
    for each in found:
        name = each["machine"] or each["packet"]
        if each["error"]:
            first, *rest = f"{name}: {each['error']['text']}".splitlines()
            line(console, first, bullet="!", style=ALARM)
            for what_to_do in rest:
                line(console, what_to_do.strip(), indent=4, style=ALARM)
            continue
        taken = count(each["taken"], "verdict") if each["taken"] else "no verdict"
        line(console, f"{name}: {taken} taken in", indent=0)
        if each["different"]:
            line(console, f"not the same here, so not judged: {', '.join(each['different'])}", bullet="!")
        if each["missing"]:
            line(console, f"not there: {', '.join(each['missing'])}", bullet="·")
    line(console, "See what is open in one of them: cfgmigrate review PACKET", indent=0)


def _proof(packet: Packet) -> str:
    """What the records prove, in plain words."""
    if (packet.folder / SIGNED).is_dir():
        return "Signed records lie in the packet; whose they are is checked by install --require-review --signed-by FILE."
    return "None is signed: a record proves what was judged, not by whom (review --sign KEY)."


def kept_lines(packet: Packet) -> list[str]:
    """For a packet that was prepared again: whose verdicts stand, and what was reopened; a line a person."""
    numbers = {card.key: card.number for card in cards_of(packet.plan).reviewed}
    found = []
    for each in standings(packet):
        told = f"{each.review.reviewer}'s verdicts stand on {count(len(each.review.judgements), 'item')}"
        reopened = ", ".join(numbers[item] for item in each.reopened)
        found.append(f"Review: {told}{f'; reopened: {reopened}' if reopened else ''}")
    return found


def beside_lines(beside: Sequence[tuple[Path, int]], packet: Path) -> list[str]:
    """Where verdicts on items of a packet lie in another one beside it, and how they are taken over."""
    return [
        f"{count(many, 'verdict')} on what is the same here {'lies' if many == 1 else 'lie'} in {folder.name}. To take "
        f"them over, for each person: cfgmigrate review {shell_word(packet)} --record {shell_word(folder / REVIEW)}"
        for folder, many in beside
    ]


def _summary(standing: StandingRecord) -> str:
    """`B. Plover, 2031-05-04T10:11:12Z: 12 accepted, 1 held`."""
    verdicts = [judgement.verdict.value for judgement in standing.review.judgements]
    told = ", ".join(f"{verdicts.count(word)} {word}" for word in dict.fromkeys(verdicts))
    return f"{standing.review.reviewer}, {standing.review.time}: {told or 'no verdict that stands'}"


def _head(standing: StandingRecord, packet: Packet) -> str:
    own = " (prepared it)" if standing.review.reviewer.strip() == packet.preparer.strip() else ""
    return f"{standing.review.reviewer}{own}"


def _rows(
    cards: Sequence[Card], found: Sequence[StandingRecord], each: bool
) -> Iterable[tuple[list[Card], tuple[str, ...]]]:
    """Cards and what each person said of them; neighbours of whom all said the same together."""

    def said(card: Card) -> tuple[str, ...]:
        judged = (standing.review.of(card.key) for standing in found)
        return tuple(judgement.verdict.value if judgement else "" for judgement in judged)

    if each:
        return [([card], said(card)) for card in cards]
    return [(list(those), words) for words, those in groupby(cards, key=said)]


def _named(cards: Sequence[Card]) -> str:
    if len(cards) == 1:
        return f"{cards[0].number} {cards[0].title}"
    spans = [list(those) for _, those in groupby(cards, key=lambda card: card.kind)]
    return ", ".join(
        those[0].number if len(those) == 1 else f"{those[0].number} to {those[-1].number}" for those in spans
    )


def _next(packet: Packet, console: Console) -> None:
    """What `install --require-review` would let in."""
    reviews = [standing.review for standing in standings(packet)]
    if not reviews:
        told = "Review it on changes.html, or here: --as NAME; take an answer in: --record FILE, --mail FILE."
    else:
        try:
            allowed = allowed_changes(packet.plan, reviews, packet.preparer)
        except Refused as error:
            told = f"install --require-review is refused: {error.what}."
        else:
            told = f"install --require-review lets in {len(allowed.changes)} of {count(len(packet.plan.changes), 'change')}."
    console.print()
    line(console, told, indent=0)
