"""Every text of a card, so that a report can be asked whether it leaves one out."""

from __future__ import annotations

from collections.abc import Iterable

from cfgmigrate.reports.card import Card


def texts_of(card: Card) -> list[str]:
    """The texts that every report of a plan must show."""
    return [text for text in (*_of(card), *_calculation(card)) if text]


def _of(card: Card) -> Iterable[str]:
    yield from (
        card.number,
        card.title,
        card.quantity,
        card.old,
        card.new,
        card.status,
        card.sure,
        card.way,
        card.when,
    )
    yield from (card.says[1:].rstrip("."), card.instruction[1:].rstrip("."), card.check)
    yield from (*card.steps, *card.warnings, *card.cautions, *card.notes)
    yield from card.places
    for name, text in card.facts:
        if name != "Uncertainty from":  # told in pieces on the page
            yield from (name[1:], text)


def _calculation(card: Card) -> Iterable[str]:
    how = card.calculation
    if how is None:
        return
    yield from (how.formula and how.result,)
    for given in how.legend:
        yield from (given.label, given.value, given.origin, given.share)
    for part in how.behind:
        yield from (part.name, part.origin, part.share)
