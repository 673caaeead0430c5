"""What a file calls its axes and the filament's drive, by its remarks and its own keys.

    # the beam is X, the sled Y and the screws Z          # bridge = X   table = Y   reel = the drive that pushes filament
    # cross is left-right (X), deep is front-back (Y)     carriage (x) top speed: 12000

A name counts where several axes have one each, another for each of them, and where sections of the file begin with it, or keys
of a file without sections. A word for a measure or a place is no name: `length (X), width (Y), height (Z)` tells of a bed, and
`X left, Y front` where switches sit. What a name stands for is written in its place.

This module parts words only; what they mean together is the matter of `matching.py`.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from functools import lru_cache

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.side_words import SIDES_OF_A_MACHINE
from cfgmigrate.machine.holder_words import holder_words
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

Pieces = tuple[str, ...]
_NAME = r"([A-Za-z][A-Za-z-]{1,19}(?:[ _][a-z-]{2,19}){0,2})"
_AXIS = r"(?:axis[ \t]+)?([XYZ])(?:[ -]?axis)?"
_IS = r"(?:[ \t]*(?:=|:|->|→)[ \t]*|[ \t]+(?:(?:is|are|moves|move|means|drives|drive)[ \t]+)?)"
_THE = r"(?:(?:and[ \t]+)?(?:[Tt]he[ \t]+)?)"
#: `beam = X`, `the sled is Y`, `the screws Z`
_NAME_FIRST = pattern(rf"{_THE}{_NAME}{_IS}(?:the[ \t]+)?{_AXIS}")
#: `X = beam`, `X is the beam`, `X beam`
_AXIS_FIRST = pattern(rf"{_THE}{_AXIS}{_IS}(?:the[ \t]+)?{_NAME}")
#: `beam (X)`, `cross is left-right (X)`
_AXIS_IN_BRACKETS = pattern(
    rf"{_THE}{_NAME}(?:[ \t]*(?:=|:)[ \t]*[^()=:]{{1,40}}|[ \t]+(?:is|are|means)[ \t]+[^()=:]{{1,40}})?[ \t]*\({_AXIS}\)?"
)
_PARTED = pattern(
    r"[,;]|[ \t]{2,}|\.(?=[ \t]|$)|[ \t]and[ \t](?=(?:the[ \t]+)?[XYZ]\b)|[ \t]and[ \t](?=(?:the[ \t]+)?[A-Za-z-]+(?:[ \t]+(?:is|are))?[ \t]+(?:\()?[XYZ]\b)"
)
#: what closes the remark is taken off by hand: an expression that looks for it takes the square of a line's length
_REMARK = pattern(r"^[ \t]*+(?:#|;|//|/\*|\*|\()++[ \t]*+(.*)$", re.M)
#: `carriage (x) top speed`
_IN_KEY = pattern(r"[ \t]*([A-Za-z][\w -]{1,24}?)[ \t]*\(([xyzXYZ])(?:[ -]axis)?\)[ \t]*[^ \t].*")
#: so many keys begin alike, of each of so many axes
_KEYS, _FEWEST_AXES = 2, 2
#: words that are never a name: they stand before an axis's letter in any sentence
_NO_NAMES = frozenset({"and", "or", "the", "axis", "axes", "in", "on", "of", "for", "with", "is", "are", "as", "no", "not", "at", "by", "to", "from",
                       "offset", "speed", "max", "min", "motor", "motors", "steps", "only", "both", "then", "about", "along"})  # fmt: skip
_LONGEST = 300
_MEASURES = frozenset({"length", "height", "speed", "acceleration", "current", "diameter", "position", "maximum", "minimum", "limit",
                       "gear", "gear_teeth", "ratio", "size", "end_stop", "step", "microstep"})  # fmt: skip
_PLACES = SIDES_OF_A_MACHINE | {"width", "depth", "length", "height", "pulley", "gear"}
#: `beam is`, of `cross is left-right (X)`
_VERB = pattern(r"[ \t]+(?:is|are|means)\b")
_OTHER_PARTS = frozenset({"bed", "nozzle", "hotend", "chamber", "heater", "probe", "fan"})
_MOVING = frozenset({"step", "acceleration", "microstep", "turn"})
_HEAT = frozenset({"thermal", "heater", "hottest", "coldest", "temperature", "cutoff"})


def parts_told(
    text: str, paths: Collection[tuple[Pieces, Pieces]], keys: Iterable[str]
) -> Mapping[Pieces, Pieces]:
    """What sections and keys begin with, in pieces, and the pieces of what it stands for. `text` is the file's, `paths` are its
    settings' sections and keys in pieces, `keys` the keys as they are written."""
    found = dict(_in_keys(keys))
    axes: dict[str, set[Pieces]] = defaultdict(set)
    drives: set[Pieces] = set()
    for name, axis in _in_remarks(text):
        pieces = tuple(split(_VERB.split(name)[0]))
        if not pieces or not _NO_NAMES.isdisjoint(pieces) or not _begins(pieces, paths):
            continue
        if _measures(pieces):
            continue
        if axis and _is_heated(pieces) and not _moves(pieces, paths):
            continue
        if axis:
            axes[axis].add(pieces)
        else:
            drives.add(pieces)
    clear = {axis: next(iter(names)) for axis, names in axes.items() if len(names) == 1}
    if len(clear) < _FEWEST_AXES or len(set(clear.values())) < len(clear):
        return found
    found |= {name: (axis,) for axis, name in clear.items()}
    if len(drives) == 1:
        found |= dict.fromkeys(drives - found.keys(), ("feeder",))
    return found


@lru_cache(maxsize=1)
def _says_one() -> re.Pattern[str]:
    """A line that may say what an axis, or what pushes the filament, is called."""
    return re.compile(rf"\b[XYZ]\b|\b{holder_words().any_fed}\b")


@lru_cache(maxsize=1)
def _the_drive() -> re.Pattern[str]:
    """`reel = the drive that pushes filament`, `reel is the wire feeder`."""
    fed = holder_words().any_fed
    return re.compile(
        rf"{_THE}{_NAME}[ \t]*(?:=|:|is|are|means)[ \t]*(?:the[ \t]+)?(?:(?:drive|motor|gear|wheel|thing|part) (?:that|which) )?"
        rf"(?:what[ \t]+)?(?:pushes|feeds|moves|drives)[ \t]+(?:the[ \t]+)?{fed}\b.*"
        rf"|{_THE}{_NAME}[ \t]*(?:=|:|is|means)[ \t]*(?:the[ \t]+)?{fed}(?:'s)?[ -](?:drive|feeder|motor|pusher|feed)"
    )


def _in_remarks(text: str) -> Iterator[tuple[str, str]]:
    """The names that remarks give to axes, each with its axis in small letters, and to the filament's drive, with ""."""
    for remark in _REMARK.findall(text):
        line = remark.rstrip(")*/").rstrip(" \t")
        if len(line) > _LONGEST or not _says_one().search(line):
            continue
        for part in _PARTED.split(line):
            said = part.strip().strip("\"'")
            if drive := _the_drive().fullmatch(said):
                yield drive[1] or drive[2], ""
            elif found := _AXIS_IN_BRACKETS.fullmatch(said) or _NAME_FIRST.fullmatch(said):
                yield found[1], found[2].lower()
            elif found := _AXIS_FIRST.fullmatch(said):
                yield found[2], found[1].lower()


def _in_keys(keys: Iterable[str]) -> Iterator[tuple[Pieces, Pieces]]:
    """Names with an axis in brackets that keys begin with, where several axes have such, each with several keys."""
    counts: Counter[tuple[str, str]] = Counter()
    for key in keys:
        if "(" in key and (named := _IN_KEY.fullmatch(key)):
            counts[named[1].casefold(), named[2].lower()] += 1
    several = [each for each, count in counts.items() if count >= _KEYS]
    if len({axis for _, axis in several}) < _FEWEST_AXES or len({name for name, _ in several}) < len(several):
        return
    for name, axis in several:
        yield (*split(name), axis), (axis,)


def _measures(name: Pieces) -> bool:
    """Whether a name has a word for a measure, a place, or a part of every drive."""
    words = frozenset(word for piece in name for word in ways_of(piece)[0])
    return not _MEASURES.isdisjoint(vocabulary().names_in(words)) or not _PLACES.isdisjoint(name)


def _is_heated(name: Pieces) -> bool:
    """Whether a name is that of a part that the trade heats, touches or blows with: its numbers may be of that."""
    return not _OTHER_PARTS.isdisjoint(
        vocabulary().names_in(frozenset(word for piece in name for word in ways_of(piece)[0]))
    )


def _moves(name: Pieces, paths: Collection[tuple[Pieces, Pieces]]) -> bool:
    """Whether what a section of that name sets is of what moves, and nothing of what is heated."""
    keys = [key for section, key in paths if section[-len(name) :] == name]
    words = frozenset(word for key in keys for piece in key for word in ways_of(piece)[0])
    said = vocabulary().names_in(words)
    return not _MOVING.isdisjoint(said) and _HEAT.isdisjoint(said)


def _begins(name: Pieces, paths: Collection[tuple[Pieces, Pieces]]) -> bool:
    """Whether a section or a key begins with a name, or a level of a section is it."""
    wide = len(name)
    return any((section or key)[:wide] == name or section[-wide:] == name for section, key in paths)
