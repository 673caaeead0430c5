"""Feeds of scripts that are as long as the old filament path.

In a script that loads, unloads or changes filament, a single feed-only move about as long as the old path (`MADE_FOR` in
`tube_moves.py`) was made to bring filament through it or to take it out again. Where the new path is shorter, it becomes
shorter by as much, and whatever had been added to the path stays. Feeds in several parts or of unknown length, and a path that
has become longer, are doubts. What is pulled back by about a retraction's length is the matter of `pulls.py`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import groupby, pairwise

from msgspec import Struct

from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.knowledge.tables import constants
from cfgmigrate.rules.engine import Outcome
from cfgmigrate.rules.result import Status
from cfgmigrate.rules.scope import NamedValue, uncertain
from cfgmigrate.scripts.number_change import Script, ScriptChange, Wording, change_of
from cfgmigrate.scripts.reading import Feed, Move
from cfgmigrate.scripts.tube_moves import MADE_FOR, FeedPlace, comes_to, made_for_a_path, what_is_left
from cfgmigrate.sheet.model import Sheet

#: mm; what is shorter is no other path
SAME_PATH = 1.0
#: the occasion on which a script takes filament out and brings other filament in
_BOTH_WAYS = "script.change"
THROUGH = ("script.load", "script.unload", _BOTH_WAYS)
_HOT = "The nozzle must be at printing temperature for this; it burns. Keep hands away from turning gears."
_FOLLOWS = (
    " G91 (incremental, ISO 6983-1) is taken to hold for the feed too, as on most machines (common practice, no source): no M82 "
    "stands in these files."
)


_ENDS_UP = "the filament ends up where it should, and no gear grinds it."
#: a script that loads pushes its whole path through the nozzle where filament is in already
_TAKEN_OUT_FIRST = f"Take the filament out first, by the script that unloads where there is one. Then run this script once and watch: {_ENDS_UP}"
_BEFORE_LOADING = f"Run the script once, before the one that loads is tried, and watch: {_ENDS_UP}"


class Path(Struct, frozen=True):
    """The filament's way before and after, in mm, and the two names by whose difference feeds change."""

    old: float
    new: float
    names: tuple[str, str]
    given: tuple[NamedValue, ...]

    def made_for_the_old(self, length: float) -> bool:
        return MADE_FOR[0] * self.old <= abs(length) <= MADE_FOR[1] * self.old


class FeedWay(Struct, frozen=True):
    """The path that a move feeds through (None: none that changes), the sheet that tells of it, and whether it is
    `certain` that all feeders that the move may be of have this one."""

    path: Path | None
    sheet: Sheet
    certain: bool = True


FeedWayAt = Callable[[Script, Move], FeedWay]


class _Part(Struct, frozen=True):
    """A feed-only move, and whether a later absolute feed builds on it."""

    move: Move
    feed: Feed
    built_on: bool


def path_of(outcome: Outcome, sheet: Sheet) -> Path | None:
    """The path before and after; None where one of them is not known or both are the same."""
    old, new = outcome.result("path.length_old"), outcome.result("path.length_new")
    if old is None or new is None or old.value is None or new.value is None:
        return None
    if abs(old.value - new.value) < SAME_PATH:
        return None
    for names in (("old.path_length", "new.path_length"), ("old.tube.length", "new.tube.length")):
        if all(sheet.get(name) is not None for name in names):
            return Path(old.value, new.value, names, ())
    given = tuple(
        NamedValue(
            result.rule,
            result.label,
            result.unit,
            f"rule {result.rule}",
            base=uncertain(result.value, result.uncertainty, result.unit, result.rule),
        )
        for result in (old, new)
        if result.value is not None
    )
    return Path(old.value, new.value, (old.rule, new.rule), given)


def feed_changes(
    scripts: Sequence[Script], way_at: FeedWayAt
) -> tuple[tuple[ScriptChange, ...], tuple[Doubt, ...]]:
    """The changes and the doubts that the new path brings for these scripts; `way_at` has the path of each move. Where
    it isn't certain which, nothing is changed."""
    changes: list[ScriptChange] = []
    doubts: list[Doubt] = []
    taken: dict[str, int] = {}
    for script in scripts:
        clear: list[tuple[_Part, FeedWay]] = []
        asked: list[Doubt] = []
        for run in _runs(script):
            way = way_at(script, run[0].move)
            path, mine = way.path, way.certain
            if path is None:
                continue
            for there in _one_way_each(run, path):
                certain = _certain(there, path) if mine and _is_for_that(script, there) else None
                if certain is not None:
                    clear.append((certain, way))
                else:
                    found = _doubts(script, there, path)
                    asked += (doubt if mine else _other_feeders(doubt) for doubt in found)
        if asked and clear and script.reading.quantity.startswith(_BOTH_WAYS):
            # who changes filament by it would take it out by the new way and bring it in by the old one
            asked += (_held(script, part, asked[0]) for part, _ in clear)
            clear = []
        doubts += asked
        for part, way in clear:
            assert way.path is not None
            name = f"{script.reading.quantity}.e"
            taken[name] = taken.get(name, 0) + 1
            number = "" if taken[name] == 1 else str(taken[name])
            changes.append(_shorter(script, part, way.path, way.sheet, name + number))
    return tuple(changes), tuple(doubts)


def _held(script: Script, part: _Part, other: Doubt) -> Doubt:
    why = (
        f"this feeds {abs(part.feed.length or 0.0):g} mm, made for the old path; it is not written, since line {other.place.line} "
        "of the same script is a question, and taking filament out and bringing it in belong together"
    )
    return script.doubt(part.move, part.feed.word, why, "Change both by hand, or settle the other first.")


def _one_way_each(run: list[_Part], path: Path) -> list[list[_Part]]:
    """A run as it is; one that takes filament out of its whole path and brings other filament in, with nothing but a pause
    between, in its two directions."""
    lengths = [part.feed.length or 0.0 for part in run]
    ways = [sum(each for each in lengths if each * sign > 0) * sign for sign in (1, -1)]
    if min(ways) < MADE_FOR[0] * path.old:
        return [run]
    return [list(there) for _, there in groupby(run, key=lambda part: (part.feed.length or 0.0) > 0)]


def _other_feeders(doubt: Doubt) -> Doubt:
    why = f"{doubt.why}; that is the swapped feeder's path, and whether the script is for that feeder alone is not certain"
    remedy = f"{doubt.remedy} Where other feeders use the script too, give each its own length."
    return replace(doubt, why=why, remedy=remedy)


def _runs(script: Script) -> Iterator[list[_Part]]:
    """The feed-only moves of a script, those with no other move between in one list."""
    feeds = [(move, move.feed) for move in script.moves if move.feed is not None]
    runs: dict[int, list[_Part]] = {}
    for index, (move, feed) in enumerate(feeds):
        if not feed.alone:
            continue
        built_on = any(later.rebased == move.rebased for later, _ in feeds[index + 1 :])
        runs.setdefault(feed.run, []).append(_Part(move, feed, bool(feed.absolute) and built_on))
    yield from runs.values()


def split_for_the_old(scripts: Sequence[Script], way_at: FeedWayAt) -> dict[Place, str]:
    """By the place of each feed that only with those beside it comes to about the old path: how many they are, and what they come to."""
    found: dict[Place, str] = {}
    for script in scripts:
        for run in _runs(script):
            path, lengths = way_at(script, run[0].move).path, _lengths_if_each_goes_on(run)
            if (
                path is None
                or path.new >= path.old
                or len(lengths) < 2
                or not made_for_a_path(lengths, path.old)
            ):
                continue
            told = (
                f"{len(lengths)} feeds without another move between come to {comes_to(lengths):g} mm, made for the old path of "
                f"{path.old:g} mm; the new one has {path.new:g} mm"
            )
            found.update((script.place(part.feed.word.start), told) for part in run)
    return found


def stretches(scripts: Sequence[Script]) -> Iterator[tuple[Place, ...]]:
    """The places of feeds that have no other move between, together."""
    for script in scripts:
        for run in _runs(script):
            yield tuple(script.place(part.feed.word.start) for part in run)


def _is_for_that(script: Script, run: list[_Part]) -> bool:
    """Whether the script's occasion is to bring filament through its path or to take it out."""
    return (run[0].move.occasion or script.reading.quantity).startswith(THROUGH)


def _certain(run: list[_Part], path: Path) -> _Part | None:
    """The one move of a run that brings filament through the old path, if nothing about it has to be guessed."""
    through = [
        part for part in run if part.feed.length is not None and path.made_for_the_old(part.feed.length)
    ]
    if len(through) != 1 or path.new >= path.old or any(part.feed.value is None for part in run):
        return None
    part = through[0]
    assert part.feed.length is not None
    left = abs(part.feed.length) - (path.old - path.new)
    if part.built_on or left <= 0 or path.made_for_the_old(left) or _may_be_places(run, path):
        return None
    return part


def _may_be_places(run: list[_Part], path: Path) -> bool:
    """Whether feeds that grow from one to the next are too much for the old path as lengths: they may be places, each
    counted on from the same nought."""
    lengths = [abs(part.feed.length or 0.0) for part in run]
    grow = len(lengths) > 1 and all(one < other for one, other in pairwise(lengths))
    return grow and sum(lengths) > MADE_FOR[1] * path.old


def _doubts(script: Script, run: list[_Part], path: Path) -> Iterator[Doubt]:
    lengths = [part.feed.length for part in run]
    known = [abs(length) for length in lengths if length is not None]
    longest = max(run, key=lambda part: abs(part.feed.length or part.feed.value or 0.0))
    word, move = longest.feed.word, longest.move
    both = f"the old path was {path.old:g} mm, the new one is {path.new:g} mm"
    remedy = f"Change it by hand; the way of the filament changes by {path.new - path.old:+g} mm."
    if path.new > path.old:
        if _is_for_that(script, run) and known and sum(known) < path.new:
            why = f"these feeds come to {sum(known):g} mm in all, which does not reach through the new path; {both}"
            yield script.doubt(move, word, why, remedy)
        return
    through = _lengths_if_each_goes_on(run)
    # whoever splits a long feed has done it for the way, whatever the script or its block is called
    if made_for_a_path(through, path.old) and (_is_for_that(script, run) or len(through) > 1):
        remedy = what_is_left(through, path.old, path.new, _places(script, run))
        if not known and len(through) > 1:
            parts = f"{len(through)} feeds without another move between come to {comes_to(through):g} mm, made for the old path"
            yield script.doubt(move, word, f"{_why_unknown(longest.feed)}. So read, {parts}; {both}", remedy)
            return
    for part in run:
        if (
            part.feed.length is None
            and part.feed.value is not None
            and abs(part.feed.value) >= MADE_FOR[0] * path.old
        ):
            yield script.doubt(part.move, part.feed.word, f"{_why_unknown(part.feed)}; {both}", remedy)
    if sum(known) >= MADE_FOR[0] * path.old:
        several = f"{len(known)} feeds without another move between come to {sum(known):g} mm"
        one = f"this feeds {known[0]:g} mm" if known else ""
        why = f"{one if len(known) == 1 else several}, made for the old path; {both}, and which to shorten is not certain"
        yield script.doubt(move, word, why, remedy)


def _lengths_if_each_goes_on(run: list[_Part]) -> list[float]:
    """How far each feed of a run goes, read as on from where the filament stands where nothing says how it counts; none
    where one of them can't be told even so."""
    if all(part.feed.length is not None for part in run):
        return [part.feed.length for part in run if part.feed.length is not None]
    if any(part.feed.value is None or part.feed.absolute is not None for part in run):
        return []
    return [part.feed.value for part in run if part.feed.value is not None]


def _places(script: Script, run: list[_Part]) -> tuple[FeedPlace, ...]:
    """Where each feed of a run that counts in absolute places goes to; () where any counts in lengths."""
    found = []
    for part in run:
        word = part.feed.word
        if not part.feed.absolute or word.value is None:
            return ()
        line = script.place(word.start).line
        found.append(
            FeedPlace(word.letter, word.value, part.feed.scale, line, part.move.rebased, part.built_on)
        )
    return tuple(found)


def _why_unknown(feed: Feed) -> str:
    """Why it is not known how far a feed goes."""
    if feed.as_axes is False:
        return (
            f"G91 stands before it and holds for the feed too on most machines, but M82, G92 or numbers that grow as places do "
            f"speak against it here. If yours takes it so, this feeds {abs(feed.value or 0.0):g} mm; it is read so once "
            f"M83 stands behind that G91"
        )
    return "how far this feeds depends on what the script does not say (M82, M83, G92)"


def _shorter(script: Script, part: _Part, path: Path, sheet: Sheet, name: str) -> ScriptChange:
    place = script.number(part.feed.word, name, part.feed.scale)
    assert part.feed.length is not None
    old, new = path.names
    sign = "-" if part.feed.length > 0 else "+"
    wording = Wording(
        label=f"{script.label}: path feed",
        way="the old feed, shorter by as much as the path",
        says=(
            f"At {place.place.file}:{place.place.line} the script feeds {abs(part.feed.length):g} mm in one move, made for the"
            f" old path of {path.old:g} mm. The new one has {path.new:g} mm; what had been added to the path stays. Other feeds"
            f" of the script stay as they are.{_FOLLOWS if part.feed.follows else ''}"
        ),
        source="what was added to the path stays as it was",
        verify=_TAKEN_OUT_FIRST if part.feed.length > 0 else _BEFORE_LOADING,
        cautions=(_HOT, *_into_the_melt(part.feed.length + path.new - path.old, path)),
        check_at="first loading",
    )
    formula = f"was.{name} {sign} ({old} - {new})"
    return change_of([place], formula, path.given, wording, sheet, status=Status.ESTIMATE)


def _into_the_melt(length: float, path: Path) -> Iterator[str]:
    """What is told of a feed that goes on in one move where the filament melts. A long tube forgave a few millimetres by its give."""
    melt = constants()["hot_end_length"].value or 0.0
    if length > path.new - melt:
        yield (
            f"This one move brings new filament {length:.0f} mm along a path of {path.new:.0f} mm. The last {melt:.0f} mm or so are the hot "
            "end: what goes in there fast meets what has not melted, and the gears grind the filament. Let a fast move end before them, "
            "with all that is fed before it, and a slow one do the rest (common practice, no source)."
        )


def uncounted_feeds(scripts: Sequence[Script]) -> Iterator[tuple[Script, Move, Feed, float]]:
    """The feed-only moves of which nothing says how they count, with the number that stands there."""
    for script in scripts:
        for move in script.moves:
            feed = move.feed
            if feed is not None and feed.alone and feed.absolute is None and feed.value is not None:
                yield script, move, feed, abs(feed.value)


def feeds_alone(scripts: Sequence[Script]) -> Iterator[tuple[Script, Move, Feed, float]]:
    """All feed-only moves whose length is known, with that length."""
    for script in scripts:
        for move in script.moves:
            if move.feed is not None and move.feed.alone and move.feed.length is not None:
                yield script, move, move.feed, abs(move.feed.length)


def open_feed_doubts(scripts: Sequence[Script], path: Path) -> Iterator[Doubt]:
    """Feeds that are still as long as the old path."""
    for script in scripts:
        for run in _runs(script):
            yield from _doubts(script, run, path)
