"""Filament and print profiles: which settings belong to one of several alternatives, and what it is called.

A profile is a section that begins with a word for one and goes on with its name (`[reel petg black]`,
`[profile: tpu]`), an object below such a word (`filaments.petg`, or one of a list, by the name in it), or a whole
file whose role is that of a profile, or each of several sections of it that end in a material (`stuff.PLA plain`); in any
other file, each of several that are called by one (`[PETG black]`). In files without sections it is the same beginning of several keys, which end
alike (`FILAMENT_PETG_RETRACT`, `FILAMENT_TPU_RETRACT`); that is found in `prefixes.py`.

A word for a profile is not enough: `[filament sensor]` is none. What follows must name a material, or say its
material, or have a sibling with the same keys.

Two profiles of one name in files that don't include each other are two: their files tell them apart.

This module deliberately does not look at values, but for names, materials and feeders that lines of their own say.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from pathlib import PurePosixPath

from msgspec import Struct, field
from msgspec.structs import replace

from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.dialects.value import Items, Text, read_value
from cfgmigrate.files.order import bundles_of
from cfgmigrate.files.roles import FileSet, NamedProfile, Role
from cfgmigrate.ground.findings import Place
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.holder_words import EITHER, holder_words
from cfgmigrate.machine.model import Holder
from cfgmigrate.machine.prefixes import Prefixed, prefixed
from cfgmigrate.machine.profile_blocks import SHARED, FilamentBlock, blocks_by_material, called_by_material
from cfgmigrate.machine.profile_heads import (
    BETWEEN_WORDS_OF_NAME,
    called_with_kind,
    links_before,
    material_behind_word,
    material_in,
    profile_head,
    singular,
)
from cfgmigrate.machine.words import Counted, read_name, split

_LEVEL = pattern(r"[./:]+")
#: what a profile's only section may be called, without saying more than that it is one's
_OF_ALL_OF_IT = frozenset(("spool", "reel", "roll", "coil", "bobbin"))
#: keys of a profile's own section, or at the top of its own file, that say its material: `[spool] kind = PETG`
_OF_WHICH_KIND = ("kind", "type")
#: what a profile is for, behind words such as `used in`
_FEEDERS = ("feeder", "extruder", "tool", "drive", "head")
#: no name: a number, or a diameter that stands behind `filament`
_NUMBER_ALONE = pattern(r"\d{1,9}(?:[.,]\d{1,6})?\s*(?:mm)?")

Spot = tuple[str, int]
"""Where a setting's value stands: path and first byte."""


class FoundProfile(Struct, frozen=True):
    """A profile that was found. `feeder` is what it says of the feeder that it is for, None for nothing, and
    `stated` is where it says so."""

    holder: Holder
    place: Place
    material: str = ""
    feeder: Counted | None = None
    stated: Place | None = None


class Profiles(Struct, frozen=True):
    """All profiles in the order of files and lines; which of them each setting belongs to; and, where its name
    stood in a setting's name, the section and the key without it."""

    found: tuple[FoundProfile, ...] = ()
    of: Mapping[Spot, FoundProfile] = field(default_factory=dict)
    plain: Mapping[Spot, tuple[str, str]] = field(default_factory=dict)


class _Group(Struct):
    """Settings that may be one profile's. `name` is "" where a line of its own has to say it."""

    path: str
    kind: str
    name: str
    level: str
    settings: list[Setting] = field(default_factory=list)
    plain: dict[int, tuple[str, str]] = field(default_factory=dict)
    #: what the user said of the file, where this is the one profile in it
    told: NamedProfile | None = None
    #: what the machine's own files are called, without their endings
    stems: frozenset[str] = frozenset()

    @property
    def keys(self) -> set[str]:
        return {" ".join(split(each.key)) for each in self.settings}

    def said(self, wanted: Sequence[str]) -> Setting | None:
        """The first setting with one of these keys that says something, in the order of the keys."""
        own = self.by_key
        return next((own[key] for key in wanted if key in own), None)

    def names(self, setting: Setting) -> bool:
        """Whether a line that names something names the profile: one above the others, in the section that the profile begins with,
        or in one with a word for a profile. `sheet: {name: rough}` names the sheet."""
        first, section = self.settings[0].section, setting.section
        own = not section or f"{first}.".startswith(f"{section}.")
        return own or any(singular(word) in holder_words().profiles for word in split(section))

    @property
    def said_for_feeder(self) -> Setting | None:
        """The first line that says which feeder it is for: `feeder = 1`, `used in feeder = 1`."""
        wanted, own = holder_words().for_feeder, self.by_key
        counted = {f"{phrase} {word}" for phrase in wanted for word in _FEEDERS}
        return self.said(wanted) or next((each for key, each in own.items() if key in counted), None)

    @property
    def by_key(self) -> dict[str, Setting]:
        return {" ".join(split(each.key)): each for each in reversed(self.settings) if _bare(each.value)}


def find_profiles(
    documents: Sequence[Document], roles: FileSet, feeder_names: Mapping[str, int] | None = None
) -> Profiles:
    """All profiles of a configuration. `roles` are its files' roles, `feeder_names` the feeders that go by a name."""
    groups = [
        group
        for document in documents
        for group in _one_profile_if_named(
            document,
            _groups(document, roles.role(document.path), _is_named(roles.named.get(document.path))),
            roles.named.get(document.path),
        )
        if group.settings  # nothing was read of a file said to be one in a dialect that it is not in
    ]
    in_force = [each.path for each in documents if roles.role(each.path) is Role.IN_FORCE]
    stems = frozenset(PurePosixPath(path).stem.casefold() for path in in_force)
    for group in groups:
        group.stems = stems
    feeders = {name: Counted(number, "", side=True) for name, number in (feeder_names or {}).items()}
    feeders = {**_feeders_named(documents), **feeders}
    bundle = bundles_of(documents)
    named = [(group, *_named(group)) for group in groups]
    homes: dict[tuple[str, str], set[int]] = {}
    for group, kind, name in named:
        homes.setdefault((kind, name.casefold()), set()).add(bundle[group.path])
    made: dict[tuple[str, str, int], FoundProfile] = {}
    of: dict[Spot, FoundProfile] = {}
    plain: dict[Spot, tuple[str, str]] = {}
    for group, kind, name in named:
        alone = len(homes[kind, name.casefold()]) == 1
        key = (kind, name.casefold(), bundle[group.path])
        if key not in made and group.told is not None:
            made[key] = _profile_as_named(group, group.told)
        elif key not in made:
            found = _found(group, Holder(kind, name if alone else f"{name} ({group.path})"), feeders)
            made[key] = _with_what_the_user_said(found, roles.named.get(group.path))
        for setting in group.settings:
            of[group.path, setting.at] = made[key]
            own = _without_its_name(setting.section, group.path) if group.level == group.path else None
            if own is not None:
                plain[group.path, setting.at] = own, setting.key
            if kind == "filament" and group.level == group.path and _only_diameter(setting):
                plain[group.path, setting.at] = "filament", setting.key
        plain.update({(group.path, start): parts for start, parts in group.plain.items()})
    return Profiles(tuple(made.values()), of, plain)


def _without_its_name(section: str, path: str) -> str | None:
    """A section of a profile's file without what says no more than whose it is, a word for a spool or the file's own name; None where
    neither stands there."""
    if _OF_ALL_OF_IT.issuperset(split(section)):
        return ""
    first, _, rest = section.partition(".")
    return rest if split(first) == split(PurePosixPath(path).stem) else None


def _only_diameter(setting: Setting) -> bool:
    """Whether a setting of a filament's file says no more than a diameter: then it is the filament's."""
    words = {"diameter", "dia", "diam", "thickness", "mm"}
    found = set(split(setting.key))
    return not setting.section and found != {"mm"} and bool(found) and found <= words


def _groups(document: Document, role: Role, told: bool) -> list[_Group]:
    settings = [each for each in document.settings if each.state is not State.INACTIVE]
    groups = _evident(_sections(document.path, settings))
    if role is Role.PROFILE and _are_records(document.path, groups, settings, told):
        groups = []
    if not groups and role is Role.PROFILE:
        groups = _by_material(document.path, settings)
    if not groups:
        groups = [_of_keys(document.path, each) for each in prefixed(settings, role is Role.PROFILE)]
    if role is not Role.PROFILE:
        taken = {setting.at for group in groups for setting in group.settings}
        rest = [each for each in settings if each.at not in taken]
        groups += [_of_block(document.path, each) for each in called_by_material(rest)]
    if not groups and role is Role.PROFILE:
        groups = [_Group(document.path, EITHER, "", document.path, list(settings))]
    return groups


def _are_records(path: str, groups: Sequence[_Group], settings: Iterable[Setting], told: bool) -> bool:
    """Whether what looks like profiles in a filament's own file is a list of its rolls or of what was printed with it: numbered, none
    with a name or a material; and the file is one's by its name, by what stands beside the list, or since the user said so."""
    if not groups or any(
        group.name or group.said(holder_words().named) or _material_said(group) for group in groups
    ):
        return False
    taken = {setting.at for group in groups for setting in group.settings}
    rest = _Group(path, EITHER, "", path, [each for each in settings if each.at not in taken])
    if told or _material_said(rest) or material_in(_of_file(path)):
        return True
    named = rest.said(holder_words().named)
    return named is not None and not named.section and not named.value.strip().isdigit()


def _by_material(path: str, settings: Sequence[Setting]) -> list[_Group]:
    """The blocks of a profiles' file that end in a material, and what else stands there, which is of the file as before."""
    blocks = blocks_by_material(settings)
    taken = {setting.at for block in blocks for setting in block.settings}
    rest = [each for each in settings if each.at not in taken]
    groups = [_of_block(path, block) for block in blocks]
    return [*groups, *([_Group(path, EITHER, "", path, rest)] if groups and rest else [])]


def _of_block(path: str, block: FilamentBlock) -> _Group:
    plain = {each.at: (block.said, each.key) for each in block.settings}
    return _Group(path, "filament", block.name, block.parent, list(block.settings), plain)


def _one_profile_if_named(
    document: Document, groups: list[_Group], said: NamedProfile | None
) -> list[_Group]:
    """A file that the user named holds one profile, its sections' lines and all others; unless it shows several."""
    if said is None or not said.name or len(groups) > 1:
        return groups
    settings = [each for each in document.settings if each.state is not State.INACTIVE]
    plain = groups[0].plain if groups else {}
    return (
        [_Group(document.path, said.kind, said.name, document.path, settings, plain, said)]
        if settings
        else []
    )


def _is_named(said: NamedProfile | None) -> bool:
    return said is not None and bool(said.name)


def _of_keys(path: str, found: Prefixed) -> _Group:
    plain = {each.at: (found.word, key) for each, key in found.settings}
    return _Group(path, found.kind, found.name, "", [each for each, _ in found.settings], plain)


def _sections(path: str, settings: Iterable[Setting]) -> list[_Group]:
    """The settings below a word for a profile and a name, by that name."""
    found: dict[tuple[str, ...], _Group] = {}
    for setting in settings:
        levels = [level.strip() for level in _LEVEL.split(setting.section) if level.strip()]
        dotted = [] if " " in setting.key else setting.key.split(".")
        below = [*levels, *dotted[:-1]]
        head = profile_head(tuple(below))
        if head is None:
            continue
        at, kind, before, name = head
        group = found.setdefault(
            (*(level.casefold() for level in below[:at]), name.casefold()),
            _Group(path, kind, "" if name.isdigit() else name, " ".join(below[:at])),
        )
        group.settings.append(setting)
        rest = " ".join(
            (*(called_with_kind(level, kind) for level in (*below[: at - 1], *before)), *below[at:])
        )
        group.plain[setting.at] = rest, dotted[-1] if dotted else setting.key
    return list(found.values())


def _evident(groups: Iterable[_Group]) -> list[_Group]:
    """Those that are profiles, by their name, a line about their material, or a sibling with the same keys."""
    possible = list(groups)
    return [
        group
        for group in possible
        if material_in(_named(group)[1])
        or _material_said(group)
        or any(
            len(group.keys & other.keys) >= SHARED
            for other in possible
            if other is not group and other.kind == group.kind
        )
    ]


def _named(group: _Group) -> tuple[str, str]:
    """A profile's kind and name."""
    said = group.said(holder_words().named)
    said = said if said and group.names(said) else None
    name = group.name or (_bare(said.value) if said else "")
    if not name or _NUMBER_ALONE.fullmatch(name):
        name = _of_file(group.path, group.stems) if group.level == group.path else f"in {group.path}"
    return _kind(group, name), name


def _of_file(path: str, machines: frozenset[str] = frozenset()) -> str:
    """A profile's name by its file's, without the word for a profile or the machine's name that a material follows, and without words
    that link one to it: `grade-petg`, and `heron_petg` or `heron with black petg` beside `heron.conf`, or `with petg`."""
    stem = PurePosixPath(path).stem
    first, *rest = words = BETWEEN_WORDS_OF_NAME.split(stem)
    if behind := material_behind_word(words):
        return behind
    known = singular(first) in holder_words().profiles or first.strip(",;").casefold() in machines
    left = rest if known else words
    linked = left[links_before(left) :]
    if len(linked) < len(left):
        return " ".join(linked) if material_in(" ".join(linked)) else stem
    named = known and rest and split(rest[0])[:1] and split(rest[0])[0] in holder_words().materials
    return stem[len(first) :].strip("_- .") if named else stem


def _kind(group: _Group, name: str) -> str:
    if group.kind != EITHER:
        return group.kind
    words = holder_words()
    if all(word in words.materials for word in split(name)):
        return "filament"
    for setting in group.settings:
        kind = words.profiles.get(" ".join(split(setting.key)).partition(" ")[0], EITHER)
        if kind != EITHER and _bare(setting.value) == name:
            return kind
    counts = dict.fromkeys(words.profiles.values(), 0)
    for setting in group.settings:
        for word in {*split(setting.key), *split(setting.section)}:
            if word in words.identity:
                counts[words.identity[word]] += 1
    by_path = [words.profiles.get(singular(word)) for word in split(group.path)]
    if _material_said(group) or "filament" in by_path:
        return "filament"
    if material_in(name) and "print" not in by_path and counts["print"] <= counts["filament"]:
        return "filament"
    return "print" if "print" in by_path or counts["print"] >= counts["filament"] else "filament"


def _found(group: _Group, holder: Holder, feeders: Mapping[str, Counted]) -> FoundProfile:
    first = group.settings[0]
    place = Place(group.path, first.line)
    material = _material_said(group) or material_in(holder.name)
    told = group.said_for_feeder
    feeder = _counted(_bare(told.value), feeders) if told is not None else None
    if feeder is None and (told := group.said(holder_words().for_name)) is not None:
        feeder = feeders.get(_bare(told.value).casefold())
    if told is not None and feeder is not None:
        return FoundProfile(holder, place, material, feeder, Place(group.path, told.line, told.column))
    return FoundProfile(holder, place, material, read_name("", holder.name).counted)


def _profile_as_named(group: _Group, said: NamedProfile) -> FoundProfile:
    """A profile's file as the user named it."""
    place = Place(group.path, group.settings[0].line)
    feeder = Counted(said.feeder, "", side=True) if said.feeder is not None else None
    material = (
        said.material or _material_said(group) or material_in(said.name) or material_in(_named(group)[1])
    )
    return FoundProfile(Holder(said.kind, said.name), place, material, feeder, place)


def _with_what_the_user_said(found: FoundProfile, said: NamedProfile | None) -> FoundProfile:
    """A profile of which the user did not say what it is called, or one of several in a file that the user named."""
    if said is None:
        return found
    feeder = found.feeder if said.feeder is None else Counted(said.feeder, "", side=True)
    return replace(found, feeder=feeder, material=said.material or found.material)


def _feeders_named(documents: Iterable[Document]) -> dict[str, Counted]:
    """Feeders by the names that lines of their own give them: `feeders.0` has the label right."""
    found: dict[str, Counted] = {}
    for setting in (each for document in documents for each in document.settings):
        if " ".join(split(setting.key)).removesuffix("s") not in holder_words().named:
            continue
        name, value = read_name(setting.section, ""), read_value(setting.value)
        if name.counted is not None and not name.counted.side:
            found[_bare(setting.value).casefold()] = name.counted
        elif isinstance(value, Items) and set(name.section[-1:]) & holder_words().counted:
            for number, item in enumerate(value.items, 1):
                if isinstance(item, Text):
                    found[_bare(item.text).casefold()] = Counted(number, "", side=True)
    return found


def _counted(text: str, feeders: Mapping[str, Counted]) -> Counted | None:
    """The feeder that a line's value says: its name, a number, a side, or a word with a number (`T1`)."""
    bare = " ".join(word for word in split(text) if word not in holder_words().for_feeder)
    for name in (text.casefold(), bare):
        if name in feeders:
            return feeders[name]
    if text.isdecimal():
        # no machine has so many feeders: the first digits of a number without end say that as well
        return Counted(int(text[:9]), "")
    side = holder_words().sides.get(text.casefold())
    return Counted(side, "", side=True) if side else read_name("", text).counted


def _material_said(group: _Group) -> str:
    """The material of the first line that says one: `filament = 1.75` says none, `kind = PETG` of a spool does."""
    words, own = holder_words(), group.by_key
    lines = [own[key] for key in words.material if key in own]
    lines += [
        each
        for each in group.settings
        if " ".join(split(each.key)) in _OF_WHICH_KIND
        and (
            singular("".join(split(each.section)[-1:])) in words.profiles
            or (not each.section and group.level == group.path)
        )
    ]
    return next((found for each in lines if (found := material_in(each.value))), "")


def _bare(value: str) -> str:
    return value.strip().strip("\"'").strip()
