"""Changes that somebody holds, and that an install would write all the same.

Whoever holds a change knows something that the plan doesn't, such as that another machine reads the same line. An
install that isn't asked to look at the review must not write over that without a word: it stops, and says who
holds what and why, until each such change is named.

This module deliberately weighs no hold: the preparer's own counts like anybody's.
"""

from __future__ import annotations

import shlex
from collections.abc import Collection

from cfgmigrate.ground.findings import BadInput, Place, Refused
from cfgmigrate.packet.folder import Packet
from cfgmigrate.packet.review import Verdict
from cfgmigrate.packet.standing import standings
from cfgmigrate.plan.model import Change


def holds_passed_over(packet: Packet, changes: Collection[Change], named: Collection[str]) -> tuple[str, ...]:
    """The ids of those of the `changes` that go in though somebody holds them: all are `named`.

    Raises Refused for one that isn't, BadInput for a name of nothing that is held."""
    holds = _holds(packet, changes)
    passed = {_meant(name, holds) for name in named}
    left = {name: why for name, why in holds.items() if name not in passed}
    if left:
        lines = "".join(f"\n  {name}: {why}" for name, why in left.items())
        options = " ".join(f"--despite-hold {shlex.quote(name)}" for name in left)
        raise Refused(
            f"somebody holds what would be written:{lines}",
            remedy="Nothing was changed. Settle it with them and take in their new verdict, leave it out with "
            f"--require-review, or install at your own risk: {options}",
        )
    return tuple(holds)


def _holds(packet: Packet, changes: Collection[Change]) -> dict[str, str]:
    """Who holds which of the changes that write something, and why, by the change's id."""
    judged = [
        (judgement.item, f"held by {each.review.reviewer}{f': {judgement.note}' if judgement.note else ''}")
        for each in standings(packet)
        for judgement in each.review.judgements
        if judgement.verdict is Verdict.HELD
    ]
    written = [change.id for change in changes if change.edits]
    found = {name: "; ".join(why for item, why in judged if item == name) for name in written}
    return {name: why for name, why in found.items() if why}


def _meant(said: str, holds: Collection[str]) -> str:
    """The one held change that is meant: that id, or the only one that differs from it in case and blanks alone."""
    alike = [name for name in holds if name.casefold().split() == said.casefold().split()]
    if said not in holds and len(alike) != 1:
        held = ", ".join(map(repr, holds))
        raise BadInput(
            f"{said!a} is no held change that would be written",
            Place("--despite-hold"),
            f"Held are: {held}." if holds else "Nothing that would be written is held.",
        )
    return said if said in holds else alike[0]
