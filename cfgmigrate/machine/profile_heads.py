"""What the levels of a section call a profile: `[reel petg black]`, `[fine print]`, `print_with.black pla`, and where its name begins.

The words are in `holders.yaml`. Whether what is called so is a profile at all is decided in `profiles.py`.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.holder_words import EITHER, holder_words
from cfgmigrate.machine.prefixes import names_something
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

BETWEEN_WORDS_OF_NAME = pattern(r"[\s_\-]+")
#: words between the one for a profile and its name
_LINKS = ("with", "in", "of", "for", "from", "using", "out")
#: words before a material by which a heading says when its lines hold: `when printing in PETG`, `if PLA is loaded`
_WHEN = frozenset(
    (
        "when",
        "whenever",
        "while",
        "if",
        "printing",
        "prints",
        "print",
        "running",
        "using",
        "feeding",
        "making",
        "doing",
        "the",
        "it",
        "is",
    )
)
#: by these alone nothing says when: `the PA` may be a pressure's
_ARTICLES = ("the", "it", "is")
#: words before the one for profiles that say no more: `kinds of job`
_SORTS = frozenset(
    (
        "kind",
        "kinds",
        "type",
        "types",
        "sort",
        "sorts",
        "list",
        "table",
        "choice",
        "of",
        "the",
        "our",
        "all",
        "for",
        "each",
    )
)


def called_with_kind(level: str, kind: str) -> str:
    """A level above a profile's name with the word for its kind: a spool of settings is no device."""
    if _gathers(level):
        return kind
    words = [word for word in BETWEEN_WORDS_OF_NAME.split(level.casefold()) if word]
    said = holder_words().profiles.get(singular(words[-1])) if words else None
    return kind if said == kind != EITHER and _SORTS.issuperset(words[:-1]) else level


@lru_cache(maxsize=1024)
def profile_head(levels: tuple[str, ...]) -> tuple[int, str, list[str], str] | None:
    """How many levels name a profile, of which kind, the words before its name in the last, and its name; None
    where they name none."""
    profiles = holder_words().profiles
    for at, level in enumerate(levels):
        words = [part for word in BETWEEN_WORDS_OF_NAME.split(level) if word for part in _parted(word)]
        if (several := _gathers(level)) and at + 1 < len(levels):
            name = levels[at + 1]
            if names_something(split(name)):
                return at + 2, several, [], name
            continue
        for here, word in enumerate(words):
            kind = profiles.get(singular(word.casefold()))
            if kind is None:
                continue
            behind = behind_links(words[here + 1 :])
            if not behind and _is_called(words[:here]):
                return at + 1, kind, words[here:], " ".join(words[:here])  # `[fine print]`
            name, kind = " ".join(behind), "filament" if len(behind) < len(words[here + 1 :]) else kind
            if name.casefold() in _LINKS and at + 1 < len(levels):
                name, kind = (
                    "",
                    "filament" if material_in(levels[at + 1]) else kind,
                )  # `print_with.black pla`
            if singular(name.casefold()) in profiles:
                continue  # `print profiles`: the word for what follows
            if names_something(split(name)) or _is_made(word, name):
                return at + 1, kind, words[: here + 1], name
            if not name and at + 1 < len(levels):
                below = at + 1 + (levels[at + 1].casefold() in holder_words().gathered)
                name = levels[below] if below < len(levels) else levels[at + 1]
                if name.isdigit() or names_something(split(name)):
                    return min(below, len(levels) - 1) + 1, kind, [], name
        behind = behind_links(words)
        if len(behind) < len(words):
            return at + 1, "filament", [], " ".join(behind)  # `[with PETG]`
    return None


def _gathers(level: str) -> str:
    """The kind of profiles that a level says it holds several of: `print_sets`, `layer modes`, `filamentTable`; "" for any other."""
    words, said = [part for word in split(level) for part in _parted(word)], holder_words()
    if len(words) < 2 or not said.gathered.issuperset(words[1:]):
        return ""
    if words[0] in said.sliced:
        return "print"
    return said.profiles.get(singular(words[0]), "")


def _parted(word: str) -> tuple[str, ...]:
    """A word for a profile and one that gathers them or says it again, where they are glued: `printprofiles`."""
    said, low = holder_words(), word.casefold()
    behind = said.gathered | {each for kind in said.profiles for each in (kind, kind + "s")}
    for first in (*said.profiles, *said.sliced):
        if low.startswith(first) and low[len(first) :] in behind:
            return word[: len(first)], word[len(first) :]
    return (word,)


def _is_made(word: str, name: str) -> bool:
    """Whether a name behind the word for a job is that of a thing, which elsewhere may be a device: `[job lamp feet]`."""
    first = split(name)[:1]
    return singular(word.casefold()) in holder_words().made and bool(first) and vocabulary().foreign(first[0])


def _is_called(words: list[str]) -> bool:
    """Whether words before the one for a profile are names that profiles have, or a material: `fine`, `black petg`."""
    words = [each.casefold() for each in words]
    named = {*holder_words().called, *holder_words().materials}
    return (
        bool(words)
        and any(each in named for each in words[-1:])
        and all(names_something((each,)) for each in words)
    )


def links_before(words: list[str]) -> int:
    """How many words that link stand before all others; articles alone link nothing."""
    linking = [word.casefold() in _LINKS or word.casefold() in _WHEN for word in words]
    return linking.index(False) if False in linking and words[0].casefold() not in _ARTICLES else 0


def behind_links(words: list[str]) -> list[str]:
    """What stands behind a word for a profile, from its material on where only words that link stand before that."""
    at = links_before(words)
    return (
        words[at:]
        if words and split(words[at])[:1] and split(words[at])[0] in holder_words().materials
        else words
    )


def material_behind_word(words: Sequence[str]) -> str:
    """What stands behind a word for a profile in the midst of a file's name, from its material on: `heron filament PETG black`; "" where
    no material does."""
    named = holder_words()
    for at, word in enumerate(words[1:-1], 1):
        first = split(words[at + 1])[:1]
        if singular(word.casefold()) in named.profiles and first and first[0] in named.materials:
            return " ".join(words[at + 1 :])
    return ""


def material_in(text: str) -> str:
    """The material that a text names, "" where it names none."""
    materials = holder_words().materials
    return next((materials[word] for word in split(text) if word in materials), "")


def singular(word: str) -> str:
    profiles = holder_words().profiles
    return next(
        (each for each in (word, word.removesuffix("s"), word.removesuffix("es")) if each in profiles), word
    )
