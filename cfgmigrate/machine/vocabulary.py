"""The trade's words and which quantity they name: `words.yaml`, checked when it is loaded.

This module deliberately looks at no name: `spellings.py` finds words in a run of letters, `words.py` the words of a
name, and `matching.py` what they mean together.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any

from msgspec import Struct

from cfgmigrate.ground.compiled import compiled
from cfgmigrate.ground.data_file import check_fields, expand, load
from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.ground.units import units
from cfgmigrate.machine.quantities import all_quantities, facts, known

_FILE = "words.yaml"
_TOP: dict[str, type] = {
    "words": dict,
    "turned": dict,
    "forms": dict,
    "things": dict,
    "fillers": list,
    "headings": list,
    "opposites": dict,
    "weak": list,
    "listing": list,
    "shorthand": dict,
    "pairs": list,
    "everyday": list,
    "nouns": list,
    "symbols": dict,
    "quantities": dict,
    "lists": dict,
    "protected": list,
    "roles": dict,
    "script": list,
    "ranges": dict,
}
_ENTRY = frozenset(
    ["phrases", "of", "where", "may", "fillers", "alone", "measure", "examples", "never", "in_key"]
)
_RANGE = frozenset(["each", "phrases", "of", "may", "fillers", "low", "high", "pair", "examples"])
_LIST = frozenset(["phrases", "of", "may", "fillers", "orders", "examples"])
#: things by which it is told whose a value is
_OWNERS = frozenset(
    ("feeder", "feed", "drive", "filament", "retraction", "pull", "lag", "carriage", "x", "y", "z")
)
Spelling = tuple[str, ...]


class Phrase(Struct, frozen=True, array_like=True):
    """Names of words that together name a quantity; `unit` where the phrase says another than the usual. A `written`
    phrase stands in key or section: a unit that says its word (`mm`: length) does not make it. `below` are things that the
    section may name where the key says all of the phrase."""

    words: tuple[str, ...]
    unit: str = ""
    written: bool = False
    below: frozenset[str] = frozenset()


class Entry(Struct, frozen=True, array_like=True):
    """How one quantity is named. `of` are the things of which one must be named (empty: none must)."""

    quantity: str
    phrases: tuple[Phrase, ...]
    of: frozenset[str]
    may: frozenset[str]
    fillers: frozenset[str]
    alone: bool
    measure: str
    examples: tuple[str, ...] = ()
    never: tuple[str, ...] = ()
    in_key: bool = False
    #: names of words that the key itself has to say
    key_says: frozenset[str] = frozenset()
    #: names of words by which it is named where no thing is, though each of them is weak
    strong: frozenset[str] = frozenset()


class ListEntry(Struct, frozen=True, array_like=True):
    """How a setting with one number for each axis is named. `of` maps letters to quantities, `orders` numbers
    of items to the order of the letters."""

    measure: str
    phrases: tuple[Phrase, ...]
    may: frozenset[str]
    fillers: frozenset[str]
    of: Mapping[str, str]
    orders: Mapping[int, str]
    examples: tuple[str, ...] = ()


class RangeEntry(Struct, frozen=True, array_like=True):
    """How a setting with two numbers, the least and the most of a thing, is named; `low` and `high` are ids, and without `low` the
    least has to be 0. Of a `pair` either may be the greater."""

    phrases: tuple[Phrase, ...]
    of: frozenset[str]
    may: frozenset[str]
    fillers: frozenset[str]
    low: str
    high: str
    pair: bool = False
    examples: tuple[str, ...] = ()


class Vocabulary(Struct, frozen=True, dict=True, array_like=True):
    """`spellings` gives for a word's or a thing's name all its spellings, longest first."""

    spellings: Mapping[str, tuple[Spelling, ...]]
    things: frozenset[str]
    fillers: frozenset[str]
    opposites: Mapping[str, bool]
    weak: frozenset[str]
    shorthand: Mapping[str, Spelling]
    symbols: Mapping[str, str]
    #: two letters that may be the consonants of a word
    pairs: frozenset[str]
    #: words that are short for nothing, and glued of nothing
    everyday: frozenset[str]
    #: known words of which no form in `-ed` or `-ing` is
    nouns: frozenset[str]
    entries: tuple[Entry, ...]
    lists: tuple[ListEntry, ...]
    protected: frozenset[frozenset[str]]
    roles: Mapping[str, tuple[str, ...]]
    script: tuple[Spelling, ...]
    ranges: tuple[RangeEntry, ...]
    #: single words that a prefix turned
    turned: frozenset[str]
    #: words that explain nothing in a section
    headings: frozenset[str]
    #: forms of verbs, each with its verb
    forms: Mapping[str, str]
    #: things that have to do with no quantity
    strangers: frozenset[str]
    #: words by which a key says that it is a list
    listing: frozenset[str]

    @cached_property
    def known(self) -> frozenset[str]:
        """Every single word that occurs in any spelling."""
        found = {word for group in self.spellings.values() for spelling in group for word in spelling}
        found.update(word for spelling in self.script for word in spelling)
        found.update(word for unit in units().values() for spelling in unit.words for word in spelling)
        found.update(
            self.fillers, self.headings, self.listing, self.forms, *self.protected, *self.roles.values()
        )
        named: tuple[Entry | ListEntry, ...] = (*self.entries, *self.lists)
        for entry in named:
            found.update(entry.fillers)
            found.update(
                word for phrase in entry.phrases for word in phrase.words if word not in self.spellings
            )
        for each in self.entries:
            found.update(facts(each.quantity).qualifiers)
        return frozenset(found)

    @cached_property
    def by_word(self) -> Mapping[str, tuple[tuple[Spelling, str], ...]]:
        """For every single word, the spellings that begin with it, each with the name it spells."""
        found: dict[str, list[tuple[Spelling, str]]] = {}
        for name, group in self.spellings.items():
            for spelling in group:
                found.setdefault(spelling[0], []).append((spelling, name))
        return {word: tuple(several) for word, several in found.items()}

    @cached_property
    def names_in(self) -> Callable[[frozenset[str]], frozenset[str]]:
        """The names of all words and things that are spelled with some of the given words, and those words themselves."""
        return lru_cache(maxsize=16384)(self._names_in)

    def _names_in(self, words: frozenset[str]) -> frozenset[str]:
        found = set(words)
        for word in words:
            for spelling, name in self.by_word.get(word, ()):
                if len(spelling) == 1 or words.issuperset(spelling):
                    found.add(name)
        return frozenset(found)

    def foreign(self, word: str) -> bool:
        """Whether a word by itself names nothing but things that no quantity has to do with."""
        named = self._named(word)
        return bool(named) and named <= self.strangers

    def owning(self, word: str) -> bool:
        """Whether a word by itself names whose a value is: the feed path's, an axis's, the carriage's."""
        return not self._named(word).isdisjoint(_OWNERS)

    def _named(self, word: str) -> frozenset[str]:
        return frozenset(name for spelling, name in self.by_word.get(word, ()) if len(spelling) == 1)

    def spelled(self, name: str) -> tuple[Spelling, ...]:
        return self.spellings.get(name, ((name,),))


@compiled
def vocabulary() -> Vocabulary:
    """The words. Raises BadInput where the file is wrong."""
    data = load(Path(__file__).with_name(_FILE), _TOP)
    forms = {form: verb for verb, several in data["forms"].items() for form in several}
    data = _by_verbs(data, forms)
    things = frozenset(data["things"])
    spellings: dict[str, list[Spelling]] = {}
    for group in ("words", "things"):
        for name, written in data[group].items():
            spellings.setdefault(name, []).extend(tuple(str(text).split()) for text in written)
    turned = {name: _turned(made_of["before"], made_of["of"]) for name, made_of in data["turned"].items()}
    for name, made_of in turned.items():
        spellings.setdefault(name, []).extend(made_of)
    ordered = {
        name: tuple(sorted(set(found), key=lambda s: (-len(s), s))) for name, found in spellings.items()
    }
    entries = tuple(
        entry for name, raw in data["quantities"].items() for entry in _entries(name, raw, things)
    )
    lists = tuple(_list(measure, raw) for measure, raw in data["lists"].items())
    script = tuple(tuple(text.split()) for text in data["script"])
    made = Vocabulary(
        ordered,
        things,
        frozenset(data["fillers"]),
        {word: truth == "yes" for truth, words in data["opposites"].items() for word in words},
        frozenset(data["weak"]),
        {str(short): tuple(str(words).split()) for short, words in data["shorthand"].items()},
        {str(letter): str(word) for letter, word in data["symbols"].items()},
        frozenset(data["pairs"]),
        frozenset(data["everyday"]),
        frozenset(data["nouns"]),
        entries,
        lists,
        frozenset(_together(each) for each in data["protected"]),
        {role: tuple(words) for role, words in data["roles"].items()},
        script,
        tuple(found for name, raw in data["ranges"].items() for found in _ranges(name, raw)),
        frozenset(each[0] for group in turned.values() for each in group if len(each) == 1),
        frozenset(data["headings"]),
        forms,
        _strangers(things, entries).difference(*map(_together, data["protected"])),
        frozenset(data["listing"]),
    )
    _check(made)
    return made


def _strangers(things: frozenset[str], entries: Iterable[Entry]) -> frozenset[str]:
    """The things of which no quantity is, which none has beside and none is named by."""
    used: set[str] = set()
    for entry in entries:
        used |= entry.of | entry.may
        used.update(word for phrase in entry.phrases for word in phrase.words)
    return things - used


def _by_verbs(data: dict[str, Any], forms: Mapping[str, str]) -> dict[str, Any]:
    """The spellings, fillers and occasions with each form of a verb as the verb."""

    def plain(text: object) -> str:
        return " ".join(forms.get(word, word) for word in str(text).split())

    groups = {
        group: {name: [plain(text) for text in several] for name, several in data[group].items()}
        for group in ("words", "things", "roles")
    }
    entries = {
        name: {**raw, "fillers": [plain(word) for word in raw.get("fillers", [])]}
        for name, raw in data["quantities"].items()
    }
    return {**data, **groups, "fillers": [plain(word) for word in data["fillers"]], "quantities": entries}


def _turned(prefixes: Iterable[str], words: list[str]) -> tuple[Spelling, ...]:
    """Each word behind each prefix, joined and apart."""
    return tuple(each for prefix in prefixes for word in words for each in ((prefix + word,), (prefix, word)))


def _phrases(entry: str, raw: object) -> tuple[Phrase, ...]:
    found = []
    for item in raw if isinstance(raw, list) else []:
        fields = item if isinstance(item, dict) else {"words": item}
        check_fields(_FILE, entry, fields, frozenset({"words", "unit", "written", "below"}))
        words = tuple(str(fields["words"]).split())
        below = frozenset(fields.get("below", ()))
        found.append(Phrase(words, fields.get("unit", ""), bool(fields.get("written")), below))
    if not found:
        raise BadInput(f"`{entry}` has no phrases", Place(_FILE))
    return tuple(found)


def _entries(name: str, raw: object, things: frozenset[str]) -> list[Entry]:
    data = check_fields(_FILE, name, raw, _ENTRY)
    where = data.get("where", {})
    letters = [letter for _, letter in _stands_for(name)] if "@" in name else None
    found = []
    for quantity, letter in expand(name, letters):
        if not known(quantity):
            raise BadInput(f"there is no quantity `{quantity}`", Place(_FILE))
        of = data.get("of", [])
        wanted = where.get(letter, [letter]) if of == "@" else ([of] if isinstance(of, str) else of)
        unknown = sorted({*wanted, *data.get("may", [])} - things)
        if unknown:
            raise BadInput(f"`{name}` names `{unknown[0]}`, which is not among the things", Place(_FILE))
        found.append(
            Entry(
                quantity,
                _phrases(name, data.get("phrases")),
                frozenset(wanted),
                frozenset(data.get("may", [])),
                frozenset(data.get("fillers", [])),
                bool(data.get("alone")),
                data.get("measure") or quantity.rpartition(".")[2],
                tuple(text.replace("@", letter) for text in data.get("examples", [])),
                tuple(text.replace("@", letter) for text in data.get("never", [])),
                data.get("in_key") is True,
                frozenset(said if isinstance(said := data.get("in_key"), list) else ()),
                frozenset(strong if isinstance(strong := data.get("alone"), list) else ()),
            )
        )
    return found


def _stands_for(name: str) -> list[tuple[str, str]]:
    """The quantities that an id with `@` stands for."""
    pattern = re.compile(re.escape(name).replace("@", "([a-z]+)"))
    found = [(q.id, match[1]) for q in all_quantities() if (match := pattern.fullmatch(q.id))]
    if not found:
        raise BadInput(f"`{name}` is no quantity", Place(_FILE))
    return found


def _together(raw: str | list[str]) -> frozenset[str]:
    """One word that does something alone, or several that do it together."""
    return frozenset((raw,) if isinstance(raw, str) else raw)


def _list(measure: str, raw: object) -> ListEntry:
    data = check_fields(_FILE, measure, raw, _LIST)
    return ListEntry(
        measure,
        _phrases(measure, data.get("phrases")),
        frozenset(data.get("may", [])),
        frozenset(data.get("fillers", [])),
        data["of"],
        {int(number): order for number, order in data["orders"].items()},
        tuple(data.get("examples", [])),
    )


def _ranges(name: str, raw: object) -> list[RangeEntry]:
    data = check_fields(_FILE, name, raw, _RANGE)
    return [
        RangeEntry(
            _phrases(name, data["phrases"]),
            frozenset(data.get("of", {}).get(letter, [letter])),
            frozenset(data.get("may", [])),
            frozenset(data.get("fillers", [])),
            data.get("low", "").replace("@", letter),
            data["high"].replace("@", letter),
            bool(data.get("pair")),
            tuple(text.replace("@", letter) for text in data.get("examples", [])),
        )
        for letter in data["each"]
    ]


def _check(made: Vocabulary) -> None:
    """Every quantity has words, and every unit, and every quantity of a list or a range, exists. A word that is short for nothing
    is none of ours, and one of which no form is has to be."""
    if ours := sorted(made.everyday & made.known):
        raise BadInput(f"`{ours[0]}` is a word of everyday and one of ours", Place(_FILE))
    if strange := sorted(made.nouns - made.known):
        raise BadInput(f"`{strange[0]}` is among the nouns and no word of ours", Place(_FILE))
    for entry in made.entries:
        for phrase in entry.phrases:
            if phrase.unit and facts(entry.quantity).unit(phrase.unit) is None:
                raise BadInput(f"`{entry.quantity}` can't be in `{phrase.unit}`", Place(_FILE))
    for span in made.ranges:
        if (span.low and not known(span.low)) or not known(span.high):
            raise BadInput(f"there is no quantity `{span.low}` or `{span.high}`", Place(_FILE))
    for found in made.lists:
        for name in found.of.values():
            if not known(name):
                raise BadInput(f"there is no quantity `{name}`", Place(_FILE))
    named = {entry.quantity for entry in made.entries}
    for quantity in all_quantities():
        if quantity.kind != "script" and quantity.id not in named:
            raise BadInput(f"`{quantity.id}` has no words", Place(_FILE))
