"""What a list of letters says of one of them: the names that it may be, and its unit.

`pull-back: L length mm, F feed out, R feed back in` is about the retraction, and says of each letter what it is. The
subject of the list is nearest; where it has none, or is one of the machine's own parts, what the line's legend, the
heading above and the part of the file say comes next. A unit behind the last letter is all letters' where no other has one.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache

from msgspec.structs import replace

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import Unit, units
from cfgmigrate.machine.code_legends import Listed
from cfgmigrate.machine.context import Spoken, words_said
from cfgmigrate.machine.matching import Fit, best_fits
from cfgmigrate.machine.remark_parts import LETTERS_OF_AXES, RATE_WORDS, only_unit, told_of, without_unit
from cfgmigrate.machine.spellings import is_cut_short, ways_of
from cfgmigrate.machine.stated import Stated, stated
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import Name, names_of, split

#: what headings of a machine's own parts are about
_OWN = ("feeder", "feed", "drive", "x", "y", "z", "carriage", "retraction", "lag", "probe", "mesh", "park", "filament",
        "nozzle", "hotend", "bed", "speed", "acceleration", "current", "limit", "step", "microstep", "length", "load", "unload")  # fmt: skip
#: what a number is that is no amount of its quantity
SAYS_A_SHARE = pattern(r"\bper ?cent\b|%", re.I)
#: a heading has few words
HEADING = 4
#: a test of the feed, by a mark on the filament
_WITH_A_PEN = pattern(r"\b(?:felt[ -]?(?:tip )?)?pen[ -](?:test|mark)(?:s|ed)?\b", re.I)
#: what a line is about that is none of the machine's own settings
_DEVICES = frozenset({"device", "fan", "light", "display", "servo", "chamber", "supply", "link"})
_FORTH = frozenset({"forward", "forwards", "forth"})
#: what a change of filament takes
_CHANGES = frozenset({"feeder.load_length", "feeder.unload_length"})
#: what is said of the way of a retraction beside which one it is: `speed when the filament goes forward again`
_ON_THE_WAY = frozenset({"way", "when", "while", "goes", "go", "going", "moves", "moving", "comes", "coming", "filament", "it", "of", "the"})  # fmt: skip
_OUT, _IN = frozenset({"out", "off", "away"}), frozenset({"in", "back", "again", "return"})


def clear_fit(spoken: Spoken) -> Fit | None:
    """The one quantity that remarks clearly say, None where there is none."""
    best = best_fits(spoken.names)[1] if spoken.names else ()
    return best[0] if len(best) == 1 and not (best[0].strange or best[0].alone) else None


def of_list(listed: Listed, letter: str, about: Iterable[str], rates: bool) -> Spoken:
    """What a list says of a letter that it names. `about` are what the line stands under, the nearest first; `rates` says
    that the file states the unit of its speeds."""
    words = listed.letters[letter]
    told = stated(words)
    said_of = told_of(words, told, (letter,), letter)
    own = tuple(split(said_of[0].words)) if said_of else ()
    told = told if told.unit else replace(told, unit=_of_all(listed))
    spoken_rate = _rate(listed, letter, rates) if told.unit is None else None
    told = replace(told, unit=spoken_rate) if spoken_rate else told
    said: tuple[str, ...] = words_said("", told.unit)
    dimension = told.unit.of if told.unit else ""
    if letter == "F" and not told.unit and _is_rate(words):
        said, dimension = ("speed",), "speed"
    subjects = [listed.subject, *about] if listed.subject else list(about)
    contexts = [tuple(split(each)) for each in subjects if each and len(each.split()) <= HEADING]
    own = _way_said(own, listed, told.unit) if contexts and _is_retraction(contexts[0]) else own
    key = (letter.lower(), *own) if LETTERS_OF_AXES.issuperset(listed.letters) else own or said
    return Spoken(_names(key, contexts, said, dimension), told.unit, told.qualifier, words)


def _names(
    key: tuple[str, ...], contexts: list[tuple[str, ...]], said: tuple[str, ...], dimension: str
) -> tuple[Name, ...]:
    """The names of a key below what its line stands under, up to the first that is no part of the machine's own."""
    if not key:
        return ()
    names: tuple[Name, ...] = ()
    for context in contexts:
        if not understood(context):
            return names
        names += names_of(context, key, said, dimension)
        if not plain(context):
            return names
    return names + names_of((), key, said + (contexts[0] if contexts else ()), dimension)


def _of_all(listed: Listed) -> Unit | None:
    """The unit that stands by itself behind the last letter, where no other letter has one."""
    *others, last = listed.letters.values()
    parts = last.split(",")
    if len(parts) < 2 or not only_unit(parts[-1].strip()) or any(stated(each).unit for each in others):
        return None
    return stated(parts[-1].strip()).unit


def _rate(listed: Listed, letter: str, rates: bool) -> Unit | None:
    """The unit of a rate without one: of F as RS-274 has it (NISTIR 6556, 3.5.11 and 2.1.2.5, from memory), and of another
    beside F as that of F; None where the file states it, or where it is no rate."""
    beside = listed.letters.get("F", "")
    if not (_is_rate(beside) and _is_rate(listed.letters[letter])):
        return None
    told: Stated = stated(beside)
    return told.unit or (None if rates else units()["mm/min"])


def _is_rate(words: str) -> bool:
    return not RATE_WORDS.isdisjoint(split(words))


def _is_retraction(context: tuple[str, ...]) -> bool:
    present = frozenset(word for piece in context for word in ways_of(piece)[0])
    return "retraction" in vocabulary().names_in(present)


def _way_said(key: tuple[str, ...], listed: Listed, unit: Unit | None) -> tuple[str, ...]:
    """A key of a retraction with its way in the trade's words, where another letter has the same the other way: of `feed
    out` and `feed back in` the first is the retraction's, the second its return's."""
    if not _FORTH.isdisjoint(key) or not (_OUT | _IN).isdisjoint(key):
        key = tuple(piece for piece in key if piece not in _ON_THE_WAY)
    rest = tuple(piece for piece in key if piece not in _OUT | _IN)
    both = {"back", "again", *_FORTH}
    if (
        any(not _FORTH.isdisjoint(split(words)) for words in listed.letters.values())
        and set(key) - both <= RATE_WORDS
    ):
        return _to_and_fro(key)
    if not rest and unit and _IN.intersection(key):
        of_unit = [words for words in listed.letters.values() if stated(words).unit is unit]
        return ("return",) if any(_IN.isdisjoint(split(words)) for words in of_unit) else key
    others = [frozenset(split(without_unit(words))) for words in listed.letters.values()]
    same = [other for other in others if rest and other - _OUT - _IN <= set(rest)]
    if _IN.intersection(key) and any(not _IN & other for other in same):
        return (*rest, "return")
    return rest if _OUT.intersection(key) and any(_IN & other for other in same) else key


def said_otherwise(listed: Listed, letter: str, fit: Fit) -> bool:
    """Whether a letter in a list of a retraction is something else than its words alone would say: `pull out` is no
    unloading there, and of `pull out` and `push in` the second is not the retraction itself."""
    if letter not in listed.letters or not _is_retraction(tuple(split(listed.subject))):
        return False
    ways = {each: frozenset(split(words)) for each, words in listed.letters.items()}
    back = _IN & ways[letter] and not _OUT & ways[letter]
    return fit.quantity in _CHANGES or (
        fit.quantity == "retraction.length" and bool(back) and any(_OUT & way for way in ways.values())
    )


def _to_and_fro(key: tuple[str, ...]) -> tuple[str, ...]:
    """A key of a retraction where one letter is of the way forward: then `back` is the retraction's own way."""
    own = tuple(piece for piece in key if piece not in _FORTH | {"back", "again"})
    return (*own, "return") if not _FORTH.isdisjoint(key) else own


def is_feeder_alone(listed: Listed, letter: str) -> bool:
    """Whether a list says of the feeder's letter no more than that it is the feeder's: `X Y Z, E = filament motor`."""
    words = {word for piece in split(listed.letters[letter]) for word in ways_of(piece)[0]}
    own = {
        word
        for thing in ("feeder", "feed", "drive", "filament")
        for s in vocabulary().spelled(thing)
        for word in s
    }
    return letter == "E" and bool(words) and words <= own | {"motor", "axis"}


def plain(section: Iterable[str]) -> bool:
    """Whether a heading has words of the machine itself only: then a line below may be about another part of it."""
    present = {word for piece in section for word in ways_of(piece)[0]}
    own = {word for thing in _OWN for spelling in vocabulary().spelled(thing) for word in spelling}
    return present <= own | vocabulary().fillers


def understood(pieces: Iterable[str]) -> bool:
    """Whether every word of a subject is one that the trade has."""
    return all(word in vocabulary().known or word.isdigit() for piece in pieces for word in ways_of(piece)[0])


@lru_cache(maxsize=1024)
def _named(text: str) -> frozenset[str]:
    return vocabulary().names_in(frozenset(word for piece in split(text) for word in ways_of(piece)[0]))


def speaks_of(text: str, thing: str) -> bool:
    """Whether a remark has a word for a thing that quantities are of: `retraction`, `feeder`."""
    return thing in _named(text)


def explains(said: str) -> bool:
    """Whether what a file says of a code has words of the trade, and not only a unit and words that nobody knows."""
    words = {
        word for piece in split(without_unit(said)) if not is_cut_short(piece) for word in ways_of(piece)[0]
    }
    return any(len(word) > 2 for word in words & vocabulary().known - vocabulary().fillers)


def names_a_thing(remark: str) -> bool:
    """Whether a remark names a part of the machine or another device."""
    return not vocabulary().things.isdisjoint(_named(remark)) if remark else False


def names_another(entry: str, *remarks: str) -> bool:
    """Whether a line's remarks or headings name another device, which its legend does not. In a sentence a word is not cut
    short: who says that one file wins over another speaks of no winch."""
    mine = _named(entry)
    return any(_named(_whole_words(text)) & _DEVICES - mine for text in remarks if text)


def _whole_words(text: str) -> str:
    """A remark without what is done with a pen at any machine, and one longer than a heading without what may be cut words."""
    text = _WITH_A_PEN.sub(" ", text)
    words = text.split()
    return (
        text
        if len(words) <= HEADING
        else " ".join(word for word in words if not any(map(is_cut_short, split(word))))
    )


def only_occasion(fit: Fit) -> bool:
    """Whether a remark says no more than what a script is for: `unload filament` above its first line."""
    return fit.bare and fit.quantity in _CHANGES


def joined_with(told: Spoken, legend: Spoken, behind: str) -> Spoken:
    """What a line's own remark and the legend say together: what either says clearly, and nothing where they differ."""
    mine, other = clear_fit(told), clear_fit(legend)
    if other is None:
        return told if behind or mine else legend
    if mine is None and (SAYS_A_SHARE.search(behind) or only_occasion(other)):
        return told
    whole = told if mine else legend
    unit = told.unit if mine or only_unit(behind) else None
    apart = (mine and mine.quantity != other.quantity) or (unit and legend.unit and unit is not legend.unit)
    if apart:
        return Spoken((), remark=behind)
    return replace(whole, unit=unit or legend.unit, qualifier=told.qualifier or legend.qualifier)
