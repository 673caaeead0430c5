"""Which quantity a name's words stand for.

A name fits a quantity when all words of one of its phrases are there, in key or section and in any order;
when the thing it belongs to is named; when every further word of the key is a thing it allows, its unit or
a filler; and when nothing else is named, in the key or in the section, that it does not allow. So a word
that is not understood is never passed over in a key, and `[fan] max speed` is no axis's speed. Of several
quantities that fit, the one that gives a meaning to more words is meant; a tie is left as it is, for
`recognise.py` to turn into a doubt.

This module deliberately looks at names only; values are the matter of `values.py`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache

from cfgmigrate.ground.units import units
from cfgmigrate.machine.quantities import PROTECTED, facts, of_feeder
from cfgmigrate.machine.vocabulary import Entry, ListEntry, Phrase, RangeEntry, Spelling, vocabulary
from cfgmigrate.machine.words import Name

#: a name of more words is prose and fits nothing
MOST_NAME_WORDS = 50


@dataclass(frozen=True, slots=True)
class Fit:
    """A quantity that a name fits. `unit` is what the key says of it ("" for nothing), `qualifier` likewise.

    `alone` is true where no thing was named; `strange` where the section has words without a meaning;
    `bare` where a single word names it, which then says little. `score` counts the words that got a
    meaning, in the key and in the section.
    """

    quantity: str
    unit: str = ""
    qualifier: str = ""
    alone: bool = False
    strange: bool = False
    bare: bool = False
    turned: bool = False
    measure: str = ""
    score: tuple[int, int, int] = (0, 0, 0)
    #: words of the remark or the unit that the name needs
    beside: int = 0


@dataclass(frozen=True, slots=True)
class ListFit:
    """A list with one number for each axis that a name fits."""

    entry: ListEntry
    unit: str = ""
    qualifier: str = ""
    strange: bool = False


@dataclass(frozen=True, slots=True)
class RangeFit:
    """A setting with the least and the most of a thing that a name fits."""

    entry: RangeEntry
    unit: str = ""
    qualifier: str = ""
    strange: bool = False


@dataclass(frozen=True, slots=True)
class _Use:
    """Words of a name by position, key first, then section, then what is said beside: which of them a phrase
    used. `claimed` are things spelled as several words side by side: the longest thing comes first."""

    words: tuple[str, ...]
    key: int
    own: int
    used: frozenset[int]

    def rest(self, positions: Iterable[int]) -> list[int]:
        return [position for position in positions if position not in self.used]


@lru_cache(maxsize=65536)
def fits(name: Name) -> tuple[Fit, ...]:
    """The best fits of a name: one where it is clear, several where they tie, () where nothing fits."""
    if len(name.words) > MOST_NAME_WORDS:
        return ()
    found: dict[str, Fit] = {}
    present = vocabulary().names_in(frozenset((*name.words, *name.said)))
    for index in _candidates(name):
        entry = vocabulary().entries[index]
        if name.dimension and name.dimension not in _dimensions(entry.quantity):
            continue
        for phrase in entry.phrases:
            fit = _fit(name, entry, phrase) if present.issuperset(phrase.words) else None
            if fit and (fit.quantity not in found or _rank(fit) > _rank(found[fit.quantity])):
                found[fit.quantity] = fit
    if not found:
        return ()
    best = max(_rank(fit) for fit in found.values())
    return tuple(fit for fit in found.values() if _rank(fit) == best)


def best_fits(names: Iterable[Name]) -> tuple[Name, tuple[Fit, ...]]:
    """Of the ways to take a name the one that says most, the first of equals, with its fits; and with those of the
    others that say as much and mean something else: an abbreviation may be two words."""
    best: tuple[Name, tuple[Fit, ...]] | None = None
    for name in names:
        found = fits(name)
        if best is None or (found and (not best[1] or _rank(found[0]) > _rank(best[1][0]))):
            best = name, found
        elif found and _rank(found[0]) == _rank(best[1][0]):
            meant = {fit.quantity for fit in best[1]}
            best = best[0], (*best[1], *(fit for fit in found if fit.quantity not in meant))
    assert best is not None
    return best


def _rank(fit: Fit) -> tuple[bool, bool, int, int, int, int]:
    return (not fit.strange, not fit.alone, *fit.score, -fit.beside)


@lru_cache(maxsize=256)
def _dimensions(quantity: str) -> frozenset[str]:
    """What a quantity may be measured in."""
    found = {unit.of for each in facts(quantity).units if (unit := units().get(each.unit))}
    if quantity.endswith("steps_per_mm"):
        found |= {"number per length", "length"}
    return frozenset(found)


@lru_cache(maxsize=4096)
def list_fits(name: Name) -> tuple[ListFit, ...]:
    """The per-axis lists that a name fits, the most telling first."""
    if len(name.words) > MOST_NAME_WORDS or _list_words().isdisjoint((*name.words, *name.said)):
        return ()
    found = []
    present = vocabulary().names_in(frozenset((*name.words, *name.said)))
    for entry in vocabulary().lists:
        first = next(iter(entry.of.values()))
        for phrase in entry.phrases:
            if not present.issuperset(phrase.words):
                continue
            for use in _uses(name, phrase.words):
                said = _rest_said(use, frozenset(), entry.may, entry.fillers, phrase, first)
                if said and not _named_else(use, entry.may, phrase.words):
                    strange = _strange(use, entry.may, entry.fillers, phrase.words)
                    found.append((not strange, len(use.used), ListFit(entry, said[0], said[1], strange)))
    return tuple(fit for *_, fit in sorted(found, key=lambda each: (not each[0], -each[1])))


@lru_cache(maxsize=4096)
def range_fits(name: Name) -> tuple[RangeFit, ...]:
    """The ranges that a name fits, the most telling first."""
    found = []
    present = vocabulary().names_in(frozenset((*name.words, *name.said)))
    for entry in vocabulary().ranges:
        for phrase in entry.phrases:
            if not present.issuperset(phrase.words):
                continue
            for use in _uses(name, phrase.words):
                said = _rest_said(use, entry.of, entry.may, entry.fillers, phrase, entry.high)
                if said is None or _named_else(use, entry.of | entry.may, phrase.words):
                    continue
                if _cover_things(use.words, use.rest(range(use.own)), entry.of):
                    strange = _strange(use, entry.of | entry.may, entry.fillers, phrase.words)
                    found.append((not strange, len(use.used), RangeFit(entry, said[0], said[1], strange)))
    return tuple(fit for *_, fit in sorted(found, key=lambda each: (not each[0], -each[1])))


@lru_cache(maxsize=1)
def _list_words() -> frozenset[str]:
    """All words of the phrases of lists."""
    names = {name for entry in vocabulary().lists for phrase in entry.phrases for name in phrase.words}
    return frozenset(word for name in names for spelling in vocabulary().spelled(name) for word in spelling)


@lru_cache(maxsize=1)
def _by_word() -> dict[str, frozenset[int]]:
    """Which entries have a phrase in which a word may stand."""
    found: dict[str, set[int]] = {}
    for index, entry in enumerate(vocabulary().entries):
        for phrase in entry.phrases:
            for name in phrase.words:
                for spelling in vocabulary().spelled(name):
                    for word in spelling:
                        found.setdefault(word, set()).add(index)
    return {word: frozenset(indexes) for word, indexes in found.items()}


def _candidates(name: Name) -> list[int]:
    """The entries with a phrase of which a word is there, and to which no word of the key is strange."""
    table, allowed = _by_word(), _allowed_words()
    found = {index for word in {*name.words, *name.said} for index in table.get(word, ())}
    return sorted(index for index in found if allowed[index].issuperset(name.key))


@lru_cache(maxsize=1)
def _allowed_words() -> tuple[frozenset[str], ...]:
    """For every entry, all words that may stand in its keys."""
    found = []
    for entry in vocabulary().entries:
        names = (
            {name for phrase in entry.phrases for name in phrase.words} | entry.of | entry.may | entry.fillers
        )
        spelled = {word for name in names for spelling in vocabulary().spelled(name) for word in spelling}
        said = {word for phrase in entry.phrases for word in _sayable(entry.quantity, phrase.unit)}
        found.append(frozenset(spelled | said | vocabulary().fillers))
    return tuple(found)


def _fit(name: Name, entry: Entry, phrase: Phrase) -> Fit | None:
    number = name.number or 0
    if number and not of_feeder(entry.quantity):
        return None
    best: Fit | None = None
    for use in _uses(name, phrase.words):
        fit = _fit_of(use, entry, phrase)
        if fit and (best is None or _rank(fit) > _rank(best)):
            best = fit
    return best


def _fit_of(use: _Use, entry: Entry, phrase: Phrase) -> Fit | None:
    said = _rest_said(use, entry.of, entry.may, entry.fillers, phrase, entry.quantity)
    if said is None or _named_else(use, entry.of | entry.may, phrase.words):
        return None
    unit, qualifier, meant = said
    everywhere = use.rest(range(len(use.words)))
    owners = _cover_things(use.words, everywhere, entry.of)
    alone = bool(entry.of) and not owners
    if alone and (not entry.alone or vocabulary().weak.issuperset(phrase.words)):
        return None
    told = use.used | owners
    told |= _cover_things(use.words, [p for p in everywhere if p not in owners and p < use.own], entry.may)
    in_key = {position for position in told if position < use.key}
    in_section = {position for position in told if use.key <= position < use.own}
    if (not in_key and not in_section) or (entry.in_key and any(use.key <= p < use.own for p in use.used)):
        return None
    return Fit(
        entry.quantity,
        unit or phrase.unit,
        qualifier,
        alone,
        _strange(use, entry.of | entry.may, entry.fillers, phrase.words),
        len(phrase.words) == 1,
        "reverse" in phrase.words,
        entry.measure,
        (
            len(in_key) + meant + len(in_section) + len(use.used - in_key - in_section),
            len(in_key),
            len(in_section),
        ),
        len([position for position in use.used if position >= use.own]),
    )


def _uses(name: Name, names: tuple[str, ...]) -> Iterator[_Use]:
    """The ways in which the words called `names` can be found in a name, key before section."""
    words = name.key + name.section + name.said
    for used in _assign(words, names, frozenset()):
        yield _Use(words, len(name.key), len(name.words), used)


def _assign(words: tuple[str, ...], names: tuple[str, ...], used: frozenset[int]) -> Iterator[frozenset[int]]:
    if not names:
        yield used
        return
    for spelling in vocabulary().spelled(names[0]):
        positions = _positions(words, spelling, used)
        if positions is not None:
            yield from _assign(words, names[1:], used | positions)
            side_by_side = len(spelling) > 1 and max(positions) - min(positions) == len(spelling) - 1
            if side_by_side and not set(spelling) & set("xyze"):
                return  # the longest spelling comes first: what it spells is none of its parts


def _positions(words: tuple[str, ...], spelling: Spelling, used: Iterable[int]) -> frozenset[int] | None:
    """Where a spelling's words stand among those not used, None where one is missing."""
    taken = set(used)
    found = set()
    for word in spelling:
        position = next((i for i, other in enumerate(words) if other == word and i not in taken), None)
        if position is None:
            return None
        taken.add(position)
        found.add(position)
    return frozenset(found)


def _cover_things(words: tuple[str, ...], free: list[int], things: Iterable[str]) -> set[int]:
    """The positions among `free` at which one of the `things` is named."""
    covered: set[int] = set()
    blocked = set(range(len(words))) - set(free)
    for thing in things:
        for spelling in vocabulary().spelled(thing):
            while (found := _positions(words, spelling, blocked | covered)) is not None:
                covered |= found
    return covered


def _rest_said(
    use: _Use, of: frozenset[str], may: frozenset[str], fillers: frozenset[str], phrase: Phrase, quantity: str
) -> tuple[str, str, int] | None:
    """Unit, qualifier and how many words they took, where every word of the key has a meaning; else None."""
    rest = use.rest(range(use.key))
    covered = _cover_things(use.words, rest, of | may) if rest else set()
    left = Counter(use.words[position] for position in rest if position not in covered)
    must = set(left) - vocabulary().fillers - _spelled_fillers(fillers)
    sayable = _sayable(quantity, phrase.unit)
    if must - sayable:
        return None
    if not must and not sayable & set(left):
        return "", "", 0
    for unit, spelling in _unit_words(quantity, phrase.unit):
        for qualifier in ("", *facts(quantity).qualifiers):
            needed = Counter((*spelling, *([qualifier] if qualifier else [])))
            if all(left[word] >= count for word, count in needed.items()) and not must & set(left - needed):
                return unit, qualifier, needed.total()
    return None


@lru_cache(maxsize=1024)
def _sayable(quantity: str, only: str) -> frozenset[str]:
    """All words by which a key can say unit or qualifier of a quantity."""
    spelled = (word for _, spelling in _unit_words(quantity, only) for word in spelling)
    return frozenset((*spelled, *facts(quantity).qualifiers))


@lru_cache(maxsize=512)
def _spelled_fillers(fillers: frozenset[str]) -> frozenset[str]:
    return frozenset(word for name in fillers for spelling in vocabulary().spelled(name) for word in spelling)


@lru_cache(maxsize=1024)
def _unit_words(quantity: str, only: str) -> tuple[tuple[str, Spelling], ...]:
    """How a key can say the unit of a quantity, most words first, and lastly not at all."""
    found: list[tuple[str, Spelling]] = []
    for written in facts(quantity).units:
        unit = units().get(written.unit)
        if unit and (not only or only == written.unit):
            found.extend((written.unit, spelling) for spelling in unit.words)
    return (*sorted(found, key=lambda pair: -len(pair[1])), ("", ()))


def _named_else(use: _Use, allowed: frozenset[str], phrase: tuple[str, ...]) -> bool:
    """Whether something else is named than what is allowed: first by words side by side, then by any."""
    things = allowed | (vocabulary().things & frozenset(phrase))
    free = use.rest(range(use.own))
    claimed: set[int] = set()
    for thing, positions in _side_by_side(use.words[: use.own], use.key):
        if not claimed.isdisjoint(positions) or use.used.issuperset(positions):
            continue
        lettered = any(len(use.words[position]) == 1 for position in positions)
        split_up = not use.used.isdisjoint(positions) and thing != "feeder" and not lettered
        if thing not in things or split_up:
            return True
        if use.used.isdisjoint(positions):
            claimed |= set(positions)
    free = [position for position in free if position not in claimed]
    free = [position for position in free if position not in _cover_things(use.words, free, things)]
    left = {use.words[position] for position in free}
    if not left & _thing_words():
        return False
    return any(
        left.issuperset(spelling)
        for thing in vocabulary().things - things
        for spelling in vocabulary().spelled(thing)
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


def _strange(use: _Use, things: frozenset[str], fillers: frozenset[str], phrase: tuple[str, ...]) -> bool:
    """Whether the section has a word that is neither used, nor a thing that belongs here, nor a filler."""
    rest = use.rest(range(use.key, use.own))
    covered = _cover_things(use.words, rest, things) if rest else set()
    allowed = (
        vocabulary().fillers | _spelled_fillers(fillers) | _spelled_fillers(frozenset(phrase)) | _neutral()
    )
    return any(use.words[i] not in allowed and not use.words[i].isdigit() for i in rest if i not in covered)


@lru_cache(maxsize=1)
def _neutral() -> frozenset[str]:
    """Words that a section may have over whatever stands in it: they name no thing."""
    return frozenset(w for name in ("limit", "speed", "current", "position", "maximum", "gear", "step", "acceleration", "sense", "direction") for s in vocabulary().spelled(name) for w in s)  # fmt: skip


def names_owner(words: tuple[str, ...]) -> bool:
    """Whether words speak of an axis, the feeder, the filament or what is done with it."""
    present = vocabulary().names_in(frozenset(words))
    return not present.isdisjoint(("feeder", "feed", "retraction", "lag", "filament", "x", "y", "z"))


@lru_cache(maxsize=65536)
def protected_name(name: Name) -> str:
    """The id of a protected setting that is known by its words alone, "" where no protected word is there."""
    present = set(name.words)
    if not vocabulary().protected & vocabulary().names_in(frozenset(present)):
        return ""
    words = {plain(word) for word in _things_as_one(present) if word not in vocabulary().fillers}
    number = [str(name.number)] if name.number else []
    return PROTECTED + "_".join((*sorted(words), *number))


def _things_as_one(words: set[str]) -> set[str]:
    """Words with those of a thing that is spelled as several replaced by the thing."""
    found = set(words)
    for thing in sorted(vocabulary().things):
        for spelling in vocabulary().spelled(thing):
            if len(spelling) > 1 and found.issuperset(spelling):
                found = found - set(spelling) | {thing}
    return found


@lru_cache(maxsize=1)
def _plain_words() -> dict[str, str]:
    found: dict[str, str] = {}
    for name, spellings in vocabulary().spellings.items():
        for spelling in spellings:
            if len(spelling) == 1:
                found.setdefault(spelling[0], name)
    return found


def plain(word: str) -> str:
    """The name of a word that is a spelling of it by itself; else the word."""
    return _plain_words().get(word, word)
