"""A run of letters as words of the trade: a word or its plural, words glued together, or what it is short for.

An abbreviation is a beginning, or the consonants, of exactly one known word; shorthand that is neither stands in
`words.yaml`. Where it may be several words all of them are thought of.

This module deliberately knows nothing of names: `words.py` puts runs together.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Mapping, Sequence
from functools import cache, lru_cache
from itertools import takewhile
from typing import TypeVar

from cfgmigrate.machine.vocabulary import vocabulary

_Ordered = TypeVar("_Ordered", str, tuple[str, str])

#: letters in a row beyond which nobody glued words together
LONGEST_RUN = 80
#: an abbreviation may have so many meanings
MOST_MEANINGS = 4

#: a word of so many letters is known with two of them changed round
_LONG = 6
_SINGLE = frozenset("exyz")
#: shorthand of several words has more letters than this with the axis's before it
_SHORTEST_OF_SEVERAL = 3
#: symbols of a speed and an acceleration, whose bound an axis has: `xvmax`
_RATES = frozenset({"v", "a"})
_PAIRS = frozenset({"xy", "xz", "yz"})
#: words of two letters that link others glued to them: `rightofnozzle`, `meshto`
_LINKS = frozenset({"of", "to"})
_EDGE_UNITS = frozenset({"mm", "ma", "ms", "hz", "s", "a", "k"})


@lru_cache(maxsize=65536)
def ways_of(piece: str) -> tuple[tuple[str, ...], ...]:
    """A run of letters as known words: itself, its singular, the fewest known words it is made of, or what it
    may abbreviate. Itself where it is none of these."""
    everyday = piece in vocabulary().everyday
    written = () if everyday else _written(piece)
    if written or everyday:
        return (written or (piece,),)
    found = _not_of_ours(abbreviated(piece))
    return tuple((word,) for word in found) if 0 < len(found) <= MOST_MEANINGS else ((piece,),)


@lru_cache(maxsize=65536)
def is_cut_short(piece: str) -> bool:
    """Whether a run of letters is known only as what it may abbreviate."""
    return not _written(piece) and ways_of(piece) != ((piece,),)


@lru_cache(maxsize=65536)
def _written(piece: str) -> tuple[str, ...]:
    """A run of letters as known words that are written out, or as shorthand; () where it is neither."""
    known_words = vocabulary().known
    if piece in vocabulary().forms:
        return (vocabulary().forms[piece],)
    if piece in known_words:
        return (piece,)
    short = vocabulary().shorthand.get(piece) or vocabulary().shorthand.get(piece.removesuffix("s"))
    if short:
        return short
    single = _singular(piece) or _stem(piece)
    if single:
        return (single,)
    unglued = _unglued(piece) or _bounded(piece)
    if unglued:
        return unglued
    slipped = _by_letters().get(_letters(piece)) if len(piece) >= _LONG else None
    return (slipped,) if slipped and _is_a_slip(piece, slipped) else ()


def _not_of_ours(words: tuple[str, ...]) -> tuple[str, ...]:
    """Of the words that a run of letters may be short for those of some other device, where there are any, and those that
    say no more than a measure: what may be a conveyor's is never taken as what conveys filament."""
    made = vocabulary()
    if not any(made.foreign(word) for word in words):
        return words
    return tuple(word for word in words if not (word in made.fillers or made.owning(word)))


def _singular(piece: str) -> str:
    known_words = vocabulary().known
    for ending in ("s", "es"):
        stem = piece.removesuffix(ending)
        if stem != piece and len(stem) > 2 and stem in known_words:
            return stem
    return ""


def _stem(piece: str) -> str:
    """The known word of which a run of letters is a form in `-ed` or `-ing`."""
    known_words, nouns = vocabulary().known, vocabulary().nouns
    for ending in ("ed", "ing", "d"):
        stem = piece.removesuffix(ending)
        if stem != piece and len(stem) > 2 and (ending != "d" or stem.endswith("e")):
            for tried in (stem, f"{stem}e", stem[:-1] if stem[-1:] == stem[-2:-1] else stem):
                if tried in known_words and len(tried) > 2 and tried not in nouns:
                    return tried
    return ""


def _bounded(piece: str) -> tuple[str, ...]:
    """Shorthand of a letter and a bound or measure: `vmax`, `xmn`, `ecur`, `maxv`, `zspmm`, `xirun`, `xvmax`; () for none."""
    made = vocabulary()
    if len(piece) > 2 and _is_bones(piece):
        return ()
    for letter, rest in ((piece[0], piece[1:]), (piece[-1], piece[:-1])):
        fewest = 2 if piece.endswith(rest) else 3
        meant = made.shorthand.get(rest, ()) if len(rest) >= fewest else ()
        if len(meant) == 1 and made.things.isdisjoint(made.names_in(frozenset(meant))):
            said = letter if letter in _SINGLE else made.symbols.get(letter, "")
            if said:
                return (said, meant[0])
    whose, meant = piece[0], made.shorthand.get(piece[1:], ())
    if whose in _SINGLE and piece[1:2] in _RATES and len(piece) > _SHORTEST_OF_SEVERAL and not meant:
        meant = _bounded(piece[1:])
    if whose in _SINGLE and len(piece) > _SHORTEST_OF_SEVERAL and len(meant) > 1:
        return (whose, *meant) if made.things.isdisjoint(made.names_in(frozenset(meant))) else ()
    return ()


def symbol(piece: str) -> str:
    """What a letter by itself stands for as a symbol, "" for nothing."""
    return vocabulary().symbols.get(piece, "")


@lru_cache(maxsize=1)
def _by_letters() -> dict[tuple[str, str], str]:
    """Long words by first letter and all letters: what a slip of two letters leaves alone."""
    return {_letters(word): word for word, _, _ in _full_words() if len(word) >= _LONG}


def _is_a_slip(piece: str, word: str) -> bool:
    """Whether a run of letters is a word with two neighbours changed round: `reveres` is `reverse`, `reserve` is not."""
    apart = [at for at, (one, other) in enumerate(zip(piece, word, strict=True)) if one != other]
    return len(apart) == 2 and apart[1] == apart[0] + 1


def _letters(word: str) -> tuple[str, str]:
    return word[0], "".join(sorted(word))


def _bones(word: str) -> str:
    """A word without the vowels behind its first letter."""
    return word[:1] + "".join(letter for letter in word[1:] if letter not in "aeiou")


@cache  # made as soon as read from a file
def _full_words() -> tuple[tuple[str, str, frozenset[str]], ...]:
    """Words that may be abbreviated: each with its bones and the names it is a spelling of."""
    made = vocabulary()
    names: dict[str, set[str]] = {}
    for name, spellings in made.spellings.items():
        for spelling in spellings:
            word = spelling[0]
            if len(spelling) == 1 and len(word) >= 3 and word.isalpha() and word not in made.fillers:
                names.setdefault(word, set()).add(name)
    for word in made.fillers:
        if len(word) >= 5 and word.isalpha():
            names.setdefault(word, set()).add("")
    return tuple((word, _bones(word), frozenset(found)) for word, found in sorted(names.items()))


@lru_cache(maxsize=1)
def _in_order() -> tuple[dict[str, frozenset[str]], list[str], list[tuple[str, str]]]:
    """The names that those words spell; the words in order; and each one's bones and itself in the order of bones."""
    names = {word: names for word, _, names in _full_words()}
    return names, sorted(names), sorted((bones, word) for word, bones, _ in _full_words())


def _begun(
    ordered: Sequence[_Ordered], first: _Ordered, begins: Callable[[_Ordered], bool]
) -> list[_Ordered]:
    """Of what is in order those from `first` on, as long as they begin so."""
    return list(takewhile(begins, (ordered[at] for at in range(bisect_left(ordered, first), len(ordered)))))


@lru_cache(maxsize=16384)
def abbreviated(piece: str) -> tuple[str, ...]:
    """The known words of which a run of letters is the beginning, the consonants, or the beginning and the end of one
    in `-ion` (`accn`); one for each meaning, the shortest, and whole consonants before a mere beginning of them."""
    if (
        not 2 <= len(piece) <= 7
        or not piece.isascii()
        or (len(piece) == 2 and piece not in vocabulary().pairs)
    ):
        return ()
    names_of, words, bones = _in_order()
    boned = sorted(word for _, word in _begun(bones, (piece, ""), lambda each: each[0].startswith(piece)))
    found = [
        word for word in boned if _bones(word) == piece and not _too_short_for_several(piece, word, names_of)
    ]
    if 3 <= len(piece) <= 5:
        found += [
            word for word in _begun(words, piece, lambda each: each.startswith(piece)) if len(word) <= 12
        ]
        stem = piece[:-1] if len(piece) >= 4 and piece[-1] == "n" else piece
        found += [
            word
            for word in _begun(words, stem, lambda each: each.startswith(stem))
            if stem != piece and word.endswith("ion") and word not in found
        ]
    if not found and len(piece) >= 4:
        found = boned
    meanings: dict[frozenset[str], str] = {}
    for word in found:
        names = names_of[word]
        known = next((each for each in meanings if each & names), names)
        if known not in meanings or len(word) < len(meanings[known]):
            meanings[known] = word
    return tuple(meanings.values())


def _too_short_for_several(piece: str, word: str, known: Mapping[str, frozenset[str]]) -> bool:
    """Whether the consonants are a plural's, of which two letters would be left for the one thing: `rts` is no ratios."""
    return len(piece) == 3 and piece[-1] == word[-1] == "s" and word[:-1] in known


def _unglued(piece: str) -> tuple[str, ...]:
    """The fewest known words that joined are exactly `piece`, () where there are none.

    Within it only words of three letters and more count, `mm`, and `of` and `to` behind one; a lone axis letter only at its two
    ends or between words (`gridxmin`), and a unit at its end: otherwise nearly every word would fall to pieces.
    """
    length = len(piece)
    if length > LONGEST_RUN or (length == 2 and piece not in _PAIRS):
        return ()
    best: list[tuple[str, ...] | None] = [None] * (length + 1)
    best[0] = ()
    for end in range(1, length + 1):
        for start in range(end):
            before = best[start]
            if before is None:
                continue
            inside = end - start == 1 and start >= 3 and length - end >= 3 and piece[start] in "xyz"
            word = piece[start] if inside else _part(piece[start:end], first=start == 0, last=end == length)
            if word and (best[end] is None or len(before) + 1 < len(best[end] or ())):
                best[end] = (*before, word)
    words = best[length] or ()
    if words[1:] and words[-1] == "e" and _begins_a_word(piece):
        return ()
    short = any(word not in piece for word in words)
    return () if short and any(len(word) < 2 for word in words) else words


def _is_bones(piece: str) -> bool:
    """Whether a run of letters is all consonants of a known word: `accl` is no length and `acc`."""
    bones = _in_order()[2]
    at = bisect_left(bones, (piece, ""))
    return at < len(bones) and bones[at][0] == piece


def _begins_a_word(piece: str) -> bool:
    """Whether a run of letters is the beginning of a longer known word: `winde` is no `wind` of the extruder."""
    words = _in_order()[1]
    at = bisect_left(words, piece)
    return at < len(words) and words[at].startswith(piece)


def _part(part: str, first: bool, last: bool) -> str:
    if len(part) == 1:
        at_edge = part in _SINGLE and (first or last)
        return part if at_edge or (last and part in _EDGE_UNITS) else ""
    known_words = vocabulary().known
    if len(part) == 2:
        at_edge = part in _PAIRS and (first or last)
        links = part in _LINKS and not first and (part == "to" or not last)
        return part if part == "mm" or at_edge or links or (last and part in _EDGE_UNITS) else ""
    if part in known_words:
        return vocabulary().forms.get(part, part)
    short = vocabulary().shorthand.get(part, ())
    return short[0] if len(short) == 1 else _singular(part)
