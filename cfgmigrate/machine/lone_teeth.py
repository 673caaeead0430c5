"""A count of teeth of one gear that was taken for the feeder's whole ratio: `FEED_COGS_MOTOR 1` beside `FEED_COGS_SHAFT 1`.

A site file may name one of two counts as the gear ratio, and one line of a pair reads like one. Written there the new ratio
turns the feed over, or multiplies it by the other gear. So where such a key names a gear or a side of the pair, and
its partner or a formula that divides the two stands in the files, it is asked which gear drives, and neither is written.

Two counts whose words say which gear drives are written together (`gear_pairs.py`), and are none of this module's.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from msgspec.structs import replace

from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.collection import Collected, Collection, line_of
from cfgmigrate.machine.gear_order import DRIVEN_WORDS, DRIVING_WORDS
from cfgmigrate.machine.gear_pairs import count_of_teeth, is_bare_ratio, joined_counts, teeth_of_one
from cfgmigrate.machine.model import Reading
from cfgmigrate.machine.words import split

#: a gear of a pair by where it sits
_SIDES = DRIVEN_WORDS | DRIVING_WORDS | {"shaft", "axle", "grip", "gripping"}
_TEETH = frozenset({"cog", "cogs", "teeth", "tooth"})
#: two names, the one over the other
_OVER = pattern(r"\b([A-Za-z_]\w*)[\s)}]*/[\s({$]*(?:(?:float|double)\s*\)[\s({$]*)?([A-Za-z_]\w*)")
#: characters of a formula, and words of a key, that are looked at
LONGEST_DIVISION, MOST_WORDS_OF_A_GEAR = 300, 8
_WHY = "this is the teeth of one of two gears, and was taken for the whole ratio; whether it is of the driven gear or of the "
_ALONE = "this is the teeth of one of two gears, and not the whole ratio; the other gear's line is not known"
_NAME_BOTH = "say of the other gear's line, too, that it is feeder.gear_ratio (driven and driving in their names tell them apart), or put both in by hand"
_REMEDY = "put both in by hand, each in its place; written as the ratio, one of them turns the feed over"


def teeth_for_a_ratio(found: Collection, documents: Sequence[Document]) -> Iterator[Doubt]:
    """Takes back, in `found`, each feeder's gear ratio that is the count of teeth of one of two gears: with the other it is
    a ratio that is not written, without it none. A doubt for each."""
    if not any(_is_candidate(each.reading) for each in found.readings):
        return
    partners = _Partners(documents)
    kept: list[Collected] = []
    for each in found.readings:
        reading = each.reading
        others = partners.of(reading) if _is_candidate(reading) else []
        if not others and _is_candidate(reading) and teeth_of_one(reading.setting):
            yield Doubt(reading.place, line_of(reading.setting), _ALONE, _NAME_BOTH, reading.quantity)
            continue
        if not others:
            kept.append(each)
            continue
        both = joined_counts(reading, reading.setting, others[0]) if len(others) == 1 else None
        if both is not None:
            kept.append(replace(each, reading=both))
        why = (
            _WHY + f"driving one is not said ({' and '.join(_told(other) for other in others[:2])} beside it)"
        )
        yield Doubt(reading.place, line_of(reading.setting), why, _REMEDY, reading.quantity)
    found.readings[:] = kept


def _told(setting: Setting) -> str:
    return f"{setting.key} in line {setting.line}"


def _is_candidate(reading: Reading) -> bool:
    if reading.quantity != "feeder.gear_ratio" or reading.form.teeth or not is_bare_ratio(reading):
        return False
    return not (_SIDES | _TEETH).isdisjoint(split(reading.setting.key))


class _Partners:
    """The counts beside which a count is one of two: by file, section and words but one, and by the formulas."""

    def __init__(self, documents: Iterable[Document]) -> None:
        self._alike: dict[tuple[object, ...], list[Setting]] = {}
        self._over: dict[tuple[str, str], set[str]] = {}
        self._counts: dict[tuple[str, str], Setting] = {}
        for document in documents:
            for setting in document.settings:
                if setting.state is State.ACTIVE:
                    self._note(document.path, setting)

    def _note(self, file: str, setting: Setting) -> None:
        if "/" in setting.value and len(setting.value) <= LONGEST_DIVISION:
            for one, two in _OVER.findall(setting.value):
                self._over.setdefault((file, one), set()).add(two)
                self._over.setdefault((file, two), set()).add(one)
        if count_of_teeth(setting):
            self._counts[file, setting.key] = setting
            for key in _but_one(file, setting):
                self._alike.setdefault(key, []).append(setting)

    def of(self, reading: Reading) -> list[Setting]:
        """The other counts of a reading's pair, in the order of their lines."""
        own, file = reading.setting, reading.place.file
        found = {each.start: each for key in _but_one(file, own) for each in self._alike.get(key, ())}
        if "ratio" not in split(own.key):
            over = self._over.get((file, own.key), ())
            found |= {each.start: each for name in over if (each := self._counts.get((file, name)))}
        return [found[start] for start in sorted(found) if start != own.start]


def _but_one(file: str, setting: Setting) -> Iterator[tuple[object, ...]]:
    """A setting's words with a gap in the place of each that names a side of the pair."""
    words = split(setting.key)
    if len(words) <= MOST_WORDS_OF_A_GEAR:
        for at, word in enumerate(words):
            if word in _SIDES:
                yield file, setting.section, *words[:at], None, *words[at + 1 :]
