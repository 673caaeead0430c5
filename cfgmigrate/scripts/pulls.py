"""Pulls of scripts that are as long as the old retraction, or too long for a short path, and what pushes them back.

A script that pulls filament back by itself was tried with the drive of its time: behind a tube a pull has the tube's play to
take up first, and without one the same pull draws soft filament into the cold part. Whether a pull is meant as a retraction the
script does not say, so each is a doubt, and so is, in whatever script, the push that brings it back.

Nothing is changed here. Moves that take filament out, or bring it in, go through the whole path and are the matter of `feeds.py`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from cfgmigrate.ground.findings import Doubt
from cfgmigrate.scripts.feeds import THROUGH, Path, feeds_alone, uncounted_feeds
from cfgmigrate.scripts.number_change import Script
from cfgmigrate.scripts.reading import Feed

#: a pull within this factor of the old retraction is about as long; this many new ones are far longer
MUCH = 2.0
#: mm; what is shorter is no long pull in any path (common practice, no source)
SHORT_PULL = 2.0
#: so much of a pull may be kept back where it is brought back, for what oozed (common practice, no source)
KEPT_BACK = 0.05
_PULL = "If it was made for the old path, shorten it, and what brings the filament back, in the same measure."


def retraction_doubts(scripts: Sequence[Script], becomes: Mapping[float, float]) -> Iterator[Doubt]:
    """Pulls and pushes by just an old retraction length that becomes another one; and pulls about as long, where it
    becomes far shorter. `becomes` has the new length for each old one, in mm, whoever's it is.

    A pull is what counts backwards by itself, also where nothing says how the script counts."""
    uncounted = (
        (script, move, feed, n) for script, move, feed, n in uncounted_feeds(scripts) if _backwards(feed)
    )
    pulled: dict[float, str] = {}
    for script, move, feed, length in (*feeds_alone(scripts), *uncounted):
        old = min(becomes, key=lambda each: abs(each - length), default=0.0)
        if not old:
            return
        new = becomes[old]
        if abs(length - old) <= 1e-6 * old:
            why = (
                f"this feeds by just the old retraction length; the new one is {new:g} mm, and whether"
                " this move is meant by it the script does not say"
            )
            remedy = "If it is a retraction, write the new length here and where the filament comes back."
            yield script.doubt(move, feed.word, why, remedy)
        elif (
            script.reading.quantity not in THROUGH
            and _backwards(feed)
            and 1 / MUCH < length / old < MUCH
            and new * MUCH < length
        ):
            why = (
                f"this pulls back about as far as the old retraction of {old:g} mm; the new one is"
                f" {new:g} mm, and in the short path so long a pull may draw soft filament into the cold part"
            )
            doubt = script.doubt(move, feed.word, why, _PULL)
            pulled.setdefault(length, f"{doubt.place.file}:{doubt.place.line}")
            yield doubt
    yield from _back_again(scripts, pulled)


def _back_again(scripts: Sequence[Script], pulled: Mapping[float, str]) -> Iterator[Doubt]:
    """Pushes, in whatever script, by as much as a pull that may have to become shorter, but for what was kept back; `pulled`
    has the place of each. What loads filament or takes it out pushes for reasons of its own."""
    for script, move, feed, length in (*feeds_alone(scripts), *uncounted_feeds(scripts)):
        pull = min(pulled, key=lambda each: abs(each - length), default=0.0)
        place = pulled.get(pull) if abs(pull - length) <= KEPT_BACK * pull else None
        own = (move.occasion or script.reading.quantity).startswith(("script.load", "script.unload"))
        if place is not None and not _backwards(feed) and not own:
            as_much = "just as much" if pull == length else "nearly as much"
            why = f"this pushes by {as_much} as {place} pulls back, which is in doubt for the short path"
            remedy = "Whatever the pull becomes, bring the filament back by the same length."
            yield script.doubt(move, feed.word, why, remedy)


def long_pull_doubts(
    scripts: Sequence[Script], path: Path, retractions: Sequence[float], are: str = "in force"
) -> Iterator[Doubt]:
    """Pulls that are far longer than any of the `retractions`, which `are` in force or wanted, and longer than a short path stands, in scripts that are
    not there to take the filament out."""
    if not retractions:
        return
    most = max(retractions)
    pulled: dict[float, str] = {}
    for script, move, feed, length in (*feeds_alone(scripts), *uncounted_feeds(scripts)):
        through = script.reading.quantity in THROUGH or (move.occasion or "") in THROUGH
        if through or not _backwards(feed) or not max(MUCH * most, SHORT_PULL) < length < path.new:
            continue
        why = (
            f"this pulls back {length:g} mm; the longest retraction {are} is {most:g} mm, and in the short path so long a"
            " pull may draw soft filament into the cold part"
        )
        doubt = script.doubt(move, feed.word, why, _PULL)
        pulled.setdefault(length, f"{doubt.place.file}:{doubt.place.line}")
        yield doubt
    yield from _back_again(scripts, pulled)


def _backwards(feed: Feed) -> bool:
    return (feed.length if feed.length is not None else feed.value or 0.0) < 0
