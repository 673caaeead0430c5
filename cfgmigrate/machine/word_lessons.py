"""Words that nobody knows, each with what it may mean: lines of the site file's `words` that a person only takes the `#`
away from.

What a word may mean is tried out. Each meaning that is on offer takes the word's place in the names in which it stands;
what is then understood speaks for it: more where the number is a usual one of the quantity, where a unit agrees, and
where each setting is another thing; less where a name is still not understood. Names with several such words are tried
with the likeliest meaning of the others.

Nothing is read by this, and nothing taught: a meaning is only offered.
"""

from __future__ import annotations

import copy
from collections.abc import Iterable, Mapping, Sequence

from msgspec import Struct

from cfgmigrate.dialects.document import Setting, State
from cfgmigrate.dialects.value import Number, Text, read_value
from cfgmigrate.machine import codes
from cfgmigrate.machine.axes_unnamed import ACROSS
from cfgmigrate.machine.by_words import take_setting
from cfgmigrate.machine.collect import definitions_of, spot_of
from cfgmigrate.machine.collection import Collection, line_of
from cfgmigrate.machine.context import Context
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.offered import offered
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.spots import Definitions
from cfgmigrate.machine.strange_words import Cuts, Pieces, runs_of
from cfgmigrate.machine.taught_words import NOTHING_MEANT
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

#: so many words are tried, those first that stand in most settings
MOST_TRIED = 60
#: a word is tried in so many settings
MOST_TRIES = 5
#: so many meanings are offered for a word
MOST_OFFERED = 3
#: what a word's place says for a meaning
A_LITTLE = 0.2
#: what a setting would say: file, section, quantity and the number of its feeder
Said = tuple[str, str, str, int | None]
Effect = frozenset[Said]
_SWEEPS = 2
_AXES = (("x",), ("y",), ("z",))
#: so many settings with a number of their own are no measure
FEWEST_PINS = 6


class WordLesson(Struct, frozen=True):
    """A word as the names have it, the meanings on offer, the likeliest first, and the settings in which it stands."""

    word: str
    meanings: tuple[str, ...]
    settings: tuple[Setting, ...]

    def lines(self) -> tuple[str, ...]:
        """The lines of the site file's `words`, taken out of force: one for each meaning."""
        more = f" and {len(self.settings) - 2} more" if len(self.settings) > 2 else ""
        there = f"{', '.join(map(line_of, self.settings[:2]))}{more}"
        return tuple(f"# {self.word}: {each}    # {there}" for each in self.meanings)


class _Strange(Struct, frozen=True):
    """A setting that was not read, with the strange words of its name."""

    context: Context
    setting: Setting
    words: tuple[Pieces, ...]


def word_lessons(machine: Machine, taught: Mapping[Pieces, Pieces] | None = None) -> tuple[WordLesson, ...]:
    """The words to teach of a machine, those first that would teach most. `taught` are those that were before."""
    unread = _unread(machine, taught or {})
    places: dict[Pieces, list[_Strange]] = {}
    for each in unread:
        for word in dict.fromkeys(each.words):
            places.setdefault(word, []).append(each)
    order = sorted(places, key=lambda word: -_share(places[word]))[:MOST_TRIED]
    trial = _Trials(machine)
    likely: dict[Pieces, list[Pieces]] = {}
    best: dict[Pieces, Pieces] = {}
    clearest = sorted(order, key=lambda word: min(len(set(each.words)) for each in places[word]))
    for _ in range(_SWEEPS):
        for word in clearest:
            scored = trial.scored(word, offered().meanings, _sample(places[word]), best)
            # what names an axis stands in several names: of one alone nobody could say which axis it is
            scored = [each for each in scored if len(places[word]) > 1 or each[1] not in _AXES]
            likely[word] = [meaning for _, meaning in scored]
            if scored:
                best[word] = scored[0][1]
    return tuple(
        WordLesson(
            " ".join(word),
            tuple(" ".join(meaning) or NOTHING_MEANT for meaning in likely[word][:MOST_OFFERED]),
            tuple(each.setting for each in places[word]),
        )
        for word in order
        if word in best and not _are_pins(places[word])
    )


def axis_lessons(machine: Machine) -> tuple[str, ...]:
    """Lines that explain words such as `across` as axes, where several numbers that nobody has read are named by them."""
    found: dict[str, list[Setting]] = {}
    for unread in machine.unread:
        if isinstance(read_value(unread.setting.value), Number):
            for word in ACROSS.intersection(split(unread.setting.name)):
                found.setdefault(word, []).append(unread.setting)
    return tuple(
        line
        for word, settings in sorted(found.items())
        if len(settings) > 1
        for line in WordLesson(word, ("x", "y", "z"), tuple(settings)).lines()
    )


def _are_pins(several: Sequence[_Strange]) -> bool:
    """Whether a word stands in many settings of which each has another whole number: they number places, and measure
    nothing."""
    numbers = [each.setting.value.strip() for each in several]
    whole = all(number.isdecimal() for number in numbers)
    return len(numbers) >= FEWEST_PINS and whole and len(set(numbers)) == len(numbers)


def _share(several: Sequence[_Strange]) -> float:
    """How much a word would teach: settings, each shared with its other strange words."""
    return sum(1 / len(set(each.words)) for each in several)


def _sample(several: Sequence[_Strange]) -> list[_Strange]:
    """The settings in which a word is tried: those with fewest other strange words."""
    return sorted(several, key=lambda each: len(each.words))[:MOST_TRIES]


def _unread(machine: Machine, taught: Mapping[Pieces, Pieces]) -> list[_Strange]:
    """The settings that say something nobody has read, and have a word that nobody knows."""
    read = {(each.place.file, each.setting.at) for each in machine.every_reading}
    found: list[tuple[Context, Setting, list[Pieces]]] = []
    for document in machine.documents:
        if document.dialect == codes.DIALECT:
            continue
        context = Context(document, taught)
        for setting in document.settings:
            if setting.state is State.INACTIVE or (document.path, setting.at) in read:
                continue
            if not offered().elsewhere.isdisjoint(split(setting.name)):
                continue
            runs = [run for part in context.own_path(setting) for run in runs_of(part)]
            if runs and _says_something(setting.value):
                found.append((context, setting, runs))
    cuts = Cuts(run for _, _, runs in found for run in runs)
    return [
        _Strange(context, setting, tuple(word for run in runs for word in cuts.words(run)))
        for context, setting, runs in found
    ]


def _says_something(value: str) -> bool:
    """Whether a value is no mere text."""
    read = read_value(value)
    return not isinstance(read, Text) or any(letter.isdigit() for letter in read.text)


class _Trials:
    """Tries meanings out in the names of a machine's settings."""

    def __init__(self, machine: Machine) -> None:
        #: whether a number that is usual, or a unit, speaks for the meaning that is tried
        self._told = False
        self._defined: Definitions = definitions_of(machine.documents)
        self._read = {
            (each.place.file, each.setting.section, each.quantity) for each in machine.every_reading
        }

    def scored(
        self,
        word: Pieces,
        meanings: Iterable[Pieces],
        several: Sequence[_Strange],
        best: Mapping[Pieces, Pieces],
    ) -> list[tuple[float, Pieces]]:
        """What speaks for each meaning of a word in these settings, the most first. The other strange words mean what
        is likeliest; one of which nothing is known is left out."""
        found = []
        for meaning in meanings:
            seen: set[Said] = set()
            total, self._told = 0.0, False
            for each in several:
                total += _place_fits(each, word, meaning)
                others = {other: best.get(other, ()) for other in each.words}
                total += self._score(each, {**others, word: meaning}, seen)
            if self._told or not seen:
                found.append((total, meaning, frozenset(seen)))
        return _different_first(sorted(found, key=lambda each: -each[0]))

    def _score(
        self,
        unread: _Strange,
        told: Mapping[Pieces, Pieces],
        seen: set[Said],
    ) -> float:
        context, setting = unread.context, unread.setting
        tried = _with(context, told)
        spoken = tried.spoken(setting)
        found = Collection(tells_near=False)
        take_setting(found, spot_of(tried, setting, spoken, self._defined), None, spoken)
        if not found.readings:
            return -0.4
        score = 0.0
        for each in found.readings:
            reading = each.reading
            if quantity(reading.quantity).protected:
                return -0.4
            place = (reading.place.file, setting.section, reading.quantity)
            number = each.counted.number if each.counted else None
            usual = offered().is_usual(reading.quantity, reading.value) if reading.value is not None else None
            score += 0.5 if each.alone else 1.0
            self._told |= usual is True or (usual is None and spoken.unit is not None)
            score += {True: 0.7, False: -0.6, None: 0.3}[usual]
            score += 0.6 * offered().telling(reading.quantity) if usual else 0.0
            score += 0.5 if spoken.unit is not None else 0.0
            score -= 1.5 if place in self._read or (*place, number) in seen else 0.0
            seen.add((*place, number))
        score -= 0.3 * bool(found.doubts or found.unsure)
        return score / len(found.readings)


def _different_first(
    found: Sequence[tuple[float, Pieces, Effect]],
) -> list[tuple[float, Pieces]]:
    """Meanings in their order; behind all others those that say of every setting what one before them says."""
    seen: set[Effect] = set()
    first: list[tuple[float, Pieces]] = []
    again: list[tuple[float, Pieces]] = []
    for score, meaning, effect in found:
        (again if effect in seen else first).append((score, meaning))
        seen.add(effect)
    return [*(each for each in first if each[0] > 0), *(each for each in again if each[0] > 0)]


def _place_fits(unread: _Strange, word: Pieces, meaning: Pieces) -> float:
    """A section names a thing; a key below it says what is measured of the thing."""
    section = unread.context.own_path(unread.setting)[0]
    if not section:
        return 0.0
    is_thing = all(piece in vocabulary().things for piece in meaning)
    return A_LITTLE if is_thing == (set(word) <= set(section)) else -A_LITTLE


def _with(context: Context, told: Mapping[Pieces, Pieces]) -> Context:
    """A context in which these words are explained as well."""
    tried = copy.copy(context)
    tried.explained = context.explained.with_words(told)
    return tried
