"""The feeds of scripts that were neither changed nor asked about, and are to be looked at all the same.

What a script feeds comes together to something: where one of its feeds is changed or in question, a person looks at the others, too.
The scripts of a profile are few lines, and stand where nobody looks for them: `on_end: G1 E-2` pulls once a print as the old drive
wanted it. So all of their feeds are named where the drive that runs the profile is another one.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator

from cfgmigrate.machine.model import Machine
from cfgmigrate.plan.lines_beside import Beside
from cfgmigrate.plan.lines_by_hand import OF_ONE_PROFILE
from cfgmigrate.plan.old_numbers import OldNumbers
from cfgmigrate.scripts.number_change import scripts_of

FEEDS_TOO = "it also feeds filament, and was neither changed nor asked about"


def feeds_left(
    machine: Machine, told: Collection[tuple[str, int]], olds: OldNumbers, swapped: Collection[int]
) -> Iterator[Beside]:
    """Their lines; of profiles those that a feeder of the `swapped` runs."""
    mine = {
        profile.place.file
        for profile in machine.found_profiles
        if not set(profile.feeders).isdisjoint(swapped)
    }
    for script in scripts_of(machine):
        feeds = [each for each in script.moves if each.feed and each.feed.alone and each.feed.length != 0]
        at = [(script.reading.place.file, script.line(move.feed.word.start)) for move in feeds if move.feed]
        own = script.reading.holder.kind in OF_ONE_PROFILE and script.reading.place.file in mine
        if own or any(place in told for place in at):
            for (file, line), move in zip(at, feeds, strict=True):
                if not olds.of_another(script.text(move)):
                    yield file, line, script.text(move), FEEDS_TOO
