"""Settings near the feed path that were not understood and whose number is near the old path or the old retraction, or
whose name says in full what can wreck something, with a word more: `retraction length for flexible`.

Each is a doubt with the line of the site file that settles it, the most alarming first, and a handful at most. Where
no file has a retraction and one of them may be it, nobody can say that there is none.
"""

from __future__ import annotations

from collections.abc import Iterator

from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.teach import RETRACTION, Teachable, lengths_of, teachable
from cfgmigrate.rules.engine import Outcome

#: so many are told at most; `survey` has them all
HANDFUL = 5


def near_the_old(machine: Machine, outcome: Outcome) -> tuple[Teachable, ...]:
    """What was not understood and is near the old path or retraction by its number, or near another such value by its words,
    the most alarming first."""
    path = outcome.result("path.length_old")
    lengths = lengths_of(machine, path.value if path is not None and path.value else 0.0)
    return tuple(each for each in teachable(machine, lengths) if each.close_to)


def doubts_of(found: tuple[Teachable, ...]) -> Iterator[Doubt]:
    for each in found[:HANDFUL]:
        first = each.settings[0]
        by_number = f"its number is near {each.near}"
        by_words = f"its name says {each.close_to} and more"
        why = f"this is not understood, and {by_number if each.near else by_words}; it stays as it is"
        remedy = (
            f"change it by hand; it speaks of an occasion of its own, and is no {each.near.removeprefix('the old ')}"
            if each.near == RETRACTION and each.at_an_occasion
            else f"say what it is in cfgmigrate.yaml, under {each.under}: {each.meaning}, or change it by hand"
        )
        yield Doubt(first.place, first.text, why, remedy)


def suspects_in(machine: Machine, found: tuple[Teachable, ...]) -> dict[str, str]:
    """Places of settings that may be a quantity and were not taken, by that quantity: what is in doubt, and what may be
    the retraction by its number."""
    near = [each.settings[0].place for each in found if each.near == RETRACTION]
    places = {"retraction.length": near[0]} if near else {}
    places.update(machine.in_doubt)
    return {name: f"{place.file}:{place.line}" for name, place in places.items()}
