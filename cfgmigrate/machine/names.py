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
from typing import Any

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.ground.findings import BadInput, Doubt, Place
from cfgmigrate.ground.units import unit_written
from cfgmigrate.ground.user_file import read_given
from cfgmigrate.machine.quantities import PROTECTED, all_quantities, counted, facts, known

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
    from ruamel.yaml import YAML
    from ruamel.yaml.comments import CommentedMap
    from ruamel.yaml.constructor import DuplicateKeyError
    from ruamel.yaml.error import YAMLError

    shown = str(path)
    try:
        text = read_given(path, "the names file", LONGEST).decode("utf-8-sig")
    except UnicodeDecodeError:
        raise BadInput("is not UTF-8", Place(shown), "save it as UTF-8") from None
    try:
        data = YAML(typ="rt", pure=True).load(text)
    except RecursionError:
        raise BadInput("is nested too deeply", Place(shown), HEADER) from None
    except DuplicateKeyError as error:
        raise _twice(shown, error.problem_mark) from None
    except YAMLError as error:
        mark = getattr(error, "problem_mark", None)
        place = Place(shown, mark.line + 1, mark.column + 1) if mark else Place(shown)
        what = getattr(error, "problem", None) or str(error).splitlines()[0]
        raise BadInput(f"is not YAML: {what}", place, "a setting's name needs quotes around it") from None
    if data is None:
        return Names(shown, {})
    if not isinstance(data, CommentedMap):
        raise BadInput("must be lines of `setting: quantity`", Place(shown, 1), HEADER)
    entries: dict[str, Named] = {}
    for key in data:
        line, column = data.lc.key(key)
        place = Place(shown, line + 1, column + 1)
        if _plain(str(key)) in entries:
            raise BadInput("the setting is named twice", place, "keep one of the lines")
        entries[_plain(str(key))] = _named(str(key), data[key], place, _value_place(data, key, shown))
    return Names(shown, entries)


def _twice(shown: str, mark: Any) -> BadInput:
    place = Place(shown, mark.line + 1, mark.column + 1) if mark else Place(shown)
    return BadInput("the setting is named twice", place, "keep one of the lines")


def _plain(text: str) -> str:
    return " ".join(text.split()).casefold()


def _value_place(data: Any, key: object, shown: str) -> Place:
    line, column = data.lc.value(key)
    return Place(shown, line + 1, column + 1)


def _named(key: str, value: Any, place: Place, at: Place) -> Named:
    if value == IGNORE:
        return Named(key, place)
    items = value if isinstance(value, list) else [value]
    if not items:
        raise BadInput("an empty list says nothing", at, f"write {IGNORE}, or a quantity for each number")
    return Named(key, place, tuple(_meaning(item, at) for item in items))


def _meaning(item: Any, at: Place) -> Meaning:
    if isinstance(item, str):
        name, feeder = counted(_quantity(item, at))
        return Meaning(name, feeder=feeder)
    if not isinstance(item, dict) or "quantity" not in item or set(item) - {"quantity", "unit"}:
        raise BadInput(
            "must be a quantity, {quantity: …, unit: …} or a list of these",
            at,
            "see `cfgmigrate survey` for ids",
        )
    name, feeder = counted(_quantity(str(item["quantity"]), at))
    if not item.get("unit"):
        return Meaning(name, feeder=feeder)
    unit, qualifier = _unit(name, str(item["unit"]), at)
    return Meaning(name, unit, qualifier, feeder)


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
