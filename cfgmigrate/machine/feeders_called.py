"""Sections and objects that go by nothing but a feeder's own name, `gull:` beside `tern:`: that these are feeders a line elsewhere
says, `feeder: gull` in a filament's file, or the site file does.

Two of them have to set enough of the same things. Where they do, what stands below a name is read as if it stood below a word for a
feeder; so is what is for both (`both:` beside them), and what sets the same things below these names again, as what a panel saved.
A name counts only where it is all of a level, and nothing stands before it but the heading of what a board keeps. This module deliberately looks at no values but names.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from itertools import combinations

from msgspec import Struct

from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.dialects.value import Text, read_value
from cfgmigrate.files.told_feeders import Feeder
from cfgmigrate.machine.feeder_names import (
    FEEDER_S_WORD,
    LEVELS_OF_NAME,
    LONGEST_CALLED,
    SettingAt,
    is_feeder_word,
    may_name,
)
from cfgmigrate.machine.feeders_by_file import siblings
from cfgmigrate.machine.words import split

Parts = tuple[str, str]
_Levels = tuple[str, ...]
#: what stands beside two feeders' sections for both of them; what is for all may be the axes' as well
_FOR_ALL = frozenset(("both",))
_OF_BOTH = 2
#: words beside one for a feeder in a key that says which one: `for feeder`
_WHICH = frozenset(("for", "on", "of", "name", "use", "uses", "used", "which", "with", "by", "runs"))
_MOST_WORDS = 2


class Called(Struct, frozen=True):
    """By the settings: the feeder's name, and section and key as below a feeder's word; and those parts of what is for all."""

    of: Mapping[SettingAt, tuple[str, Parts]]
    of_all: Mapping[SettingAt, Parts]


class _At(Struct, frozen=True):
    """A setting below a level: where, its key, and section and key with a feeder's word in that level's place."""

    spot: SettingAt
    key: Parts
    parts: Parts


def by_their_names(
    documents: Sequence[Document],
    in_force: Sequence[Document],
    saved: Set[str],
    told: Sequence[Feeder],
    otherwise: Set[str],
) -> Called:
    """The settings below the names of feeders. `documents` are all that may say which feeder they are for, `saved` the paths of what
    a board keeps, and `otherwise` the names that stand below a word for a feeder: bare ones are then of something else."""
    names = ({each.name.casefold() for each in told if each.name} | set(_called(documents))) - otherwise
    if len(names) < 2:
        return Called({}, {})
    groups = dict(_groups(in_force, names | _FOR_ALL, saved))
    of: dict[SettingAt, tuple[str, Parts]] = {}
    of_all: dict[SettingAt, Parts] = {}
    known: dict[str, set[Parts]] = {}
    for group in groups.values():
        keys = {name: {each.key for each in own} for name, own in group.items() if name in names}
        alike = {
            name
            for one, other in combinations(keys, 2)
            if siblings(frozenset(keys[one]), frozenset(keys[other]))
            for name in (one, other)
        }
        for name in alike:
            known.setdefault(name, set()).update(keys[name])
    every = {key for keys in known.values() for key in keys}
    for group in groups.values():
        shared = {name for name in group if name in _FOR_ALL and _is_for(group, name, known, every)}
        for name in shared:
            of_all.update((each.spot, each.parts) for each in group[name])
            every |= {each.key for each in group[name]}
    for group in groups.values():
        for name, own in group.items():
            if name in known and {each.key for each in own} <= every:
                of.update((each.spot, (name, each.parts)) for each in own)
            elif (
                name in _FOR_ALL
                and {each.key for each in own} <= every
                and not known.keys().isdisjoint(group)
            ):
                of_all.update((each.spot, each.parts) for each in own)
    return Called(of, of_all)


def _is_for(
    group: Mapping[str, Sequence[_At]], name: str, known: Mapping[str, Set[Parts]], every: Set[Parts]
) -> bool:
    """Whether what is for both stands beside two feeders and sets one thing that one of them sets."""
    beside = [other for other in group if other in known]
    return len(beside) == _OF_BOTH and any(each.key in every for each in group[name])


def _called(documents: Iterable[Document]) -> Iterator[str]:
    """What lines say that their feeder is called."""
    for document in documents:
        for setting in document.settings:
            if setting.state is State.INACTIVE or len(setting.value) > LONGEST_CALLED:
                continue
            words = split(setting.key)
            rest = [word for word in words if not is_feeder_word(word)]
            if len(rest) + 1 == len(words) and _WHICH.issuperset(rest):
                bare = setting.value.strip().strip("\"'").strip().casefold()
                if (
                    0 < len(split(bare)) <= _MOST_WORDS
                    and may_name(bare)
                    and isinstance(read_value(setting.value), Text)
                ):
                    yield bare


def _groups(
    documents: Iterable[Document], names: Set[str], saved: Set[str]
) -> Iterator[tuple[tuple[str, _Levels], dict[str, list[_At]]]]:
    """By file and the levels before: by name what stands below it."""
    for document in documents:
        found: dict[_Levels, dict[str, list[_At]]] = defaultdict(lambda: defaultdict(list))
        for setting in document.settings:
            if setting.state is not State.INACTIVE and setting.section:
                _put(document.path, setting, names, found)
        for before, group in found.items():
            if not before or (document.path in saved and _wraps_all(document, before)):
                yield (document.path, before), group


def _wraps_all(document: Document, before: _Levels) -> bool:
    """Whether all of a file stands below these levels, so that they say nothing of one thing: `[winder.gull]` is a winder's."""
    return all(
        _levels(each)[: len(before)] == before
        for each in document.settings
        if each.state is not State.INACTIVE
    )


def _levels(setting: Setting) -> _Levels:
    return tuple(level.strip().casefold() for level in LEVELS_OF_NAME.split(setting.section) if level.strip())


def _put(path: str, setting: Setting, names: Set[str], found: Mapping[_Levels, dict[str, list[_At]]]) -> None:
    levels = [level.strip() for level in LEVELS_OF_NAME.split(setting.section) if level.strip()]
    for at, level in enumerate(levels):
        if (name := level.casefold()) in names:
            before, rest = tuple(each.casefold() for each in levels[:at]), levels[at + 1 :]
            key = (".".join(rest).casefold(), setting.key.casefold())
            parts = ".".join((FEEDER_S_WORD, *rest)), setting.key
            found[before][name].append(_At((path, setting.at), key, parts))
            return
