"""Axes that a file calls by the part that each of them moves: `carriage`, `table` and `hoist`.

Where a bed has a motor of its own beside one that lifts, it goes in y and the carriage in x (as `machine_kind` of the sheet has it:
a moving bed). So three things of a file that are set in the same words, as motors are, and are called by such a part each,
are its axes. Which of the first two is x is usage and no law: unless remarks say it as well (`left to right`, `axes: cross, bed,
lift`), that is asked, and what is read of them is never edited. A remark that says otherwise, or axes' letters beside, make it
nothing.

A bed may be heated as well, and a carriage has a nozzle: only what other things that move are set in too is of an axis, and a `bed`
beside a `bed axis` is none, nor is anything below a word for heat.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache
from pathlib import Path

from msgspec import Struct, field

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.dialects.remark_marks import ANY_MARK
from cfgmigrate.files.axes_in_words import OF_A_MOTOR, OF_MOTORS, SAME_SETTINGS
from cfgmigrate.ground.compiled import compiled
from cfgmigrate.ground.data_file import load
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import paths_of, split

Pieces = tuple[str, ...]
_FILE = "axes_by_part.yaml"
_LETTERS = "xyz"
_NOT_OF_AN_AXIS = frozenset(
    {"thermal", "heater", "hottest", "coldest", "temperature", "cutoff", "fan", "nozzle", "filament"}
)
_REMARK = pattern(rf"{ANY_MARK}[ \t]*([^\r\n]*)")
_WORD = r"(?:the[ \t]+)?([A-Za-z]{2,20})"
#: `axes: cross, bed, lift`
_IN_ORDER = pattern(
    rf"\baxes[ \t]*(?:are|=|:)[ \t]*{_WORD},[ \t]*{_WORD},?(?:[ \t]+and)?[ \t]+{_WORD}\b", re.I
)


#: what is said of an axis may be said of another thing that has so much of a motor's; a bed may be heated, and has to be like an axis
_LIKE_A_MOTOR = {"x": OF_A_MOTOR, "z": 1}


class AxesByPart(Struct, frozen=True):
    """`axes` gives for a part its axis, `tails` what is said of it as of an axis, `at` the axis of each setting. `behind` is true
    where keys end in the part, `sure` where remarks say which axis is which."""

    axes: Mapping[Pieces, str] = field(default_factory=dict)
    tails: Mapping[Pieces, frozenset[Pieces]] = field(default_factory=dict)
    at: Mapping[int, str] = field(default_factory=dict)
    behind: bool = False
    sure: bool = False

    def spelled(self, section: Pieces, key: Pieces) -> tuple[Pieces, Pieces]:
        """A section and a key with the axis in place of the part that moves along it."""
        for part, axis in self.axes.items():
            wide, tails = len(part), self.tails[part]
            if section[-wide:] == part and key in tails and _may_be_an_axis(section[:-wide]):
                return (*section[:-wide], axis), key
            if not section and not self.behind and key[:wide] == part and key[wide:] in tails:
                return section, (axis, *key[wide:])
            if not section and self.behind and key[-wide:] == part and key[:-wide] in tails:
                return section, (*key[:-wide], axis)
        return section, key


class _Said(Struct, frozen=True):
    """A setting as what it is said of and what is said; `among` is where its likes stand."""

    among: tuple[str, Pieces]
    part: Pieces
    tail: Pieces
    setting: Setting


_Things = Mapping[tuple[tuple[str, Pieces], Pieces], set[Pieces]]


def axes_by_part(document: Document, text: str) -> AxesByPart:
    """The axes of a document that it calls by their parts; none where three things are not alike. `text` is the file's."""
    if document.dialect == "command" or _has_letters(document.settings):
        return AxesByPart()
    told = [tuple(split(word)) for found in _IN_ORDER.finditer(text) for word in found.groups()]
    groups: dict[tuple[str, Pieces], list[_Said]] = defaultdict(list)
    for setting in document.settings:
        for said in _ways_to_part(setting, bool(told)):
            groups[said.among].append(said)
    things = _tails_by_thing(
        said for among, several in groups.items() if among[0] != "behind" for said in several
    )
    for among, several in groups.items():
        if found := _found(several, among[0] == "behind", told, things, text):
            return found
    return AxesByPart()


def _tails_by_thing(several: Iterable[_Said]) -> _Things:
    """What is said of each thing of a file."""
    found: dict[tuple[tuple[str, Pieces], Pieces], set[Pieces]] = defaultdict(set)
    for said in several:
        found[said.among, said.part].add(said.tail)
    return found


def _ways_to_part(setting: Setting, behind: bool) -> Iterator[_Said]:
    """What a setting may be said of: its section's last level, or the first word of its key, or the last one."""
    section, key = setting.section, setting.key
    if not section and "." in key and len(paths_of(section, key)) > 1:
        section, _, key = key.rpartition(".")
    parents, _, level = section.rpartition(".")
    pieces = tuple(split(key))
    if section:
        yield _Said(("section", tuple(split(parents))), tuple(split(level)), pieces, setting)
    elif len(pieces) > 1:
        yield _Said(("before", ()), pieces[:1], pieces[1:], setting)
        if behind:
            yield _Said(("behind", ()), pieces[-1:], pieces[:-1], setting)


def _has_letters(settings: Iterable[Setting]) -> bool:
    """Whether a motor of the file is an axis's by its letter."""
    names = (frozenset(split(setting.name)) for setting in settings)
    return any(not name.isdisjoint(_LETTERS) and not name.isdisjoint(OF_MOTORS) for name in names)


def _found(
    several: list[_Said], behind: bool, told: list[Pieces], things: _Things, text: str
) -> AxesByPart | None:
    tails: dict[Pieces, set[Pieces]] = defaultdict(set)
    for said in several:
        tails[said.part].add(said.tail)
    named = [part for part in told if part in tails]
    moved = [part for part in tails if any(not OF_MOTORS.isdisjoint(tail) for tail in tails[part])]
    axes = {part: axis for part in named or moved if (axis := axis_of(part))}
    if sorted(axes.values()) != list(_LETTERS) or (named and list(axes.values()) != list(_LETTERS)):
        return None
    shared = set.intersection(*(tails[part] for part in axes))
    of_motors = sum(not OF_MOTORS.isdisjoint(tail) for tail in shared)
    if not (named and of_motors) and (len(shared) < SAME_SETTINGS or of_motors < OF_A_MOTOR or behind):
        return None
    hints = {part: _axes_in_remarks(several, part, text) for part in axes}
    if any(said - {axes[part]} for part, said in hints.items()):
        return None
    sure = bool(named) or all(hints[part] for part, axis in axes.items() if axis != "z")
    kept = _tails_of_axes(tails, axes, shared, things)
    at = {said.setting.at: axes[said.part] for said in several if said.tail in kept.get(said.part, ())}
    return AxesByPart(axes, kept, at, behind, sure)


def _tails_of_axes(
    tails: Mapping[Pieces, set[Pieces]], axes: Mapping[Pieces, str], shared: set[Pieces], things: _Things
) -> dict[Pieces, frozenset[Pieces]]:
    """What is said of each axis that is said of another one too, or of another thing that may have a motor."""
    motors = {tail for tail in shared if not OF_MOTORS.isdisjoint(tail)}
    found = {}
    for part, axis in axes.items():
        beside = set().union(*(tails[other] for other in axes if other != part))
        for (_, thing), said in things.items():
            if axis in _LIKE_A_MOTOR and thing not in axes and len(said & motors) >= _LIKE_A_MOTOR[axis]:
                beside |= said
        found[part] = frozenset(tail for tail in tails[part] & beside if _may_be_an_axis(tail))
    return found


@lru_cache(maxsize=4096)
def _may_be_an_axis(tail: Pieces) -> bool:
    words = frozenset(word for piece in tail for word in ways_of(piece)[0])
    return _NOT_OF_AN_AXIS.isdisjoint(vocabulary().names_in(words))


@lru_cache(maxsize=4096)
def axis_of(part: Pieces) -> str:
    """The axis along which a part goes by its words, "" for any other."""
    made = vocabulary()
    every = tuple(word for piece in part for word in ways_of(piece)[0])
    words = tuple(word for word in every if word not in made.fillers) or every
    return next((axis for axis, spelled in _parts().items() if words and words in spelled), "")


@compiled
def _parts() -> dict[str, frozenset[Pieces]]:
    """What moves along each axis. Raises BadInput where the file is wrong."""
    data = load(Path(__file__).with_name(_FILE), {"crosses": list, "lifts": list})
    spelled = vocabulary().spelled
    crosses, lifts = (frozenset(tuple(text.split()) for text in data[name]) for name in ("crosses", "lifts"))
    return {
        "x": crosses.union(spelled("carriage"), spelled("x")),
        "y": frozenset((*spelled("bed"), *spelled("y"))),
        "z": lifts.union(spelled("z")),
    }


def _axes_in_remarks(several: list[_Said], part: Pieces, text: str) -> set[str]:
    """The axes that remarks name in trade's words on the lines of a part."""
    own = [said.setting.line for said in several if said.part == part]
    before = [said.setting.line for said in several if said.setting.line < min(own)]
    lines = text.splitlines()[max(before, default=0) : max(own)]
    said = [split(found[1]) for line in lines if (found := _REMARK.search(line))]
    return {axis for words in said for axis in _LETTERS if _names(words, axis)}


def _names(words: list[str], axis: str) -> bool:
    """Whether words name an axis: by a letter they begin with, or in several words side by side."""
    if words[:1] == [axis]:
        return True
    phrases = [list(each) for each in vocabulary().spelled(axis) if len(each) > 1]
    return any(
        words[at : at + len(each)] == each for each in phrases for at in range(len(words) - len(each) + 1)
    )
