"""Feeders that go by a name: `feeders/port.json` beside `feeders/starboard.json`, `[feeder port]`, `feeders: {port: …}`.

Two or more siblings that set the same things of the feed path are two feeders: files of one folder (`feeders_by_file.py`), objects
of one list (`feeders_in_lists.py`), or sections and objects below one word for a feeder (`feeders_by_section.py`). Once the names
are known, they count wherever they stand (`retraction: {port: 5, starboard: 6}`). What may be a name, and which is the first, is
said in `feeder_names.py`.

What a feeder's own file or section says is read as if the feeder's word stood before it, so that its corner
speed is not the machine's. This module deliberately looks at no values but names.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from msgspec import Struct, field

from cfgmigrate.dialects.document import Document, State
from cfgmigrate.files.roles import FileSet, Role
from cfgmigrate.files.site import names
from cfgmigrate.files.told_feeders import Feeder
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.feeder_names import (
    FEEDER_S_WORD,
    LEVELS_OF_NAME,
    SettingAt,
    is_feeder_word,
    numbers_of,
    within,
)
from cfgmigrate.machine.feeder_tables import of_named, of_sides, sides_open, sides_told
from cfgmigrate.machine.feeders_by_file import by_their_files
from cfgmigrate.machine.feeders_by_key import feeders_by_key
from cfgmigrate.machine.feeders_by_section import by_their_sections, head_of, path_of_saved
from cfgmigrate.machine.feeders_called import by_their_names
from cfgmigrate.machine.feeders_in_lists import objects_of_lists
from cfgmigrate.machine.holder_words import holder_words
from cfgmigrate.machine.quantities import MOST_FEEDERS
from cfgmigrate.machine.told_sections import by_told_sections
from cfgmigrate.machine.words import split

#: words beside a feeder's name that say no more than that it is for that one
_BESIDE = frozenset(
    {"only", "on", "for", "with", "in", "at", "of", "the", "when", "if", "used", "runs", "through", "by"}
)


class NamedFeeders(Struct, frozen=True):
    """Feeders by name. `of` is the feeder, from 1 on, that a setting is of by its file or section, and `plain` its section
    and key without the name; `alike` are files that may be feeders, each with the other."""

    names: Mapping[str, int] = field(default_factory=dict)
    of: Mapping[SettingAt, int] = field(default_factory=dict)
    plain: Mapping[SettingAt, tuple[str, str]] = field(default_factory=dict)
    alike: Mapping[str, str] = field(default_factory=dict)
    #: what is asked of values that may be of two feeders
    asked: tuple[Doubt, ...] = ()
    #: the feeder that a part of a profile is for, by its section: `[only on feeder starboard]`
    in_profiles: Mapping[SettingAt, int] = field(default_factory=dict)

    def by_section(self, section: str) -> int | None:
        """The feeder whose name a section has in it as words of its own, None for none or for several: of what is a feeder's
        for sure, `[watcher starboard]` is that one's."""
        words = split(section) if len(self.names) <= MOST_FEEDERS else []
        found = {number for name, number in self.names.items() if within(split(name), words)}
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
    files, alike = by_their_files(in_force, told_files)
    machine_s = [each for each in documents if roles.role(each.path) in (Role.IN_FORCE, Role.SAVED)]
    by_word = feeders_by_key(in_force) | by_their_sections(in_force, told)
    saved = frozenset(roles.of(Role.SAVED))
    by_name = by_their_names(documents, machine_s, saved, told, {name for name, _ in by_word.values()})
    sections = {**by_name.of, **by_word}
    listed = objects_of_lists(in_force)
    called = dict.fromkeys([*files.values(), *(name for name, _ in sections.values()), *listed.values()])
    numbers = numbers_of(list(called), documents, told)
    of: dict[SettingAt, int] = {}
    plain: dict[SettingAt, tuple[str, str]] = {}
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
                plain[spot] = f"{FEEDER_S_WORD}.{setting.section}".rstrip("."), setting.key
    for document in documents:
        if roles.role(document.path) is Role.SAVED:
            for setting in document.settings:
                head, spot = head_of(*path_of_saved(setting), set(numbers)), (document.path, setting.at)
                if spot in sections:
                    of[spot], plain[spot] = numbers[sections[spot][0]], sections[spot][1]
                elif head and head[1] in numbers:
                    of[spot], plain[spot] = numbers[head[1]], head[2]
    sides = sides_told(in_force)
    # what counts a feeder before its word may elsewhere count anything, or be of time
    no_count = {name: number for name, number in numbers.items() if name not in holder_words().counts}
    for spot, number, parts in (*of_named(machine_s, no_count), *of_sides(machine_s, sides)):
        if spot not in of:
            of[spot], plain[spot] = number, parts
    plain.update({spot: parts for spot, parts in by_name.of_all.items() if spot not in plain})
    of.update(by_told_sections(machine_s, told))
    asked = tuple(sides_open(machine_s, {*numbers, *sides}))
    apart = {path: other for path, other in alike.items() if not _takes_in(documents, path, other)}
    profiles = [each for each in documents if roles.role(each.path) is Role.PROFILE]
    for_one = dict(_parts_of_profiles(profiles, numbers))
    plain.update({spot: parts for spot, (_, parts) in for_one.items()})
    in_profiles = {spot: number for spot, (number, _) in for_one.items()}
    return NamedFeeders(numbers, of, plain, apart, asked, in_profiles)


def _parts_of_profiles(
    documents: Iterable[Document], numbers: Mapping[str, int]
) -> Iterator[tuple[SettingAt, tuple[int, tuple[str, str]]]]:
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
    levels = [list(split(level)) for level in LEVELS_OF_NAME.split(section)]
    found = [
        (number, at, first, last)
        for at, words in enumerate(levels)
        for name, number in names.items()
        for start in range(len(words) - len(name) + 1)
        if tuple(words[start : start + len(name)]) == name
        for first, last in ((start - 1, start + len(name)), (start, start + len(name) + 1))
        if first >= 0 and last <= len(words) and is_feeder_word(words[first if first < start else last - 1])
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
