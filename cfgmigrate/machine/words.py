"""A key and its section as the trade's words.

`Vocabulary` is `words.yaml`, checked when it is loaded. `split` cuts a text into words at case changes,
digits and signs; `read_name` does so for a section and a key, cuts glued words, drops plurals and takes
out the number or side of a feeder (`extruder1`, `E0`, `retraction 2`, `left feeder`), so that what is left is bare
words whose order is free.

This module deliberately does not decide what the words mean together: that is `matching.py`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

from cfgmigrate.ground.compiled import compiled
from cfgmigrate.ground.data_file import check_fields, expand, load
from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.ground.units import units
from cfgmigrate.machine.holder_words import holder_words
from cfgmigrate.machine.quantities import all_quantities, facts, known

_FILE = "words.yaml"
_TOP: dict[str, type] = {
    "words": dict,
    "things": dict,
    "fillers": list,
    "opposites": dict,
    "weak": list,
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
_RANGE = frozenset(["each", "phrases", "of", "may", "fillers", "low", "high", "examples"])
_LIST = frozenset(["phrases", "of", "may", "fillers", "orders", "examples"])
#: letters in a row beyond which nobody glued words together
LONGEST_RUN = 80
#: an abbreviation may have so many meanings, and a name be taken in so many ways
MOST_MEANINGS = 4
MOST_WAYS = 8

#: `mA` is one word wherever it stands; capitals before a small letter begin a word
_PIECE = re.compile(
    r"mA(?![a-z])|[A-Z]?[a-z]+(?=mA(?![a-z]))|[A-Z]+(?![a-z])|[A-Z]?[a-z]+|\d+|[^\W\d_a-zA-Z]+"
)
_SINGLE = frozenset("exyz")
_EDGE_UNITS = frozenset({"mm", "ma", "ms", "hz", "s", "a", "k"})

Spelling = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Phrase:
    """Names of words that together name a quantity; `unit` where the phrase says another than the usual."""

    words: tuple[str, ...]
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Entry:
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


@dataclass(frozen=True, slots=True)
class ListEntry:
    """How a setting with one number for each axis is named. `of` maps letters to quantities, `orders` numbers
    of items to the order of the letters."""

    measure: str
    phrases: tuple[Phrase, ...]
    may: frozenset[str]
    fillers: frozenset[str]
    of: Mapping[str, str]
    orders: Mapping[int, str]
    examples: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class RangeEntry:
    """How a setting with two numbers, the least and the most of a thing, is named; `low` and `high` are ids."""

    phrases: tuple[Phrase, ...]
    of: frozenset[str]
    may: frozenset[str]
    fillers: frozenset[str]
    low: str
    high: str
    examples: tuple[str, ...] = ()


@dataclass(frozen=True)
class Vocabulary:
    """`spellings` gives for a word's or a thing's name all its spellings, longest first."""

    spellings: Mapping[str, tuple[Spelling, ...]]
    things: frozenset[str]
    fillers: frozenset[str]
    opposites: Mapping[str, bool]
    weak: frozenset[str]
    entries: tuple[Entry, ...]
    lists: tuple[ListEntry, ...]
    protected: frozenset[str]
    roles: Mapping[str, tuple[str, ...]]
    script: tuple[Spelling, ...]
    ranges: tuple[RangeEntry, ...]
    #: every single word that occurs in any spelling
    known: frozenset[str] = field(default_factory=frozenset)

    #: for every single word, the spellings that begin with it, each with the name it spells
    by_word: Mapping[str, tuple[tuple[Spelling, str], ...]] = field(default_factory=dict)

    def names_in(self, words: frozenset[str]) -> frozenset[str]:
        """The names of all words and things that are spelled with some of `words`, and `words` themselves."""
        found = set(words)
        for word in words:
            for spelling, name in self.by_word.get(word, ()):
                if len(spelling) == 1 or words.issuperset(spelling):
                    found.add(name)
        return frozenset(found)

    def spelled(self, name: str) -> tuple[Spelling, ...]:
        return self.spellings.get(name, ((name,),))


@compiled
def vocabulary() -> Vocabulary:
    """The words. Raises BadInput where the file is wrong."""
    data = load(Path(__file__).with_name(_FILE), _TOP)
    things = frozenset(data["things"])
    spellings: dict[str, list[Spelling]] = {}
    for group in ("words", "things"):
        for name, written in data[group].items():
            spellings.setdefault(name, []).extend(tuple(str(text).split()) for text in written)
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
        entries,
        lists,
        frozenset(data["protected"]),
        {role: tuple(words) for role, words in data["roles"].items()},
        script,
        tuple(found for name, raw in data["ranges"].items() for found in _ranges(name, raw)),
        _known(ordered, data, entries, lists, script),
        _by_word(ordered),
    )
    _check(made)
    return made


def _by_word(spellings: Mapping[str, tuple[Spelling, ...]]) -> dict[str, tuple[tuple[Spelling, str], ...]]:
    found: dict[str, list[tuple[Spelling, str]]] = {}
    for name, group in spellings.items():
        for spelling in group:
            found.setdefault(spelling[0], []).append((spelling, name))
    return {word: tuple(several) for word, several in found.items()}


def _known(
    spellings: Mapping[str, tuple[Spelling, ...]],
    data: dict[str, Any],
    entries: Iterable[Entry],
    lists: Iterable[ListEntry],
    script: Iterable[Spelling],
) -> frozenset[str]:
    found = {word for group in spellings.values() for spelling in group for word in spelling}
    found.update(word for spelling in script for word in spelling)
    found.update(word for unit in units().values() for spelling in unit.words for word in spelling)
    found.update(data["fillers"], data["protected"], *data["roles"].values())
    named: tuple[Entry | ListEntry, ...] = (*entries, *lists)
    for entry in named:
        found.update(entry.fillers)
        found.update(word for phrase in entry.phrases for word in phrase.words if word not in spellings)
    for each in entries:
        found.update(facts(each.quantity).qualifiers)
    return frozenset(found)


def _phrases(entry: str, raw: object) -> tuple[Phrase, ...]:
    found = []
    for item in raw if isinstance(raw, list) else []:
        fields = item if isinstance(item, dict) else {"words": item}
        check_fields(_FILE, entry, fields, frozenset({"words", "unit"}))
        found.append(Phrase(tuple(str(fields["words"]).split()), fields.get("unit", "")))
    if not found:
        raise BadInput(f"`{entry}` has no phrases", Place(_FILE))
    return tuple(found)


def _entries(name: str, raw: object, things: frozenset[str]) -> list[Entry]:
    data = check_fields(_FILE, name, raw, _ENTRY)
    where = data.get("where", {})
    letters = [letter for _, letter in _stands_for(name)] if "@" in name else None
    found = []
    for quantity, letter in expand(name, letters):
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
                bool(data.get("in_key")),
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
            data["low"].replace("@", letter),
            data["high"].replace("@", letter),
            tuple(text.replace("@", letter) for text in data.get("examples", [])),
        )
        for letter in data["each"]
    ]


def _check(made: Vocabulary) -> None:
    """Every quantity has words, and every quantity and unit that the words name exists."""
    for entry in made.entries:
        if not known(entry.quantity):
            raise BadInput(f"there is no quantity `{entry.quantity}`", Place(_FILE))
        for phrase in entry.phrases:
            if phrase.unit and facts(entry.quantity).unit(phrase.unit) is None:
                raise BadInput(f"`{entry.quantity}` can't be in `{phrase.unit}`", Place(_FILE))
    for span in made.ranges:
        if not known(span.low) or not known(span.high):
            raise BadInput(f"there is no quantity `{span.low}` or `{span.high}`", Place(_FILE))
    for found in made.lists:
        for name in found.of.values():
            if not known(name):
                raise BadInput(f"there is no quantity `{name}`", Place(_FILE))
    named = {entry.quantity for entry in made.entries}
    for quantity in all_quantities():
        if quantity.kind != "script" and quantity.id not in named:
            raise BadInput(f"`{quantity.id}` has no words", Place(_FILE))


@dataclass(frozen=True, slots=True)
class Counted:
    """Which feeder a name speaks of: the number behind the feed path's word `word` ("" for a number by itself), as
    written, or what a side such as left stands for. It stands in the key, or else in the section."""

    number: int
    word: str
    side: bool = False
    in_key: bool = False


@dataclass(frozen=True, slots=True)
class Name:
    """A section and a key as words. `counted` is the feeder that it speaks of, None where it says none.

    `said` are words that the value's unit or the line's remark say beside; `dimension` is what the value is
    measured in, "" where nothing says it.
    """

    section: tuple[str, ...]
    key: tuple[str, ...]
    counted: Counted | None = None
    said: tuple[str, ...] = ()
    dimension: str = ""

    @property
    def number(self) -> int | None:
        return self.counted.number if self.counted else None

    @property
    def words(self) -> tuple[str, ...]:
        return self.section + self.key


def split(text: str) -> list[str]:
    """The pieces of a text, in lower case: runs of letters at case changes, runs of digits."""
    return [found.group().lower() for found in _PIECE.finditer(text.replace("²", "2"))]


@lru_cache(maxsize=65536)
def read_name(section: str, key: str) -> Name:
    """The words of a section and a key."""
    return names_of(tuple(split(section)), tuple(split(key)))[0]


@lru_cache(maxsize=65536)
def readings_of_name(section: str, key: str) -> tuple[Name, ...]:
    """The ways to take a section and a key, the strictest first.

    The parts of a dotted key before its last dot may be a section: `wren.feeder.run_current` is
    `run_current` in `wren.feeder`.
    """
    return tuple(name for path in paths_of(section, key) for name in names_of(*path))


@lru_cache(maxsize=65536)
def paths_of(section: str, key: str) -> tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]:
    """Section and key in pieces; a dotted key also with its last part as the key."""
    whole = tuple(split(section)), tuple(split(key))
    before, dot, last = key.rpartition(".")
    if not dot or any(sign in key for sign in " \t") or not split(last):
        return (whole,)
    return whole, (tuple(split(f"{section} {before}")), tuple(split(last)))


@lru_cache(maxsize=65536)
def names_of(
    section: tuple[str, ...], key: tuple[str, ...], said: tuple[str, ...] = (), dimension: str = ""
) -> tuple[Name, ...]:
    """The names that the pieces of a section and a key may be: several where an abbreviation may be several
    words, the likeliest first."""
    found = []
    for section_words, in_section in _words(section):
        for key_words, in_key in _words(key):
            counted = replace(in_key, in_key=True) if in_key else in_section
            found.append(Name(section_words, key_words, counted, said, dimension))
    return tuple(found[:MOST_WAYS])


@lru_cache(maxsize=65536)
def _words(pieces: tuple[str, ...]) -> tuple[tuple[tuple[str, ...], Counted | None], ...]:
    """Known words, and the number that stands beside a word of the feed path; for each way to take them."""
    ways: list[list[str]] = [[]]
    for piece in pieces:
        options = ((piece,),) if piece.isdigit() else ways_of(piece)
        if len(ways) * len(options) > MOST_WAYS:
            options = options[:1]
        ways = [[*before, *words] for before in ways for words in options]
    return tuple(dict.fromkeys(_counted(way) for way in ways))


def _counted(pieces: list[str]) -> tuple[tuple[str, ...], Counted | None]:
    """Words without the number or side that stands beside one of the feed path's, and that number."""
    words = holder_words()
    found: list[str] = []
    counted: Counted | None = None
    for piece in pieces:
        behind = found[-1] if found else ""
        if piece.isdigit() and behind == "t":
            behind = found[-1] = "tool"
        if piece.isdigit() and behind in words.counted and len(piece) <= 2:
            counted = Counted(int(piece), behind)
        elif piece in words.sides and behind in words.counted:
            counted = Counted(words.sides[piece], behind, side=True)
        else:
            if behind in words.sides and piece in words.counted:
                found.pop()
                counted = Counted(words.sides[behind], piece, side=True)
            found.append(piece)
    return tuple(found), counted


@lru_cache(maxsize=65536)
def ways_of(piece: str) -> tuple[tuple[str, ...], ...]:
    """A run of letters as known words: itself, its singular, the fewest known words it is made of, or what it
    may abbreviate. Itself where it is none of these."""
    known_words = vocabulary().known
    if piece in known_words:
        return ((piece,),)
    single = _singular(piece) or _stem(piece)
    if single:
        return ((single,),)
    unglued = _unglued(piece) or _bounded(piece)
    if unglued:
        return (unglued,)
    found = abbreviated(piece)
    return tuple((word,) for word in found) if 0 < len(found) <= MOST_MEANINGS else ((piece,),)


def _known_words(piece: str) -> tuple[str, ...]:
    return ways_of(piece)[0]


def _singular(piece: str) -> str:
    known_words = vocabulary().known
    for ending in ("s", "es"):
        stem = piece.removesuffix(ending)
        if stem != piece and len(stem) > 2 and stem in known_words:
            return stem
    return ""


def _stem(piece: str) -> str:
    """The known word of which a run of letters is a form in `-ed`, `-ing` or `-er`."""
    known_words = vocabulary().known
    for ending in ("ed", "ing", "d"):
        stem = piece.removesuffix(ending)
        if stem != piece and len(stem) > 2:
            for tried in (stem, f"{stem}e", stem[:-1] if stem[-1:] == stem[-2:-1] else stem):
                if tried in known_words and len(tried) > 2:
                    return tried
    return ""


#: what stands behind a letter in shorthand such as `vmax` and `xmn`, and the letters, as in ISO 80000-3 and -6
_BOUNDS = {"max": "max", "mx": "max", "min": "min", "mn": "min", "cur": "current", "hi": "high", "lo": "low",
           "spd": "speed", "acc": "acc", "pos": "pos", "lim": "limit", "len": "len", "dir": "dir", "inv": "inv", "stp": "step"}  # fmt: skip
_SYMBOLS = {
    "v": "speed",
    "a": "acceleration",
    "l": "length",
    "t": "temperature",
    "d": "diameter",
    "i": "current",
    "h": "hold",
}


def _bounded(piece: str) -> tuple[str, ...]:
    """Shorthand of a letter and a bound or measure: `vmax`, `xmn`, `ecur`, `maxv`; () for none."""
    for letter, rest in ((piece[0], piece[1:]), (piece[-1], piece[:-1])):
        if rest in _BOUNDS:
            meant = letter if letter in _SINGLE else _SYMBOLS.get(letter, "")
            if meant:
                return (meant, _BOUNDS[rest])
    return ()


def _bones(word: str) -> str:
    """A word without the vowels behind its first letter."""
    return word[:1] + "".join(letter for letter in word[1:] if letter not in "aeiou")


@lru_cache(maxsize=1)
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


@lru_cache(maxsize=16384)
def abbreviated(piece: str) -> tuple[str, ...]:
    """The known words of which a run of letters is the beginning, or the consonants; one for each meaning,
    the shortest, and whole consonants before a mere beginning of them."""
    if not 2 <= len(piece) <= 7 or not piece.isascii():
        return ()
    whole = [(word, names) for word, bones, names in _full_words() if bones == piece]
    begun = [
        (word, names)
        for word, _, names in _full_words()
        if 3 <= len(piece) <= 5 and word.startswith(piece) and len(word) <= 12
    ]
    found = whole + begun
    if not found and len(piece) >= 4:
        found = [(word, names) for word, bones, names in _full_words() if bones.startswith(piece)]
    meanings: dict[frozenset[str], str] = {}
    for word, names in found:
        known = next((each for each in meanings if each & names), names)
        if known not in meanings or len(word) < len(meanings[known]):
            meanings[known] = word
    return tuple(meanings.values())


def _unglued(piece: str) -> tuple[str, ...]:
    """The fewest known words that joined are exactly `piece`, () where there are none.

    Within it only words of three letters and more count, and `mm`; a lone axis letter only at its two
    ends, and a unit at its end: otherwise nearly every word would fall to pieces.
    """
    length = len(piece)
    if length > LONGEST_RUN:
        return ()
    best: list[tuple[str, ...] | None] = [None] * (length + 1)
    best[0] = ()
    for end in range(1, length + 1):
        for start in range(end):
            before = best[start]
            if before is None:
                continue
            word = _part(piece[start:end], first=start == 0, last=end == length)
            if word and (best[end] is None or len(before) + 1 < len(best[end] or ())):
                best[end] = (*before, word)
    return best[length] or ()


def _part(part: str, first: bool, last: bool) -> str:
    if len(part) == 1:
        at_edge = part in _SINGLE and (first or last)
        return part if at_edge or (last and part in _EDGE_UNITS) else ""
    known_words = vocabulary().known
    if len(part) == 2:
        return part if part == "mm" or (last and part in _EDGE_UNITS) else ""
    if part in known_words:
        return part
    return _singular(part)
