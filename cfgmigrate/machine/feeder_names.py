"""What a feeder may be called, and which one it then is.

A name is neither a number nor a side, which are told by themselves, nor what all feeders are called by together. Which is the first
is said by the site file, else by a list of the names in the files, else by the numbers or sides that the names are, else by the
order in which they were met. Where names stand is not looked for here.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache

from cfgmigrate.dialects.document import Document
from cfgmigrate.dialects.value import Items, Text, read_value
from cfgmigrate.files.told_feeders import Feeder
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.holder_words import holder_words
from cfgmigrate.machine.prefixes import names_something
from cfgmigrate.machine.words import split

#: a setting by its file and place
SettingAt = tuple[str, int]
LEVELS_OF_NAME = pattern(r"[./:]+")
FEEDER_S_WORD = "feeder"
LONGEST_CALLED = 40
#: what is called so is of all feeders, or goes over another file
OF_ALL_FEEDERS = frozenset({"all", "both", "common", "shared", "general", "default", "defaults", "base", "any", "every", "each",
                     "local", "override", "overrides", "custom", "user", "main", "printer", "machine"})  # fmt: skip
#: of these, what the first of several may be called as well: beside a second one's own motor it is one of them
MAY_BE_ONE = frozenset({"main"})


@lru_cache(maxsize=4096)
def is_feeder_word(text: str) -> bool:
    """Whether a text is one word for a feeder, or several such words' plural."""
    words = split(text)
    return len(words) == 1 and words[0].removesuffix("s") in {*holder_words().for_feeder, "drive", "pusher"}


def may_name(name: str) -> bool:
    """Whether words may name a feeder: no number and no side, which are told by themselves, and not all feeders."""
    words = set(split(name))
    return bool(words) and not any(
        word.isdigit() or word in holder_words().sides or word in OF_ALL_FEEDERS or is_feeder_word(word)
        for word in words
    )


def is_new_word(name: str) -> bool:
    """Whether a name is no word of the trade."""
    return names_something(split(name))


def numbers_of(
    called: Sequence[str], documents: Iterable[Document], told: Sequence[Feeder]
) -> dict[str, int]:
    """The feeder, from 1 on, that each name is of."""
    found = {(each.name.casefold() or str(each.number)): each.number for each in told}
    known = {text.casefold(): each.number for each in told for text in each.known_as}
    found |= {name: known[name] for name in called if name in known and name not in found}
    order = [
        name
        for name in names_listed(called, documents) or sorted(called, key=_by_itself)
        if name not in found
    ]
    free = (number for number in range(1, len(order) + len(found) + 1) if number not in found.values())
    return {**found, **dict(zip(order, free, strict=False))}


def names_listed(called: Sequence[str], documents: Iterable[Document]) -> list[str]:
    """The names in the order of a list of just these that stands in a file, [] where there is none."""
    if len(called) < 2:
        return []
    for setting in (each for document in documents for each in document.settings):
        value = read_value(setting.value)
        if isinstance(value, Items) and len(value.items) == len(called):
            items = [item.text.strip("\"' ").casefold() for item in value.items if isinstance(item, Text)]
            if sorted(items) == sorted(called):
                return items
    return []


def _by_itself(name: str) -> int:
    """Where a name that is a number, a side or a word that counts stands; all others keep their order, behind these."""
    standing = {**holder_words().sides, **holder_words().counts}
    return int(name) if name.isdecimal() and len(name) < 4 else standing.get(name, 1000)


def within(wanted: Sequence[str], words: Sequence[str]) -> bool:
    return bool(wanted) and any(
        list(words[at : at + len(wanted)]) == list(wanted) for at in range(len(words) - len(wanted) + 1)
    )
