"""The names file: what a person says of settings that words alone don't settle.

It is YAML, one line a setting. The key is the setting as a doubt or a survey shows it; with a file before
it, it holds for that file alone. The value is a quantity, a quantity with its unit, `ignore`, or a list of
these where the setting has several numbers:

    "[drive] mm one way": feeder.rotation_distance
    "[drive] coil": {quantity: motor.run_current, unit: mA peak}
    "slicing.ini [moves] pull": retraction.length
    "[display] turns": ignore
    "per axis": [axis.x.steps_per_mm, axis.y.steps_per_mm, axis.z.steps_per_mm, feeder.steps_per_mm]

A wrong quantity or unit is a BadInput with file, line, column and the nearest right name. A names file never
makes a protected setting writable: what is protected by its own words stays protected.
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.ground.findings import BadInput, Doubt, Place
from cfgmigrate.ground.positioned_yaml import Node, YamlField, read_marked
from cfgmigrate.ground.units import unit_written
from cfgmigrate.ground.user_file import read_given
from cfgmigrate.machine.quantities import PROTECTED, all_quantities, facts, known

#: bytes; a names file has a line for each doubtful setting
LONGEST = 200_000

IGNORE = "ignore"
HEADER = """\
# Names file: what settings mean that words alone don't settle.
#
#   "[section] key": QUANTITY                      the setting, as a doubt or the survey shows it
#   "[section] key": {quantity: QUANTITY, unit: mA}    with the unit its number is in; `peak` or `rms` may follow
#   "file.ini [section] key": QUANTITY             in one file only
#   "[section] key": [QUANTITY, QUANTITY]          for a setting with several numbers
#   "[section] key": ignore                        it is nothing of the kind
"""


@dataclass(frozen=True, slots=True)
class Meaning:
    """What one number of a setting is. `unit` and `qualifier` are "" where nothing is said of them; `feeder` is the
    further feeder that it is said to be of (`feeder2.steps_per_mm`), else 1."""

    quantity: str
    unit: str = ""
    qualifier: str = ""
    feeder: int = 1


@dataclass(frozen=True, slots=True)
class Named:
    """One line of a names file. `ignored` settings have no meanings."""

    key: str
    place: Place
    meanings: tuple[Meaning, ...] = ()

    @property
    def ignored(self) -> bool:
        return not self.meanings


@dataclass(frozen=True, slots=True)
class Names:
    """A names file that was read and checked."""

    path: str
    entries: Mapping[str, Named]

    def find(self, document: Document, setting: Setting) -> Named | None:
        """What the file says of a setting; a line for its file alone comes first."""
        own = f"{document.path} {setting.name}"
        for spelled in (own, setting.name):
            found = self.entries.get(_plain(spelled))
            if found:
                return found
        return None

    def unused(self, used: set[str], known_names: list[str]) -> tuple[Doubt, ...]:
        """A doubt for every line that no setting goes by. `used` are the keys of those that were."""
        found = []
        for named in self.entries.values():
            if named.key not in used:
                near = difflib.get_close_matches(named.key, known_names, n=1)
                remedy = f"did you mean {near[0]}?" if near else "copy the setting's name from the survey"
                found.append(
                    Doubt(named.place, named.key, "no setting of the configuration is called this", remedy)
                )
        return tuple(found)


def read_names(path: Path) -> Names:
    """Reads a names file. Raises BadInput with file, line and column where it can't be read or names what
    there is not."""
    shown = str(path)
    root = read_marked(read_given(path, "the names file", LONGEST), shown, LONGEST)
    if root.empty:
        return Names(shown, {})
    if root.items is None:
        raise BadInput("must be lines of `setting: quantity`", root.place, HEADER)
    entries: dict[str, Named] = {}
    for item in root.items:
        if _plain(item.key) in entries:
            raise BadInput("the setting is named twice", item.place, "keep one of the lines")
        entries[_plain(item.key)] = _named(item)
    return Names(shown, entries)


def _plain(text: str) -> str:
    return " ".join(text.split()).casefold()


def _named(item: YamlField) -> Named:
    node = item.node
    if node.text == IGNORE:
        return Named(item.key, item.place)
    nodes = node.elements if node.elements is not None else (node,)
    if not nodes:
        what = "an empty list says nothing"
        raise BadInput(what, node.place, f"write {IGNORE}, or a quantity for each number")
    return Named(item.key, item.place, tuple(map(_meaning, nodes)))


def _meaning(node: Node) -> Meaning:
    if node.text is not None:
        return Meaning(_quantity(node.text, node.place))
    said = {item.key: item.node for item in node.items or ()}
    name, unit = said.get("quantity"), said.get("unit")
    if name is None or name.text is None or set(said) - {"quantity", "unit"}:
        what = "must be a quantity, {quantity: …, unit: …} or a list of these"
        raise BadInput(what, node.place, "see `cfgmigrate survey` for ids")
    quantity = _quantity(name.text, name.place)
    if unit is None or not unit.text:
        return Meaning(quantity)
    return Meaning(quantity, *_unit(quantity, unit.text, unit.place))


def _quantity(name: str, at: Place) -> str:
    if known(name) and not name.startswith(PROTECTED):
        return name
    near = difflib.get_close_matches(name, [IGNORE, *(q.id for q in all_quantities())], n=1, cutoff=0.4)
    remedy = f"did you mean {near[0]}?" if near else "the survey lists all quantities it found"
    raise BadInput(f"there is no quantity {name!r}", at, remedy)


def _unit(name: str, text: str, at: Place) -> tuple[str, str]:
    """A unit and a qualifier that a quantity may have. Raises BadInput."""
    found = facts(name)
    words = text.split()
    qualifier = next((word.lower() for word in words if word.lower() in found.qualifiers), "")
    rest = " ".join(word for word in words if word.lower() != qualifier) if qualifier else text
    if not rest:
        return found.quantity.unit, qualifier
    spelled = unit_written(rest)
    unit = found.unit(rest) or (found.unit(spelled.name) if spelled else None)
    if unit is None:
        possible = ", ".join(unit.unit or "a plain number" for unit in found.units)
        raise BadInput(f"{name} can't be in {text!r}", at, f"possible: {possible}")
    return unit.unit, qualifier
