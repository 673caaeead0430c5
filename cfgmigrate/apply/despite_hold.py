"""Changes that somebody holds or questions, and that an install would write all the same.

Whoever holds a change knows something that the plan doesn't, such as that another machine reads the same line. An
install that isn't asked to look at the review must not write over that without a word: it stops, and says who
holds what and why, until each such change is named. So it does for an open question on a value that can wreck something, one that
a light is about: feed, current, retraction or height. A question on another value is the review's matter.

This module deliberately weighs no hold: the preparer's own counts like anybody's.
"""

from __future__ import annotations

import shlex
from collections.abc import Collection

from cfgmigrate.ground.findings import BadInput, Place, Refused
from cfgmigrate.knowledge.lights import light_kinds
from cfgmigrate.packet.folder import Packet
from cfgmigrate.packet.review import Verdict
from cfgmigrate.packet.standing import standings
from cfgmigrate.plan.model import Change

_HELD, _ASKS = "held by", "questioned by"


def holds_passed_over(packet: Packet, changes: Collection[Change], named: Collection[str]) -> tuple[str, ...]:
    """The ids of those of the `changes` that go in though somebody holds them, or questions what can wreck something: all are `named`.

    Raises Refused for one that isn't, BadInput for a name of nothing that is held or questioned so."""
    holds = _holds(packet, changes)
    passed = {_meant(name, holds) for name in named}
    left = {name: why for name, why in holds.items() if name not in passed}
    if left:
        lines = "".join(f"\n  {name}: {why}" for name, why in left.items())
        options = " ".join(f"--despite-hold {shlex.quote(name)}" for name in left)
        raise Refused(
            f"somebody holds {'or questions ' if any(_ASKS in why for why in left.values()) else ''}what would be written:{lines}",
            remedy="Nothing was changed. Settle it with them and take in their new verdict, leave it out with "
            f"--require-review, or install at your own risk: {options}",
        )
    return tuple(holds)


def _holds(packet: Packet, changes: Collection[Change]) -> dict[str, str]:
    """Who holds which of the changes that write something, and why, by the change's id."""
    judged = [
        (judgement, each.review.reviewer)
        for each in standings(packet)
        for judgement in each.review.judgements
    ]
    if not any(judgement.verdict is not Verdict.ACCEPTED for judgement, _ in judged):
        return {}
    wrecks = {value.quantity for kind in light_kinds().kinds for value in kind.values}
    found: dict[str, str] = {}
    for change in changes:
        stopping = {Verdict.HELD: _HELD, **({Verdict.QUESTIONED: _ASKS} if change.quantity in wrecks else {})}
        said = [
            f"{stopping[judgement.verdict]} {who}{f': {judgement.note}' if judgement.note else ''}"
            for judgement, who in judged
            if judgement.item == change.id and judgement.verdict in stopping
        ]
        if said and change.edits:
            found[change.id] = "; ".join(dict.fromkeys(said))
    return found


def _meant(said: str, holds: Collection[str]) -> str:
    """The one held change that is meant: that id, or the only one that differs from it in case and blanks alone."""
    alike = [name for name in holds if name.casefold().split() == said.casefold().split()]
    if said not in holds and len(alike) != 1:
        held = ", ".join(map(repr, holds))
        raise BadInput(
            f"{said!a} is no held change that would be written",
            Place("--despite-hold"),
            f"Held or in question are: {held}."
            if holds
            else "Nothing that would be written is held, or in question where that stops an install.",
        )
    return said if said in holds else alike[0]
