"""Feeds of scripts that are longer or faster than the feeder may from now on.

Whose limit counts is told by the tool in force at the move: where it isn't known, the lowest of all feeders that the
move may be of, since the machine refuses the move, or loses steps, with whichever of them it is. Nothing is edited.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from cfgmigrate.ground.findings import Doubt
from cfgmigrate.scripts.feeds import FeedWayAt, feeds_alone, uncounted_feeds
from cfgmigrate.scripts.number_change import Script, ScriptChange
from cfgmigrate.scripts.reading import Move

_SHORTER = "Make the move shorter, or allow a longer one by hand."


@dataclass(frozen=True, slots=True)
class FeederLimits:
    """What the files will hold for each feeder, by number and then quantity, of what changes; `first` is the number
    from which the scripts count tools (None: not known)."""

    written: Mapping[int, Mapping[str, float]]
    first: int | None = None

    def lowest(self, quantity: str, script: Script, move: Move) -> float | None:
        """The lowest new limit of the feeders that a move may be of; None where none of them gets one."""
        feeders = script.feeders_at(move, self.first) if len(self.written) > 1 else tuple(self.written)
        found = (self.written.get(number, {}).get(quantity) for number in feeders)
        return min((value for value in found if value is not None), default=None)


def longest_feed_doubts(
    scripts: Sequence[Script], changes: Sequence[ScriptChange], way_at: FeedWayAt, limits: FeederLimits
) -> Iterator[Doubt]:
    """Feeds that the machine will refuse, for its longest single feed becomes shorter than they are."""
    shortened = {(place.place.file, place.start) for change in changes for place in change.places}
    for script, move, feed, length in feeds_alone(scripts):
        longest = limits.lowest("feeder.max_feed_length", script, move)
        path = way_at(script, move).path
        if path is not None and (script.reading.place.file, feed.word.start) in shortened:
            length -= path.old - path.new
        if longest is not None and length > longest:
            why = (
                f"this feeds {length:g} mm in one move; the longest the machine will allow is {longest:g} mm"
            )
            yield script.doubt(move, feed.word, why, _SHORTER)
    for script, move, feed, length in uncounted_feeds(scripts):
        longest = limits.lowest("feeder.max_feed_length", script, move)
        if longest is not None and length > longest:
            why = (
                f"if this feeds {length:g} mm in one move (nothing in the script says M82 or M83), it is longer than the"
                f" machine will allow, {longest:g} mm"
            )
            yield script.doubt(move, feed.word, why, _SHORTER)


def fast_feed_doubts(scripts: Sequence[Script], limits: FeederLimits) -> Iterator[Doubt]:
    """Feeds of filament alone that ask for more speed than the feeder is allowed from now on."""
    for script in scripts:
        for move in script.moves:
            if move.feed is None or not move.feed.alone or move.speed is None:
                continue
            limit = limits.lowest("feeder.max_speed", script, move)
            if limit is not None and move.speed > limit:
                why = (
                    f"this feeds at {move.speed:g} mm/s; the feeder may turn at {limit:g} mm/s at the most from now on, so"
                    " the machine refuses it, slows it down or loses steps"
                )
                remedy = f"Write F{60 * limit:g} or less in this line, or before it where it has none."
                yield script.doubt(move, move.feed.word, why, remedy)
