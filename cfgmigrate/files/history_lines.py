"""What a board keeps of its past beside its values: `job.12: clip_37 356 min 74.2 m`.

Such lines are many of one name that are numbered, and each has words of its own and several numbers behind them, of which one is how
long it took. No value of the machine is written so: what a board keeps of a drive is a number, with a unit, or a list of numbers. So they are
passed by where the text is one of saved values. Without a time such rows may be a list of drives in words that nobody knows, `row.3: Vortrieb 101 0.6`. A row that names what its numbers are by a word of the trade, `motor.2: current 800 hold 400`, is none of
them, and neither are two or three lines: those are asked about as ever.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import cache

from cfgmigrate.dialects.document import Setting
from cfgmigrate.files.content import known_words
from cfgmigrate.files.marks import words_of
from cfgmigrate.ground.pattern import pattern

#: so many numbered lines of one name are a history
FEWEST_OF_A_PAST = 3
_NUMBERED_NAME = pattern(r"(?P<name>[^\W\d][\w ./-]{0,60}?)[ \t._-]*\d{1,6}")
_A_WORD = pattern(r"[^\W\d_]{3,}")
_OWN_NUMBER = pattern(r"(?<![\w.])[-+]?\d+(?:[.,]\d+)?")
#: how long something took: no drive, axis or feed is set in hours
_HOW_LONG = pattern(r"(?<![\w.,])\d+(?:[.,]\d+)?[ \t]*(?:min(?:utes?)?|h(?:ours?|rs?)?|days?)\b", re.I)
#: minutes
_OF_TIME = frozenset(("min",))


def without_history(settings: Sequence[Setting]) -> list[Setting]:
    """The settings without those that tell what the machine did before."""
    found: dict[str, list[int]] = {}
    for at, each in enumerate(settings):
        if (name := _of_a_past(each)) is not None:
            found.setdefault(name, []).append(at)
    past = {at for lines in found.values() if len(lines) >= FEWEST_OF_A_PAST for at in lines}
    return [each for at, each in enumerate(settings) if at not in past]


def _of_a_past(setting: Setting) -> str | None:
    """The name without its number of a line that may tell of the past; None for any other."""
    name = _NUMBERED_NAME.fullmatch(setting.key)
    value = setting.value
    if (
        name is None
        or not _A_WORD.search(value)
        or len(_OWN_NUMBER.findall(value)) < 2
        or not _HOW_LONG.search(value)
    ):
        return None
    if not _trade().isdisjoint(_plain(f"{setting.section} {name['name']} {value}")):
        return None
    return f"{setting.section} {name['name']}".casefold()


def _plain(text: str) -> Iterable[str]:
    return set(words_of(text)) - _OF_TIME


@cache
def _trade() -> frozenset[str]:
    words = known_words()
    return words.trade | words.hardware | frozenset[str]().union(*words.concepts)
