"""Feeders that go by a name: `feeders/port.json` beside `feeders/starboard.json`, `[feeder port]`, `feeders: {port: …}`.

Two or more siblings that set the same things of the feed path are two feeders. Siblings are files of one folder, or
sections and objects below one word for a feeder, which have at least half of their settings in common; or objects of
one list of which a member of each says that it is of a feeder, and of which (`members.py`). That they are
feeders is told by that word: before or behind the name, as the name of the folder, or as a line of the file
(`"feeder": "port"`). A name that is a word of the trade, as a door is, counts below a plural, beside what is for both, or where a
list of plugs has it, if it explains nothing of its lines. Once the names are known, they count wherever they stand (`retraction: {port: 5, starboard: 6}`).
Files that are so alike and say nothing of the kind are a question, and nothing in them is edited: one
may override the other, or each may be of a feeder.

Which is the first is said by the site file, else by a list of the names in the files, else by the numbers or sides that
the names are, else by the order of the files.

What a feeder's own file or section says is read as if the feeder's word stood before it, so that its corner
speed is not the machine's. This module deliberately looks at no values but names.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from itertools import combinations, pairwise
from pathlib import PurePosixPath

from msgspec import Struct, field

from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.dialects.value import Items, Text, read_value
from cfgmigrate.files.roles import FileSet, Role
from cfgmigrate.files.site import names
from cfgmigrate.files.told_feeders import Feeder
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.feeder_tables import of_named, of_sides, sides_open, sides_told
from cfgmigrate.machine.feeders_by_key import feeders_by_key
from cfgmigrate.machine.holder_words import holder_words
from cfgmigrate.machine.matching import fits
from cfgmigrate.machine.members import Members
from cfgmigrate.machine.model import Reading
from cfgmigrate.machine.prefixes import names_something
from cfgmigrate.machine.quantities import MOST_FEEDERS, of_feeder
from cfgmigrate.machine.words import readings_of_name, split

Spot = tuple[str, int]
Words = tuple[str, ...]
_LEVEL = pattern(r"[./:]+")
_FEEDER = "feeder"
_AXES = frozenset("xyz")
#: files that share fewer settings are not siblings
FEWEST_SHARED = 3
LONGEST_CALLED = 40
#: a value of more words names no feeder
_MOST_WORDS = 4
#: what is called so is of all feeders, or goes over another file
_OF_ALL = frozenset({"all", "both", "common", "shared", "general", "default", "defaults", "base", "any", "every", "each",
                     "local", "override", "overrides", "custom", "user", "main", "printer", "machine"})  # fmt: skip
#: words beside a feeder's name that say no more than that it is for that one
_BESIDE = frozenset(
    {"only", "on", "for", "with", "in", "at", "of", "the", "when", "if", "used", "runs", "through", "by"}
)


class NamedFeeders(Struct, frozen=True):
    """Feeders by name. `of` is the feeder, from 1 on, that a setting is of by its file or section, and `plain` its section
    and key without the name; `alike` are files that may be feeders, each with the other."""

    names: Mapping[str, int] = field(default_factory=dict)
    of: Mapping[Spot, int] = field(default_factory=dict)
    plain: Mapping[Spot, tuple[str, str]] = field(default_factory=dict)
    alike: Mapping[str, str] = field(default_factory=dict)
    #: what is asked of values that may be of two feeders
    asked: tuple[Doubt, ...] = ()
    #: the feeder that a part of a profile is for, by its section: `[only on feeder starboard]`
    in_profiles: Mapping[Spot, int] = field(default_factory=dict)

    def by_section(self, section: str) -> int | None:
        """The feeder whose name a section has in it as words of its own, None for none or for several: of what is a feeder's
        for sure, `[watcher starboard]` is that one's."""
        words = split(section) if len(self.names) <= MOST_FEEDERS else []
        found = {number for name, number in self.names.items() if _within(split(name), words)}
        return found.pop() if len(found) == 1 else None


def find_named(documents: Sequence[Document], roles: FileSet, told: Sequence[Feeder] = ()) -> NamedFeeders:
    """All feeders that go by a name. `told` are those of the site file."""
    in_force = [each for each in documents if roles.role(each.path) is Role.IN_FORCE]
    told_files = {
        document.path: each
        for document in in_force
        for each in told
        if any(names(known, document.path) for known in each.known_as)
    }
    files, alike = _files(in_force, told_files)
    sections = feeders_by_key(in_force) | _sections(in_force, told)
    listed = _objects_of_lists(in_force)
    called = dict.fromkeys([*files.values(), *(name for name, _ in sections.values()), *listed.values()])
    numbers = _numbers(list(called), documents, told)
    of: dict[Spot, int] = {}
    plain: dict[Spot, tuple[str, str]] = {}
    for document in in_force:
        for setting in document.settings:
            spot = document.path, setting.at
            if spot in sections:
                name, parts = sections[spot]
                of[spot], plain[spot] = numbers[name], parts
            elif spot in listed:
                of[spot] = numbers[listed[spot]]
            elif document.path in files:
                of[spot] = numbers[files[document.path]]
                plain[spot] = f"{_FEEDER}.{setting.section}".rstrip("."), setting.key
    for document in documents:
        if roles.role(document.path) is Role.SAVED:
            for setting in document.settings:
                head = _head(*_path(setting), set(numbers))
                if head and head[1] in numbers:
                    of[document.path, setting.at] = numbers[head[1]]
                    plain[document.path, setting.at] = head[2]
    sides = sides_told(in_force)
    machine_s = [each for each in documents if roles.role(each.path) in (Role.IN_FORCE, Role.SAVED)]
    for spot, number, parts in (*of_named(machine_s, numbers), *of_sides(machine_s, sides)):
        if spot not in of:
            of[spot], plain[spot] = number, parts
    asked = tuple(sides_open(machine_s, {*numbers, *sides}))
    apart = {path: other for path, other in alike.items() if not _takes_in(documents, path, other)}
    profiles = [each for each in documents if roles.role(each.path) is Role.PROFILE]
    for_one = dict(_parts_of_profiles(profiles, numbers))
    plain.update({spot: parts for spot, (_, parts) in for_one.items()})
    in_profiles = {spot: number for spot, (number, _) in for_one.items()}
    return NamedFeeders(numbers, of, plain, apart, asked, in_profiles)


def _parts_of_profiles(
    documents: Iterable[Document], numbers: Mapping[str, int]
) -> Iterator[tuple[Spot, tuple[int, tuple[str, str]]]]:
    """The settings of profiles whose section says for which feeder by its name: the feeder, and section and key without it."""
    names = {tuple(split(name)): number for name, number in numbers.items() if split(name)}
    for document in documents if 0 < len(names) <= MOST_FEEDERS else ():
        heads = {each.section: _part(each.section, names) for each in document.settings if each.section}
        for setting in document.settings:
            found = heads.get(setting.section)
            if found is not None and setting.state is not State.INACTIVE:
                number, section = found
                yield (document.path, setting.at), (number, (section, setting.key))


def _part(section: str, names: Mapping[tuple[str, ...], int]) -> tuple[int, str] | None:
    """The feeder that a section names behind or before a word for one, and the section without it; None for none or
    for several."""
    levels = [list(split(level)) for level in _LEVEL.split(section)]
    found = [
        (number, at, first, last)
        for at, words in enumerate(levels)
        for name, number in names.items()
        for start in range(len(words) - len(name) + 1)
        if tuple(words[start : start + len(name)]) == name
        for first, last in ((start - 1, start + len(name)), (start, start + len(name) + 1))
        if first >= 0 and last <= len(words) and _is_feeder(words[first if first < start else last - 1])
    ]
    if len({number for number, *_ in found}) != 1:
        return None
    number, at, first, last = found[0]
    levels[at][first:last] = []
    rest = [" ".join(word for word in words if word not in _BESIDE) for words in levels]
    return number, ".".join(level for level in rest if level)


def _takes_in(documents: Iterable[Document], one: str, other: str) -> bool:
    """Whether one of two files takes in the other, and so overrides it."""
    taken = {each.path: {path for include in each.includes for path in include.files} for each in documents}
    return other in taken[one] or one in taken[other]


def _files(
    documents: Sequence[Document], told: Mapping[str, Feeder]
) -> tuple[dict[str, str], dict[str, str]]:
    """The names of feeders by their files; and files that are as much alike and say nothing of a feeder."""
    named = {path: each.name.casefold() or str(each.number) for path, each in told.items()}
    alike: dict[str, str] = {}
    folders: dict[tuple[str, str], list[Document]] = defaultdict(list)
    for document in documents:
        folders[str(PurePosixPath(document.path).parent), document.dialect].append(document)
    for (folder, _), several in folders.items():
        keys = {each.path: _keys(each) for each in several}
        possible = [each for each in several if len(keys[each.path]) >= FEWEST_SHARED]
        for one in possible:
            other = next(
                (o for o in possible if o is not one and _siblings(keys[o.path], keys[one.path])), None
            )
            if other is None or one.path in named:
                continue
            name = _own_name(one, folder)
            if name and not _OF_ALL.intersection(split(name)):
                named[one.path] = name
            elif not _OF_ALL.intersection(split(PurePosixPath(one.path).stem)):
                alike[one.path] = other.path
    return _several(named, told), {
        path: other for path, other in alike.items() if not {path, other} & set(named)
    }


def _several(named: dict[str, str], told: Mapping[str, Feeder]) -> dict[str, str]:
    """Without a name that stands alone: one file of a feeder is the machine's, as long as nobody says otherwise."""
    if len(set(named.values())) > 1:
        return named
    return {path: name for path, name in named.items() if path in told}


def _keys(document: Document) -> frozenset[tuple[str, str]]:
    return frozenset(
        (each.section.casefold(), each.key.casefold())
        for each in document.settings
        if each.state is not State.INACTIVE
    )


def _siblings(one: frozenset[tuple[str, str]], other: frozenset[tuple[str, str]]) -> bool:
    shared = len(one & other)
    return shared >= FEWEST_SHARED and 2 * shared >= max(len(one), len(other))


def _own_name(document: Document, folder: str) -> str:
    """What a file calls the feeder that it is of, "" where nothing says that it is a feeder's."""
    for setting in document.settings:
        bare = setting.value.strip().strip("\"'").strip()
        own = _is_feeder(setting.key) and (not setting.section or _is_feeder(setting.section))
        if own and 0 < len(bare) < LONGEST_CALLED and isinstance(read_value(setting.value), Text):
            return bare.casefold()
    stem = split(PurePosixPath(document.path).stem)
    rest = [word for word in stem if not _is_feeder(word)]
    if len(rest) < len(stem) or _is_feeder(split(folder)[-1] if split(folder) else ""):
        return " ".join(rest)
    return ""


def _is_feeder(text: str) -> bool:
    """Whether a text is one word for a feeder, or several such words' plural."""
    words = split(text)
    return len(words) == 1 and words[0].removesuffix("s") in {*holder_words().for_feeder, "drive", "pusher"}


def _sections(
    documents: Iterable[Document], told: Sequence[Feeder]
) -> dict[Spot, tuple[str, tuple[str, str]]]:
    """The settings below a word for a feeder and a name: the name, and section and key without it."""
    groups: dict[tuple[str, Words], dict[str, list[tuple[Spot, tuple[str, str]]]]] = {}
    known = {each.name.casefold() for each in told if each.name}
    of_all: set[Words] = set()
    plural: set[Words] = set()
    in_values: set[str] = set()
    for document in documents:
        for setting in document.settings:
            if setting.state is State.INACTIVE:
                continue
            in_values.update(_named_in(setting.value))
            levels = [level.strip() for level in _LEVEL.split(setting.section) if level.strip()]
            for at, (level, child) in enumerate(pairwise(levels)):
                if _is_feeder(level) and split(level) != ["drives"]:
                    before = tuple(each.casefold() for each in levels[:at])
                    if _OF_ALL.intersection(split(child)):
                        of_all.add(before)
                    if level.casefold().endswith("s"):
                        plural.add(before)
            if head := _head(setting.section, setting.key, known):
                before, name, parts = head
                group = groups.setdefault((document.dialect, before), {})
                group.setdefault(name, []).append(((document.path, setting.at), parts))
    found: dict[Spot, tuple[str, tuple[str, str]]] = {}
    for group in groups.values():
        keys = {name: {parts for _, parts in several} for name, several in group.items()}
        if len(group) >= MOST_FEEDERS or any(not _AXES.isdisjoint(split(name)) for name in group):
            continue  # `drives: {x: …, y: …}` are those of the axes
        told_so = before in of_all or (len(group) > 1 and set(group) <= in_values)
        by_themselves = any(name in known or _is_new(name) for name in group) or _by_place(keys)
        listed = told_so or before in plural
        if not by_themselves and (not listed or any(map(_is_a_part, keys, keys.values()))):
            continue  # words of the trade alone: `[feeder motor]`, `[feeder driver]`
        for name, several in group.items():
            others = [keys[other] for other in keys if other != name]
            if name in known or any(
                (told_so and keys[name] & other) or _half_alike(keys[name], other) for other in others
            ):
                found.update((spot, (name, parts)) for spot, parts in several)
    return found


def _half_alike(one: Set[tuple[str, str]], other: Set[tuple[str, str]]) -> bool:
    return 2 * len(one & other) >= max(len(one), len(other))


def _named_in(value: str) -> Iterator[str]:
    """The name that a value has behind or before a word for a feeder, as in a list of plugs: `5: feeder window`."""
    words = split(value) if len(value) <= LONGEST_CALLED else []
    if 1 < len(words) < _MOST_WORDS:
        if _is_feeder(words[0]):
            yield " ".join(words[1:])
        elif _is_feeder(words[-1]):
            yield " ".join(words[:-1])


def _is_a_part(name: str, own: Set[tuple[str, str]]) -> bool:
    """Whether a name of the trade's words is one of a feeder's parts or doings: with it the lines say something, as
    `speed` below `feeders.pull` does. Of one that somebody calls a feeder by, `door`, they say it without it only."""
    with_it = without = 0
    for section, key in own:
        levels = section.split(".")
        at = levels.index(_FEEDER) + 1
        if _said_by(".".join((*levels[:at], name, *levels[at:])), key):
            with_it += 1
        elif _said_by(section, key):
            without += 1
    return with_it >= without


def _said_by(section: str, key: str) -> set[str]:
    """What a section and a key say in every word."""
    names = [found for name in readings_of_name(section, key) if (found := fits(name))]
    return {fit.quantity for found in names for fit in found if not fit.strange and not fit.alone}


def _objects_of_lists(documents: Iterable[Document]) -> dict[Spot, str]:
    """The settings of objects of a list that are of a feeder each and set enough of the same: the feeder's name."""
    found: dict[Spot, str] = {}
    for document in documents:
        feeders = Members(document).feeders if document.dialect == "nested" else {}
        feeders = feeders if len(feeders) <= MOST_FEEDERS else {}
        below: dict[str, list[Setting]] = {path: [] for path in feeders}
        for setting in document.settings if feeders else ():
            for path in feeders:
                if f"{setting.section}.".startswith(f"{path}.") and setting.state is not State.INACTIVE:
                    below[path].append(setting)
        keys = {
            path: frozenset(
                (each.section.removeprefix(path).casefold(), each.key.casefold()) for each in several
            )
            for path, several in below.items()
        }
        for path, several in below.items():
            if any(_siblings(keys[path], keys[other]) for other in keys if other != path):
                found.update(((document.path, each.at), feeders[path]) for each in several)
    return found


def _by_place(keys: Mapping[str, Set[tuple[str, str]]]) -> bool:
    """Whether two that go by words of place set enough of the same: `[feeder near]` and `[feeder far]`."""
    placed = [keys[name] for name in keys if name in holder_words().places]
    return any(len(one & other) >= FEWEST_SHARED for one, other in combinations(placed, 2))


def _path(setting: Setting) -> tuple[str, str]:
    """Section and key of a setting that a board told of, whose keys have all levels in them."""
    section, _, key = f"{setting.section}.{setting.key}".rpartition(".")
    return section.strip("."), key


def _head(section: str, key: str, known: set[str]) -> tuple[Words, str, tuple[str, str]] | None:
    """The levels before a feeder's name, the name, and section and key without it; None where there is no name."""
    levels = [level.strip() for level in _LEVEL.split(section) if level.strip()]
    for at, level in enumerate(levels):
        words = level.split()
        before = tuple(each.casefold() for each in levels[:at])
        if _is_feeder(level) and at + 1 < len(levels):
            name, rest = levels[at + 1], levels[at + 2 :]
        elif len(words) > 1 and _is_feeder(words[0]):
            name, rest = " ".join(words[1:]), levels[at + 1 :]
        elif len(words) > 1 and _is_feeder(words[-1]):
            name, rest = " ".join(words[:-1]), levels[at + 1 :]
        else:
            continue
        name = name.casefold()
        if name in known or _may_name(name):
            return before, name, (".".join((*levels[:at], _FEEDER, *rest)), key)
    return None


def _may_name(name: str) -> bool:
    """Whether words may name a feeder: no number and no side, which are told by themselves, and not all feeders."""
    words = set(split(name))
    return bool(words) and not any(
        word.isdigit() or word in holder_words().sides or word in _OF_ALL or _is_feeder(word)
        for word in words
    )


def _is_new(name: str) -> bool:
    """Whether a name is no word of the trade."""
    return names_something(split(name))


def _numbers(called: Sequence[str], documents: Iterable[Document], told: Sequence[Feeder]) -> dict[str, int]:
    """The feeder, from 1 on, that each name is of."""
    found = {(each.name.casefold() or str(each.number)): each.number for each in told}
    order = [
        name for name in _listed(called, documents) or sorted(called, key=_by_itself) if name not in found
    ]
    free = (number for number in range(1, len(order) + len(found) + 1) if number not in found.values())
    return {**found, **dict(zip(order, free, strict=False))}


def _listed(called: Sequence[str], documents: Iterable[Document]) -> list[str]:
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
    """Where a name that is a number or a side stands; all others keep their order, behind these."""
    sides = holder_words().sides
    return int(name) if name.isdecimal() and len(name) < 4 else sides.get(name, 1000)


def unsettled(alike: Mapping[str, str], readings: Iterable[Reading]) -> dict[str, str]:
    """Of files that are alike those that set two and more of the same things of a feeder, each with the other."""
    own: dict[str, set[str]] = defaultdict(set)
    for reading in readings:
        if of_feeder(reading.quantity) and reading.place.file in alike:
            own[reading.place.file].add(reading.quantity)
    return {path: other for path, other in alike.items() if len(own[path] & own[other]) > 1}


def question(path: str, other: str) -> Doubt:
    """What is asked of a file that may be a feeder's own, as much as `other`."""
    one, two = (f"{{name: {PurePosixPath(each).stem}, known_as: [{each}]}}" for each in (path, other))
    why = f"{other} sets the same of the feeder: each may be of a feeder of its own, or one may override the other"
    remedy = f"say in cfgmigrate.yaml which is so: `feeders: {{1: {one}, 2: {two}}}`, or give one of them another role"
    return Doubt(Place(path, 1, 1), path, why, remedy)


def no_effect(
    told: Sequence[Feeder], feeders: Iterable[int], documents: Sequence[Document]
) -> Iterator[Doubt]:
    """What the site file says of feeders and nothing in the files goes by."""
    there = set(feeders)
    for each in told:
        place, name = each.place or Place("cfgmigrate.yaml"), f"feeders: {each.name or each.number}"
        for known in each.known_as:
            if not _goes_by(known, documents):
                why = "no file in force, no section and no line of the configuration is called so: it has no effect"
                remedy = "write a file's path, or a section's name as the survey shows it"
                yield Doubt(place, f"{name}: known_as: {known}", why, remedy)
        if each.number not in there and not each.known_as:
            why = f"nothing in the files is of feeder {each.number}: it has no effect"
            remedy = (
                f"say what is its own, as in `{each.name or each.number}: {{known_as: [feeders/left.json]}}`"
            )
            yield Doubt(place, name, why, remedy)


def _goes_by(known: str, documents: Sequence[Document]) -> bool:
    if any(names(known, document.path) for document in documents):
        return True
    wanted = split(known)
    return any(
        _within(wanted, split(f"{setting.section} {setting.key}"))
        for document in documents
        for setting in document.settings
    )


def _within(wanted: Sequence[str], words: Sequence[str]) -> bool:
    return bool(wanted) and any(
        list(words[at : at + len(wanted)]) == list(wanted) for at in range(len(words) - len(wanted) + 1)
    )
