"""Pulls of scripts that are as long as the old retraction, or too long for a short path, and what pushes them back.

A script that pulls filament back by itself was tried with the drive of its time: behind a tube a pull has the tube's play to
take up first, and without one the same pull draws soft filament into the cold part. Whether a pull is meant as a retraction the
script does not say, so each is a doubt, and so is, in whatever script, the push that brings it back.

Nothing is changed here. Moves that take filament out, or bring it in, go through the whole path and are the matter of `feeds.py`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.scripts.feeds import THROUGH, Path
from cfgmigrate.scripts.number_change import Script
from cfgmigrate.scripts.reading import Feed, Move

#: a pull within this factor of the old retraction is about as long; this many new ones are far longer
MUCH = 2.0
#: mm; what is shorter is no long pull in any path (common practice, no source)
SHORT_PULL = 2.0
#: so much of a pull may be kept back where it is brought back, for what oozed (common practice, no source)
KEPT_BACK = 0.05
_NUMBER = pattern(r"(?<![\w.])\d+(?:\.\d+)?")
_PULL = "If it was made for the old path, shorten it, and what brings the filament back, in the same measure."


def retraction_doubts(scripts: Sequence[Script], becomes: Mapping[float, float]) -> Iterator[Doubt]:
    """Pulls and pushes by just an old retraction length that becomes another one; and pulls about as long, where it
    becomes far shorter. `becomes` has the new length for each old one, in mm, whoever's it is.

    A pull is what counts backwards, by itself or beside an axis, also where nothing says how the script counts; and what goes
    to a lower place than the feed before it, counted since a G92."""
    pulled: dict[float, str] = {}
    by_just_as_much: dict[float, str] = {}
    told: set[tuple[str, int]] = set()
    if not becomes:
        return
    yield from _in_parts(scripts, becomes)
    yield from _not_read(scripts, becomes)
    for fed in _fed(scripts):
        old = min(becomes, key=lambda each: abs(each - fed.length))
        if not fed.back and fed.feed.length is None:
            continue
        new = becomes[old]
        if abs(fed.length - old) <= 1e-6 * old:
            why = (
                f"this feeds by just the old retraction length{fed.counted}; the new one is {new:g} mm, and whether"
                " this move is meant by it the script does not say"
            )
            remedy = "If it is a retraction, write the new length here and where the filament comes back."
            doubt = fed.doubt(why, fed.place_for(new) or remedy)
            told.add((doubt.place.file, fed.feed.word.start))
            yield doubt
            if fed.back:
                by_just_as_much.setdefault(fed.length, f"{doubt.place.file}:{doubt.place.line}")
                yield from _told_to_stand_back(fed)
        elif (
            fed.script.reading.quantity not in THROUGH
            and fed.back
            and 1 / MUCH < fed.length / old < MUCH
            and new * MUCH < fed.length
        ):
            why = (
                f"this pulls back about as far as the old retraction of {old:g} mm{fed.counted}; the new one is"
                f" {new:g} mm, and in the short path so long a pull may draw soft filament into the cold part"
            )
            doubt = fed.doubt(why, _PULL)
            pulled.setdefault(fed.length, f"{doubt.place.file}:{doubt.place.line}")
            yield doubt
            yield from _told_to_stand_back(fed)
    yield from _back_again(scripts, pulled)
    yield from _back_again(scripts, by_just_as_much, kept_back=0.0, told=told)


def _far(length: float, becomes: Mapping[float, float]) -> float:
    """The old retraction that a pull is about as long as where it becomes far shorter, 0 for none."""
    old = min(becomes, key=lambda each: abs(each - length))
    return old if 1 / MUCH < length / old < MUCH and becomes[old] * MUCH < length else 0.0


def _in_parts(scripts: Sequence[Script], becomes: Mapping[float, float]) -> Iterator[Doubt]:
    """Pulls that follow each other and are only together about as long as an old retraction."""
    runs: dict[tuple[int, int], list[_Fed]] = {}
    for at, script in enumerate(scripts):
        for fed in _fed([script]):
            if fed.back and script.reading.quantity not in THROUGH:
                runs.setdefault((at, fed.feed.run), []).append(fed)
    for parts in runs.values():
        whole = sum(fed.length for fed in parts)
        if (
            len(parts) > 1
            and not any(_far(fed.length, becomes) for fed in parts)
            and (old := _far(whole, becomes))
        ):
            why = (
                f"with the pulls before it this pulls back {whole:g} mm, about as far as the old retraction of {old:g} mm; the new one"
                f" is {becomes[old]:g} mm, and in the short path so long a pull may draw soft filament into the cold part"
            )
            yield parts[-1].doubt(why, _PULL)


def _not_read(scripts: Sequence[Script], becomes: Mapping[float, float]) -> Iterator[Doubt]:
    """Feeds whose length can't be told for sure, and may be a pull by an old retraction."""
    for script in scripts:
        for move in script.moves:
            feed = move.feed
            if script.reading.quantity in THROUGH or feed is None or feed.value is not None:
                continue
            numbers = [float(number) for number in _NUMBER.findall(feed.word.text)]
            if any(_far(number, becomes) for number in numbers if number):
                why = f"how far this feeds can't be told for sure ({feed.word.text}); it may pull back as far as the old retraction"
                yield script.doubt(move, feed.word, why, _PULL)


def _told_to_stand_back(fed: _Fed) -> Iterator[Doubt]:
    """The G92 behind a pull that gives the feed's place the number by which the filament stands back."""
    given = fed.move.given
    if given is None or given.word.value is None or not given.word.value < 0:
        return
    number = -given.word.value * fed.feed.scale
    if abs(number - fed.length) <= 1e-6 * number:
        pull = fed.script.place(fed.feed.word.start)
        why = (
            f"this says that the filament stands {number:g} mm back, as far as {pull.file}:{pull.line} pulls it, which is in doubt;"
            " what is fed to 0 next pushes by as much"
        )
        remedy = f"Whatever the pull becomes, write as much behind {given.word.letter}- here."
        yield fed.script.doubt(replace(fed.move, start=given.start, end=given.end), given.word, why, remedy)


def _back_again(
    scripts: Sequence[Script],
    pulled: Mapping[float, str],
    kept_back: float = KEPT_BACK,
    told: Collection[tuple[str, int]] = (),
) -> Iterator[Doubt]:
    """Pushes, in whatever script, by as much as a pull that may have to become shorter, but for what was kept back; `pulled`
    has the place of each. What loads filament or takes it out pushes for reasons of its own. Those that are `told`, by file and
    first byte, are doubts already."""
    for fed in _fed(scripts):
        pull = min(pulled, key=lambda each: abs(each - fed.length), default=0.0)
        place = pulled.get(pull) if abs(pull - fed.length) <= max(kept_back, 1e-6) * pull else None
        own = (fed.move.occasion or fed.script.reading.quantity).startswith(("script.load", "script.unload"))
        if place is not None and not fed.back and not own:
            as_much = "just as much" if abs(pull - fed.length) <= 1e-6 * pull else "nearly as much"
            why = f"this pushes by {as_much} as {place} pulls back, which is in doubt for the short path"
            remedy = "Whatever the pull becomes, bring the filament back by the same length."
            doubt = fed.doubt(why, remedy)
            if (doubt.place.file, fed.feed.word.start) not in told:
                yield doubt


def long_pull_doubts(
    scripts: Sequence[Script], path: Path, retractions: Sequence[float], are: str = "in force"
) -> Iterator[Doubt]:
    """Pulls that are far longer than any of the `retractions`, which `are` in force or wanted, and longer than a short path stands, in scripts that are
    not there to take the filament out."""
    if not retractions:
        return
    most = max(retractions)
    pulled: dict[float, str] = {}
    for fed in _fed(scripts):
        through = fed.script.reading.quantity in THROUGH or (fed.move.occasion or "") in THROUGH
        if through or not fed.back or not max(MUCH * most, SHORT_PULL) < fed.length < path.new:
            continue
        why = (
            f"this pulls back {fed.length:g} mm{fed.counted}; the longest retraction {are} is {most:.2g} mm, and in the short path so"
            " long a pull may draw soft filament into the cold part"
        )
        doubt = fed.doubt(why, _PULL)
        pulled.setdefault(fed.length, f"{doubt.place.file}:{doubt.place.line}")
        yield doubt
        yield from _told_to_stand_back(fed)
    yield from _back_again(scripts, pulled)


class _Fed(Struct, frozen=True):
    """What one move feeds: how far, in mm, whether `back`, and whether that is so only if the feed counts in places."""

    script: Script
    move: Move
    feed: Feed
    length: float
    back: bool
    if_places: bool = False

    @property
    def counted(self) -> str:
        letter = self.feed.word.letter
        return f", if {letter} counts in places, as behind G92" if self.if_places else ""

    def doubt(self, why: str, remedy: str) -> Doubt:
        return self.script.doubt(self.move, self.feed.word, why, remedy)

    def place_for(self, new: float) -> str:
        """What is written for a pull by `new` mm where places are written; "" where lengths are."""
        feed = self.feed
        if not self.back or feed.absolute is False or feed.from_place is None or feed.word.value is None:
            return ""
        if not self.if_places and feed.absolute is None:
            return ""
        letter, number = feed.word.letter, (feed.from_place - new) / feed.scale
        return (
            f"If it is a retraction, write {letter}{number:g} here for {letter}{feed.word.value:g}, which is a place and no length,"
            " and change what brings the filament back."
        )


def _fed(scripts: Sequence[Script]) -> Iterator[_Fed]:
    """All moves that feed filament alone, and those that pull it back beside an axis. Where nothing says how the feed counts
    its number is taken for a length, but for one that is lower than the place that a count since a G92 has come to."""
    for script in scripts:
        for move in script.moves:
            feed = move.feed
            if feed is None or feed.value is None:
                continue
            by, if_places = feed.length if feed.length is not None else feed.value, False
            if feed.length is None and feed.from_place is not None and 0 <= feed.value < feed.from_place:
                by, if_places = feed.value - feed.from_place, True
            known = feed.length is not None or feed.absolute is None
            if known and (feed.alone or by < 0):
                yield _Fed(script, move, feed, abs(by), by < 0, if_places)
