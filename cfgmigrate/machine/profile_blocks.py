"""Blocks of a profiles' file that stand side by side, have the same keys and end in a name with a material: each is one filament.

    stuff:
      PLA plain: {dia: 1.75, pull: 6.5}
      TPU 95:    {dia: 1.75, pull: 3.5}

What they stand below may be any word, so the file has to be one of profiles already, or the block is called by its material alone:
`[PETG black]`. A word of the trade there still counts for
what the keys say, `retraction` above `PLA: {length: 6}`; another one says nothing.

This module looks at names only.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

from msgspec import Struct

from cfgmigrate.dialects.document import Setting
from cfgmigrate.files.marks import marks_of
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.holder_words import holder_words
from cfgmigrate.machine.profile_heads import material_in
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

_LEVEL = pattern(r"[./:]+")
#: keys that two sections must share to be siblings
SHARED = 2
#: a name of so many letters may be short for anything: `pc`
_TOO_SHORT = 2


class FilamentBlock(Struct, frozen=True):
    """The settings of one block, below `parent`, of which `said` counts for what they are."""

    name: str
    parent: str
    said: str
    settings: tuple[Setting, ...]


def blocks_by_material(settings: Iterable[Setting]) -> Sequence[FilamentBlock]:
    """The blocks, each with a sibling that has some of its keys."""
    found: dict[tuple[str, str], list[Setting]] = {}
    for setting in settings:
        *above, name = [level.strip() for level in _LEVEL.split(setting.section)]
        if material_in(name):
            found.setdefault((".".join(above), name), []).append(setting)
    blocks: dict[str, list[FilamentBlock]] = {}
    for (parent, name), several in found.items():
        said = parent if _says_something(parent) else ""
        blocks.setdefault(parent, []).append(FilamentBlock(name, parent, said, tuple(several)))
    return [each for beside in blocks.values() for each in _siblings(beside)]


def called_by_material(settings: Iterable[Setting]) -> Sequence[FilamentBlock]:
    """The same in a file that is no profiles' one: there a block stands below nothing, and its name begins with the material and
    goes on in no word of the trade. The same words behind two materials say what it is for: `[PLA handover]`."""
    blocks = [each for each in blocks_by_material(settings) if not each.parent and _is_name_of_one(each.name)]
    behind = Counter(tuple(split(each.name)[1:]) for each in blocks)
    return [
        each
        for each in blocks
        if behind[tuple(split(each.name)[1:])] == 1 or _is_a_kind(split(each.name)[1:])
    ]


def _is_a_kind(words: Sequence[str]) -> bool:
    """Whether words behind a material say of which kind it is, and not what the section is for; no word says no purpose."""
    return holder_words().called.issuperset(words)


def _is_name_of_one(name: str) -> bool:
    """Whether a section is called by its material: of two letters (`[pc]`) that alone is too little, and a word that marks a copy
    says that it is no longer in force."""
    material, *rest = split(name)
    known = vocabulary().known
    if material not in holder_words().materials or any(word in known for word in rest):
        return False
    marks = marks_of(name)
    return len(name) > _TOO_SHORT and not (marks.directed or marks.loose)


def _siblings(beside: Sequence[FilamentBlock]) -> Sequence[FilamentBlock]:
    """Those of the blocks below one word that have keys which another one has too."""
    keys = [frozenset(" ".join(split(each.key)) for each in block.settings) for block in beside]
    times: dict[str, int] = {}
    for own in keys:
        for key in own:
            times[key] = times.get(key, 0) + 1
    return [
        block for block, own in zip(beside, keys, strict=True) if sum(times[key] > 1 for key in own) >= SHARED
    ]


def _says_something(section: str) -> bool:
    words = (word for piece in split(section) for word in ways_of(piece)[0])
    return bool(vocabulary().names_in(frozenset(words)))
