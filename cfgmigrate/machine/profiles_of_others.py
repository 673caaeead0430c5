"""A profile whose name says that it runs on one machine alone: `PETG black on heron only`.

Whether that machine is this one the files of several machines don't say, and what another one prints with is nothing that a swap
here may change. So nothing of such a profile is written until a person says whose it is. A feeder of that name is this machine's.

This module deliberately looks at no values: an old and a new retraction may be either machine's.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable

from msgspec.structs import replace

from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import Reading
from cfgmigrate.machine.words import split

_ONE_ALONE = pattern(
    r"\b(?:only (?:on|for)|(?:on|for)(?= .{1,40} only\b)) (?:the )?(?P<who>[^\W\d_][\w-]{1,30})(?: only)?\b",
    needs=("only",),
)


def without_profiles_of_others(
    readings: Iterable[Reading], feeders: Collection[str]
) -> tuple[list[Reading], list[Doubt]]:
    """The readings, those of such profiles not to be edited, and a question a profile. `feeders` are the names of this machine's."""
    own = {word for name in feeders for word in split(name)}
    kept: list[Reading] = []
    asked: dict[str, Doubt] = {}
    for each in readings:
        profile = each.holder.profile
        alone = _ONE_ALONE.search(profile.name.casefold()) if profile else None
        if profile is None or alone is None or own.intersection(split(alone["who"])):
            kept.append(each)
            continue
        why = f"the profile's name says that it is for {alone['who']} alone, and whether that is this machine is not said"
        kept.append(replace(each, editable=False, why_not=why))
        asked.setdefault(profile.name, _question(each, why))
    return kept, list(asked.values())


def _question(each: Reading, why: str) -> Doubt:
    remedy = "nothing of it is written: if it is this machine's, give it a name without `only`, or write its lines by hand"
    return Doubt(each.place, str(each.holder), why, remedy, about=each.quantity)
