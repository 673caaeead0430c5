"""Sides of the nozzle that a remark names and the signs of a line's numbers say as well: `; feeler left of the nozzle` above
`C12 X-28 Y3`.

Right and behind are where x and y grow (ISO/ASTM 52921). A remark that says `left` of a number which is not negative may count the
other way, and is left as it is: this module deliberately turns no sign. Nor does it look at `nozzle left of the feeler`, which says the
opposite.

A sign behind or before an axis alone says which of its ends is meant: `x-` is where it begins, and no limit upwards.
"""

from __future__ import annotations

from collections.abc import Iterable

from msgspec.structs import replace

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import Name

#: for a side the axis, and the sign of what lies there
_SIDES = {"left": ("X", -1), "right": ("X", 1), "front": ("Y", -1), "rear": ("Y", 1)}

_END = pattern(r"(?P<before>[-+−]?)[ _]?(?P<axis>[xyzXYZ])(?P<word>[ _-]axis)?[ _]?(?P<behind>[-+−]?)")


def end_by_sign(key: str) -> str:
    """A key that is an axis with a sign in words: `x-` as `x min`; any other as it stands."""
    found = _END.fullmatch(key) if key[:1] in "-+−" or key[-1:] in "-+−" else None
    if found is None or bool(found["before"]) == bool(found["behind"]):
        return key
    return f"{found['axis']} {'max' if '+' in found[0] else 'min'}"


def without_sides(names: Iterable[Name], document: Document, setting: Setting) -> tuple[Name, ...]:
    """Names of a line's word without the sides of the nozzle that the numbers of the line say by their signs."""
    return tuple(_without(name, document, setting) for name in names)


def _without(name: Name, document: Document, setting: Setting) -> Name:
    said = vocabulary().names_in
    sides = [word for word in name.key if not _SIDES.keys().isdisjoint(said(frozenset((word,))))]
    if not sides or not _says_where_the_probe_is(name.key, sides):
        return name
    numbers = {
        each.key.upper(): value.value
        for each in document.settings
        if each.line == setting.line and isinstance(value := read_value(each.value), Number)
    }
    named = (side for word in sides for side in _SIDES if side in said(frozenset((word,))))
    agrees = all(numbers.get(axis, 0.0) * sign > 0 for axis, sign in map(_SIDES.__getitem__, named))
    return replace(name, key=tuple(word for word in name.key if word not in sides)) if agrees else name


def _says_where_the_probe_is(key: tuple[str, ...], sides: list[str]) -> bool:
    """Whether the probe is named first, then its sides, then the nozzle from which it is seen."""
    said = [vocabulary().names_in(frozenset((word,))) for word in key]
    probes = [at for at, names in enumerate(said) if "probe" in names]
    nozzles = [at for at, names in enumerate(said) if "nozzle" in names]
    between = [at for at, word in enumerate(key) if word in sides]
    return bool(probes and nozzles) and max(probes) < min(between) and max(between) < min(nozzles)
