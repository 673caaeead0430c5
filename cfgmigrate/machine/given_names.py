"""What the files call the machine, and which machine a profile says that it is for.

A line names the machine whose words are those of a machine and of a name (`[machine] name`, `MACHINE_NAME`, `NAME_OF_MACHINE`,
a bare `called` at the top), or a profile's line that ends in the word (`for machine`, `profile.printer`). A profile may give
several. What the user said to be a profile of this machine is not asked again.

This module deliberately compares nothing but two names: whether files and sheet belong together is asked in
`plan/other_machine.py`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.files.marks import words_of
from cfgmigrate.files.roles import FileSet, Role
from cfgmigrate.ground.findings import Place
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import GivenName
from cfgmigrate.machine.profiles import Profiles

_MACHINES = frozenset(("machine", "machines", "printer", "printers", "rig"))
_NAMING = frozenset(("name", "named", "called", "label", "nickname"))
#: words that may stand beside these and change nothing
_BESIDE = frozenset(
    ("the", "this", "my", "our", "is", "general", "about", "config", "configuration", "settings", "setup")
)
#: words before the machine in a profile's line
_FOR = frozenset(("for", "fits", "suits", "of", "on", "to", "made", "belongs", "goes", "with"))
_PROFILES = frozenset(("profile", "profiles", "print", "prints", "preset", "slicing", "its", "target", "all"))
#: what a line with the bare word may say of a machine besides its name: how it moves
_KINDS = frozenset(("cartesian", "delta", "moving", "bed", "crossed", "belts", "gantry", "polar", "arm"))
_PROPER = pattern(r"[^\W\d_a-z][^\W_]{2,20}(?:[ -][^\W_]{1,20}){0,2}")
_LONGEST, _MOST_WORDS = 60, 6


def given_names(documents: Iterable[Document], profiles: Profiles, roles: FileSet) -> tuple[GivenName, ...]:
    """Every name of a machine in these files, in their order."""
    return tuple(each for document in documents for each in _of_document(document, profiles, roles))


def name_of_machine(given: Iterable[GivenName], folder: str) -> str:
    """What a machine is called: the one name that its files give it, else its folder's."""
    names = dict.fromkeys(each.name for each in given if each.profile is None)
    return next(iter(names)) if len(names) == 1 else folder


def _of_document(document: Document, profiles: Profiles, roles: FileSet) -> Iterator[GivenName]:
    role = roles.files.get(document.path)
    if role is not None and role.stated and role.role is Role.PROFILE:
        return
    for setting in document.settings:
        if setting.state is State.INACTIVE:
            continue
        profile = profiles.of.get((document.path, setting.at))
        names = _said(setting, document.dialect, profile is not None)
        place = Place(document.path, setting.line, setting.column)
        holder = profile.holder if profile is not None else None
        yield from (GivenName(name, place, holder) for name in names)


def _said(setting: Setting, dialect: str, in_profile: bool) -> Sequence[str]:
    """The names that one setting gives a machine."""
    key = words_of(setting.key)
    if not key or not {key[-1]} & (_MACHINES | _NAMING) or len(setting.value) > 10 * _LONGEST:
        return ()
    section = words_of(setting.section)
    last, rest = key[-1], {*section, *key[:-1]}
    if last in _NAMING:
        of_machine = bool(rest & _MACHINES) and rest <= _MACHINES | _BESIDE
        # a header's NAME may be that of the program it is a part of
        bare = not rest and not in_profile and (dialect != "header" or last == "called")
        names = _names_in(setting.value)
        return names[:1] if of_machine or (bare and names and _PROPER.fullmatch(names[0])) else ()
    if not in_profile and set(key) & _NAMING and {*section, *key[:-1]} <= _NAMING | _BESIDE | {"of"}:
        return _names_in(setting.value)[:1]  # `NAME_OF_MACHINE`
    if in_profile and set(key[:-1]) <= _FOR | _PROFILES:
        names = _names_in(setting.value)
        return names if set(key[:-1]) & _FOR else [each for each in names if _is_proper(each)]
    if not rest and not in_profile:
        return [each for each in _names_in(setting.value)[:1] if _is_proper(each)]
    return ()


def _is_proper(name: str) -> bool:
    return bool(_PROPER.fullmatch(name)) and not set(words_of(name)) & _KINDS


def _names_in(value: str) -> list[str]:
    """The names of a value, less what is none: a path, a number, a sentence."""
    parts = (" ".join(part.strip(" \t\"'[]()").split()) for part in re.split(r"[;,|]", value))
    return [
        part
        for part in parts
        if 1 < len(part) <= _LONGEST
        and len(part.split()) <= _MOST_WORDS
        and any(map(str.isalpha, part))
        and not set("/\\=<>{}*") & set(part)
    ]


def same_name(one: str, other: str) -> bool:
    """Whether two names may be one machine's: the same words, or one has some more. A number more is another machine:
    `Wren` and `Wren 2`."""
    first, second = (words_of(each.casefold()) or (each.casefold(),) for each in (one, other))
    if "".join(first) == "".join(second):
        return True
    small, large = sorted((set(first), set(second)), key=len)
    more = large - small
    return small <= large and not (
        len(more) == 1 and all(word.isdecimal() and len(word) < 3 for word in more)
    )
