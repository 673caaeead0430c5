"""Feeds of scripts that are longer or faster than the feeder may from now on.

Whose limit counts is told by the tool in force at the move: where it isn't known, the lowest of all feeders that the
move may be of, since the machine refuses the move, or loses steps, with whichever of them it is. A feed
within the limit is told too, once a script, where it is faster than any retraction of a drive that is now on the
carriage. Nothing is edited.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence

from msgspec import Struct

from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.rules.engine import Outcome
from cfgmigrate.scripts.feeds import FeedWay, FeedWayAt, feeds_alone, split_for_the_old, uncounted_feeds
from cfgmigrate.scripts.number_change import Script, ScriptChange
from cfgmigrate.scripts.reading import Feed, Move

_SHORTER = "Make the move shorter, or allow a longer one by hand."


class FeederLimits(Struct, frozen=True):
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
    split = split_for_the_old(scripts, way_at)

    def remedy(script: Script, feed: Feed) -> str:
        told = split.get(script.place(feed.word.start), "")
        return f"Do not split it once more: {told}. Shorten them together." if told else _SHORTER

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
            yield script.doubt(move, feed.word, why, remedy(script, feed))
    for script, move, feed, length in uncounted_feeds(scripts):
        longest = limits.lowest("feeder.max_feed_length", script, move)
        if longest is not None and length > longest:
            why = (
                f"if this feeds {length:g} mm in one move (nothing in the script says M82 or M83), it is longer than the"
                f" machine will allow, {longest:g} mm"
            )
            yield script.doubt(move, feed.word, why, remedy(script, feed))


def fast_feed_doubts(
    scripts: Sequence[Script], limits: FeederLimits, needless: Collection[Place] = ()
) -> Iterator[Doubt]:
    """Feeds of filament alone that ask for more speed than the feeder is allowed from now on; none of those that feed nothing,
    or that are to be taken out, at one of the `needless` places."""
    for script in scripts:
        for move in script.moves:
            if move.feed is None or move.speed is None or not _feeds_alone(move.feed):
                continue
            limit = limits.lowest("feeder.max_speed", script, move)
            if (
                limit is not None
                and move.speed > limit
                and script.place(move.feed.word.start) not in needless
            ):
                why = (
                    f"this feeds at {move.speed:g} mm/s; the feeder may turn at {limit:g} mm/s at the most from now on, so"
                    " the machine refuses it, slows it down or loses steps"
                )
                remedy = f"Write {_speed(move, limit)} or less in this line, or before it where it has none."
                yield script.doubt(move, move.feed.word, why, remedy)


def _feeds_alone(feed: Feed) -> bool:
    """Whether a move feeds filament while no axis moves; one of no length only sets what is counted, or stops something."""
    return feed.alone and feed.length != 0


def _speed(move: Move, speed: float) -> str:
    """A speed in mm/s as the move's own word would say it."""
    word, per_unit = move.speed_word
    return f"{word}{' ' * (len(word) > 1)}{per_unit * speed:g}"


def brisk_feed_doubts(
    scripts: Sequence[Script],
    way_at: FeedWayAt,
    limits: FeederLimits,
    outcome: Outcome,
    needless: Collection[Place],
) -> Iterator[Doubt]:
    """The fastest feed of filament alone of each script that is faster than a new drive on the carriage usually draws
    back, though no limit forbids it. What is at one of the `needless` places is to be taken out, and no longer fast."""
    for script in scripts:
        found = []
        for move in script.moves:
            if move.feed is None or move.speed is None or not _feeds_alone(move.feed):
                continue
            limit, usual = (
                limits.lowest("feeder.max_speed", script, move),
                _usual(way_at(script, move), outcome),
            )
            fast = usual is not None and usual * (1 + 1e-6) < move.speed <= (limit or move.speed)
            if usual is not None and fast and script.place(move.feed.word.start) not in needless:
                found.append((move.speed, usual, move, move.feed.word))
        if found:
            speed, usual, move, word = max(found, key=lambda each: each[0])
            others = sorted({script.line(each[3].start) for each in found} - {script.line(word.start)})
            also = f"; likewise line {', '.join(map(str, others))}" if others else ""
            most = (
                f"its motor keeps its torque up to {usual:g} mm/s, by the sheet's figures"
                if _is_of_the_torque(way_at(script, move), outcome)
                else f"a drive like the new one usually feeds at {usual:g} mm/s at most (common practice, no source), and its torque was not checked"
            )
            turns = _in_turns(speed, script, outcome)
            why = f"this feeds at {speed:.3g} mm/s{turns}, made for the old drive; {most}{also}"
            remedy = f"Write {_speed(move, usual)} or less, or try it once with nothing in the hot end and watch the drive gear."
            yield script.doubt(move, word, why, remedy)


def _usual(way: FeedWay, outcome: Outcome) -> float | None:
    """mm/s up to which a feed asks for nothing unusual of a drive that was tube-fed and is on the carriage now, as a retraction;
    None of any other. The maker's figure for feeds counts where it is higher."""
    now, was, said = (
        way.sheet.get(name) for name in ("new.drive", "old.drive", "new.recommended_feed_speed")
    )
    if now is None or now.word != "on the carriage" or was is None or was.word != "tube-fed":
        return None
    usual = next((each.value for each in outcome.results if each.rule == "retraction.fastest"), None)
    if usual is None:
        return None
    usual = math.floor(10 * usual) / 10
    return max(usual, said.value or 0.0) if said is not None else usual


def _is_of_the_torque(way: FeedWay, outcome: Outcome) -> bool:
    """Whether that speed is the one up to which the motor keeps its torque, and neither custom nor the maker's figure."""
    found = {each.rule: each.value for each in outcome.results}
    corner, said = found.get("feeder.corner_speed"), way.sheet.get("new.recommended_feed_speed")
    return (
        corner is not None
        and corner == found.get("retraction.fastest")
        and (said is None or (said.value or 0.0) < corner)
    )


def _in_turns(speed: float, script: Script, outcome: Outcome) -> str:
    """The same as turns of the motor, where one feeder only can be meant."""
    turn = next((each.value for each in outcome.results if each.rule == "feeder.travel_per_motor_turn"), None)
    return f" ({speed / turn:.3g} motor turns a second)" if turn and len(script.reading.serves) == 1 else ""
