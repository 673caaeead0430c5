"""What a swap does to scripts: moves beyond a new limit, and feeds as long as the old filament path.

A number in a script is changed only where there is nothing to guess; what may go wrong but can't be settled
from the text is a doubt with its place; moves within the limits are left alone. How scripts are read is in
`reading.py`, what is certain and what is not in `limits.py`, `feeds.py`, `pulls.py` and `feed_limits.py`.

Limits and lengths come in as they will stand in the files, rounded as they are written there. This module edits
nothing: its changes carry results and readings as every other quantity does.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace as replaced

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.machine.model import Machine
from cfgmigrate.rules.engine import Outcome
from cfgmigrate.rules.result import Silent
from cfgmigrate.scripts.calls import call_doubts
from cfgmigrate.scripts.feed_limits import (
    FeederLimits,
    brisk_feed_doubts,
    fast_feed_doubts,
    longest_feed_doubts,
)
from cfgmigrate.scripts.feeds import FeedWay, FeedWayAt, feed_changes, path_of, stretches
from cfgmigrate.scripts.letters_unexplained import letter_doubts
from cfgmigrate.scripts.limits import Limit, limit_changes, limits_of
from cfgmigrate.scripts.number_change import Script, ScriptChange, scripts_of
from cfgmigrate.scripts.pulls import long_pull_doubts, retraction_doubts
from cfgmigrate.scripts.reading import Move
from cfgmigrate.scripts.tools import first_tool
from cfgmigrate.scripts.tube_moves import NO_LONGER_NEEDED
from cfgmigrate.sheet.model import Sheet


class ScriptFindings(Struct, frozen=True):
    """All that a swap does to the scripts. `silent` says what was looked at and left alone."""

    changes: tuple[ScriptChange, ...] = ()
    doubts: tuple[Doubt, ...] = ()
    silent: tuple[Silent, ...] = ()


def script_findings(
    machine: Machine,
    outcome: Outcome,
    sheet: Sheet,
    written: Mapping[int, Mapping[str, float]],
    retractions: Mapping[float, float],
    others: Mapping[int, tuple[Outcome, Sheet]] | None = None,
) -> ScriptFindings:
    """The scripts under the new limits and the new path. `written` has the values (in each quantity's unit)
    that the files will hold for each feeder, for the quantities that change; `retractions` the new length for each old one, in mm.
    `others` are the outcomes and sheets of all swapped feeders by number, where the machine has several feeders."""
    scripts = scripts_of(machine)
    limits = limits_of(outcome, machine, next(iter(written.values()), {}))  # an axis is the machine's alone
    calls = (*call_doubts(machine, path_of(outcome, sheet), retractions, limits), *letter_doubts(machine))
    if not scripts:
        return ScriptFindings(doubts=calls)
    by_limit, doubts = limit_changes(scripts, limits, sheet, machine)
    way_at = _ways(machine, FeedWay(path_of(outcome, sheet), sheet), others or {})
    by_path, more = feed_changes(scripts, way_at)
    of_feeders = FeederLimits(written, first_tool(machine))
    too_long = tuple(longest_feed_doubts(scripts, by_path, way_at, of_feeders))
    more, longest = _of_one_stretch(scripts, more, too_long)
    needless = {doubt.place for doubt in more if doubt.remedy.startswith(NO_LONGER_NEEDED)}
    mine = of_swapped(scripts, of_feeders.first, others or {})
    pulls = tuple(retraction_doubts(mine, retractions))
    told = {doubt.place for doubt in (*more, *longest, *pulls)}
    pulls += tuple(each for each in _long_pulls(mine, outcome, sheet, retractions) if each.place not in told)
    found = (
        *doubts,
        *more,
        *longest,
        *pulls,
        *fast_feed_doubts(scripts, of_feeders, needless),
        *brisk_feed_doubts(mine, way_at, of_feeders, outcome, needless),
        *calls,
    )
    changes = (*by_limit, *by_path)
    return ScriptFindings(changes, found, () if changes else (_nothing_to_do(scripts, limits),))


def _long_pulls(
    scripts: Sequence[Script], outcome: Outcome, sheet: Sheet, retractions: Mapping[float, float]
) -> Iterator[Doubt]:
    """Pulls that are too long for a path that becomes short: by what is written as its retraction, and by what it ought to be
    where no file has one that is written."""
    path, new = path_of(outcome, sheet), outcome.by_target.get("retraction.length")
    wanted = tuple(retractions.values()) or ((new.value,) if new is not None and new.value else ())
    if path is not None and path.new < path.old:
        yield from long_pull_doubts(scripts, path, wanted, "wanted")


def _of_one_stretch(
    scripts: Sequence[Script], asked: Sequence[Doubt], longest: Sequence[Doubt]
) -> tuple[tuple[Doubt, ...], tuple[Doubt, ...]]:
    """The questions about stretches of feeds, each with what its other feeds are too long for; and what is left of those
    about feeds that are too long by themselves. A stretch is one question, since it is settled as a whole."""
    stretch = {place: places for places in stretches(scripts) for place in places}
    own = {place: doubt.place for doubt in reversed(asked) for place in stretch.get(doubt.place, ())}
    own.update({doubt.place: doubt.place for doubt in asked})
    told: dict[Place, list[str]] = {}
    for each in longest:
        if each.place in own and own[each.place] != each.place:
            told.setdefault(own[each.place], []).append(f"; line {each.place.line}: {each.why}")
    first = {doubt.place: doubt for doubt in reversed(asked)}
    return (
        tuple(
            replaced(doubt, why="".join((doubt.why, *told.get(doubt.place, ()))))
            if first[doubt.place] is doubt
            else doubt
            for doubt in asked
        ),
        tuple(each for each in longest if each.place not in own),
    )


def of_swapped(scripts: Sequence[Script], first: int | None, swapped: Collection[int]) -> tuple[Script, ...]:
    """The scripts without the moves that are for sure of a feeder that was not swapped."""
    if not swapped:
        return tuple(scripts)
    return tuple(
        replace(
            script,
            moves=tuple(
                move for move in script.moves if not set(script.feeders_at(move, first)).isdisjoint(swapped)
            ),
        )
        for script in scripts
    )


def _ways(machine: Machine, only: FeedWay, feeders: Mapping[int, tuple[Outcome, Sheet]]) -> FeedWayAt:
    """The path of each move: that of the tool in force, else one that all feeders have that it may be of."""
    if len(machine.feeders) < 2:
        return lambda script, move: only
    ways = {number: FeedWay(path_of(*found), found[1]) for number, found in feeders.items()}
    first = first_tool(machine)

    def way_at(script: Script, move: Move) -> FeedWay:
        numbers = script.feeders_at(move, first)
        changing = [ways[number] for number in numbers if number in ways and ways[number].path is not None]
        if not changing:
            return FeedWay(None, only.sheet)
        lengths = {(way.path.old, way.path.new) for way in changing if way.path is not None}
        return replace(changing[0], certain=len(changing) == len(numbers) and len(lengths) == 1)

    return way_at


def _nothing_to_do(scripts: Sequence[Script], limits: Sequence[Limit]) -> Silent:
    moves = sum(len(script.moves) for script in scripts)
    tighter = ", ".join(limit.quantity for limit in limits) or "none"
    why = f"{moves} moves of {len(scripts)} scripts looked at, none of which has to change for certain (tighter limits: {tighter})"
    return Silent("scripts", "scripts", why)
