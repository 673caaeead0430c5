"""Where the words of a phrase stand in a name, and what is left of the name then.

Words are found in key, section or remark, in any order, each one once. What is left over must have a meaning as well:
a thing that is allowed, the quantity's unit, a filler. Anything else in a key, or another thing in a section, is told
to `matching.py` and `list_matching.py`, which decide.

This module deliberately weighs nothing: it only says what is there.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from functools import lru_cache

from msgspec import Struct

from cfgmigrate.ground.units import units
from cfgmigrate.machine.quantities import facts
from cfgmigrate.machine.vocabulary import Phrase, Spelling, vocabulary
from cfgmigrate.machine.words import Name


class Use(Struct, frozen=True):
    """Words of a name by position, key first, then section, then what is said beside: which of them a phrase
    used. `claimed` are things spelled as several words side by side: the longest thing comes first."""

    words: tuple[str, ...]
    key: int
    own: int
    used: frozenset[int]

    def rest(self, positions: Iterable[int]) -> list[int]:
        return [position for position in positions if position not in self.used]


def uses(name: Name, names: tuple[str, ...]) -> Iterator[Use]:
    """The ways in which the words called `names` can be found in a name, key before section."""
    words = name.key + name.section + name.said
    for used in _assign(words, frozenset(words), names, frozenset(), len(name.words)):
        yield Use(words, len(name.key), len(name.words), used)


def _assign(
    words: tuple[str, ...], there: frozenset[str], names: tuple[str, ...], used: frozenset[int], own: int
) -> Iterator[frozenset[int]]:
    if not names:
        yield used
        return
    joined = 0
    for spelling in vocabulary().spelled(names[0]):
        if len(spelling) < joined:
            return  # the longest spelling comes first: what it spells is none of its parts
        positions = _positions(words, spelling, used) if there.issuperset(spelling) else None
        if positions is None:
            continue
        # a word of the unit stands beside the name's last one by chance: `lead = 60 ms` is no lead time
        side_by_side = len(spelling) > 1 and words[min(positions) : min(max(positions) + 1, own)] == spelling
        if joined and not side_by_side:
            continue
        yield from _assign(words, there, names[1:], used | positions, own)
        if side_by_side and not set(spelling) & set("xyze"):
            joined = len(spelling)


def _positions(words: tuple[str, ...], spelling: Spelling, used: Iterable[int]) -> frozenset[int] | None:
    """Where a spelling's words stand among those not used, None where one is missing."""
    taken = set(used)
    found = set()
    for word in spelling:
        try:
            position = words.index(word)
            while position in taken:
                position = words.index(word, position + 1)
        except ValueError:
            return None
        taken.add(position)
        found.add(position)
    return frozenset(found)


@lru_cache(maxsize=4096)
def _by_first_word(things: frozenset[str]) -> dict[str, frozenset[Spelling]]:
    """All spellings of things, by the words that they begin with."""
    found: dict[str, set[Spelling]] = {}
    for thing in things:
        for spelling in vocabulary().spelled(thing):
            found.setdefault(spelling[0], set()).add(spelling)
    return {word: frozenset(spellings) for word, spellings in found.items()}


def cover_things(words: tuple[str, ...], free: list[int], things: frozenset[str]) -> set[int]:
    """The positions among `free` at which one of the `things` is named."""
    covered: set[int] = set()
    begun, there = _by_first_word(things), {words[position] for position in free}
    spelled = [s for word in there if word in begun for s in begun[word] if there.issuperset(s)]
    if not spelled:
        return covered
    spelled.sort(
        key=lambda spelling: (-len(spelling), spelling)
    )  # the longest first, in one order on every run
    blocked = set(range(len(words))).difference(free)
    for spelling in spelled:
        if len(spelling) > 1:
            covered |= _windows(words, spelling, blocked | covered)
    for spelling in spelled:
        if len(spelling) == 1:
            taken = blocked | covered
            covered |= {at for at, word in enumerate(words) if word == spelling[0] and at not in taken}
            continue
        while (found := _positions(words, spelling, blocked | covered)) is not None:
            covered |= found
    return covered


def _windows(words: tuple[str, ...], spelling: Spelling, taken: set[int]) -> set[int]:
    """Where a spelling's words stand side by side: there they belong together before they do with any others."""
    found: set[int] = set()
    for at in range(len(words) - len(spelling) + 1):
        window = range(at, at + len(spelling))
        if (
            words[at : at + len(spelling)] == spelling
            and taken.isdisjoint(window)
            and found.isdisjoint(window)
        ):
            found.update(window)
    return found


def rest_said(
    use: Use, of: frozenset[str], may: frozenset[str], fillers: frozenset[str], phrase: Phrase, quantity: str
) -> tuple[str, str, int] | None:
    """Unit, qualifier and how many words they took, where every word of the key has a meaning; else None."""
    rest = use.rest(range(use.key))
    if not rest:
        return "", "", 0
    covered = cover_things(use.words, rest, of | may)
    again = _said_again(use, of)
    left = Counter(
        use.words[position]
        for position in rest
        if position not in covered and use.words[position] not in again
    )
    must = set(left) - vocabulary().fillers - spelled_fillers(fillers)
    of_unit = sayable(quantity, phrase.unit)
    if must - of_unit:
        return None
    if not must and not of_unit & set(left):
        return "", "", 0
    for unit, spelling in _unit_words(quantity, phrase.unit):
        for qualifier in ("", *facts(quantity).qualifiers):
            needed = Counter((*spelling, *([qualifier] if qualifier else [])))
            if all(left[word] >= count for word, count in needed.items()) and not must & set(left - needed):
                return unit, qualifier, needed.total()
    return None


def key_says(quantity: str, key: Iterable[str]) -> tuple[str, str]:
    """Unit and qualifier of a quantity that the words of a key say, whatever its other words mean; "" for neither. A
    letter alone says no unit."""
    left = Counter(key)
    said = (
        unit
        for unit, spelling in _unit_words(quantity, "")
        if any(len(word) > 1 for word in spelling) and not Counter(spelling) - left
    )
    qualifiers = [word for word in facts(quantity).qualifiers if word in left]
    return next(said, ""), qualifiers[0] if len(qualifiers) == 1 else ""


@lru_cache(maxsize=1024)
def sayable(quantity: str, only: str) -> frozenset[str]:
    """All words by which a key can say unit or qualifier of a quantity."""
    spelled = (word for _, spelling in _unit_words(quantity, only) for word in spelling)
    return frozenset((*spelled, *facts(quantity).qualifiers))


#: measures that are not passed over because they are a part of some filler's spelling: `at speed`
_MEASURES = ("speed", "acceleration", "current", "temperature", "voltage", "frequency")


@lru_cache(maxsize=512)
def spelled_fillers(fillers: frozenset[str]) -> frozenset[str]:
    """The words of fillers in all their spellings; of those of several words none that is a measure by itself."""
    single = {word for name in fillers for (word, *more) in vocabulary().spelled(name) if not more}
    parts = {word for name in fillers for spelling in vocabulary().spelled(name) for word in spelling}
    return frozenset(single | (parts - _measures()))


@lru_cache(maxsize=1)
def _measures() -> frozenset[str]:
    return frozenset(
        spelling[0] for name in _MEASURES for spelling in vocabulary().spelled(name) if len(spelling) == 1
    )


@lru_cache(maxsize=1024)
def _unit_words(quantity: str, only: str) -> tuple[tuple[str, Spelling], ...]:
    """How a key can say the unit of a quantity, most words first, and lastly not at all."""
    found: list[tuple[str, Spelling]] = []
    for written in facts(quantity).units:
        unit = units().get(written.unit)
        if unit and (not only or only == written.unit):
            found.extend((written.unit, spelling) for spelling in unit.words)
    return (*sorted(found, key=lambda pair: -len(pair[1])), ("", ()))


def named_else(use: Use, allowed: frozenset[str], phrase: tuple[str, ...]) -> bool:
    """Whether something else is named than what is allowed: first by words side by side, then by any."""
    things = allowed | (vocabulary().things & frozenset(phrase))
    free = use.rest(range(use.own))
    claimed: set[int] = set()
    for thing, positions in _side_by_side(use.words[: use.own], use.key):
        if not claimed.isdisjoint(positions):
            continue
        if use.used.issuperset(positions):
            claimed |= set(positions)  # `pull back feed` pulls back, so that it is no back feed
            continue
        lettered = any(len(use.words[position]) == 1 for position in positions)
        split_up = not use.used.isdisjoint(positions) and thing != "feeder" and not lettered
        if thing not in things or split_up:
            return True
        if use.used.isdisjoint(positions):
            claimed |= set(positions)
    free = [position for position in free if position not in claimed]
    covered = cover_things(use.words, free, things)
    left = {use.words[position] for position in free if position not in covered} - _said_again(use, things)
    if not left & _thing_words():
        return False
    return any(
        name in vocabulary().things and name not in things and left.issuperset(spelling)
        for word in left
        for spelling, name in vocabulary().by_word.get(word, ())
    )


def _said_again(use: Use, things: frozenset[str]) -> frozenset[str]:
    """The words of things that the section calls by several of them side by side: its keys may go on with one, as in
    `[filament switch] length after switch`."""
    side_by_side = _side_by_side(use.words[: use.own], use.key)
    return frozenset(
        use.words[position]
        for thing, positions in side_by_side
        if thing in things and positions[0] >= use.key
        for position in positions
    )


@lru_cache(maxsize=1)
def _thing_words() -> frozenset[str]:
    return frozenset(w for thing in vocabulary().things for s in vocabulary().spelled(thing) for w in s)


@lru_cache(maxsize=65536)
def _side_by_side(words: tuple[str, ...], key: int) -> tuple[tuple[str, tuple[int, ...]], ...]:
    """The things that are spelled with several words side by side, in key or section, the longest first."""
    found = []
    for at, word in enumerate(words):
        for spelling, name in vocabulary().by_word.get(word, ()):
            end = at + len(spelling)
            if len(spelling) < 2 or name not in vocabulary().things or words[at:end] != spelling:
                continue
            if not at < key < end:
                found.append((name, tuple(range(at, end))))
    return tuple(sorted(found, key=lambda each: -len(each[1])))


def strange_section(
    use: Use, things: frozenset[str], fillers: frozenset[str], phrase: tuple[str, ...]
) -> bool:
    """Whether the section has a word that is neither used, nor a thing that belongs here, nor a filler; or no other than `across`,
    which is an axis's name in many homes."""
    if set(use.words[use.key : use.own]) in ({"across"}, {"along"}):
        return use.used.isdisjoint(range(use.key, use.own))
    allowed = (vocabulary().fillers, spelled_fillers(fillers), spelled_fillers(frozenset(phrase)), _neutral())
    rest = use.rest(range(use.key, use.own))
    strange = [
        position
        for position in rest
        if not (word := use.words[position]).isdigit() and not any(word in each for each in allowed)
    ]
    return bool(strange) and not cover_things(use.words, rest, things).issuperset(strange)


@lru_cache(maxsize=1)
def _neutral() -> frozenset[str]:
    """Words that a section may have over whatever stands in it: they name no thing."""
    names = ("limit", "speed", "current", "position", "maximum", "gear", "step", "acceleration", "sense", "direction",
             "length", "move", "fastest", "hardest", "run", "hold", "from", "to", "turn", "microstep")  # fmt: skip
    return (
        vocabulary().headings
        | {"rms", "peak", "ma"}
        | {w for name in names for s in vocabulary().spelled(name) for w in s}
    )
