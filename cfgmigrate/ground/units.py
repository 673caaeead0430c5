"""Units as files write them, and how a number in one becomes a number in another.

The table is `units.yaml`. It is small and plain, so that reading a configuration needs no unit library; a
test holds every factor against pint.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from cfgmigrate.ground.compiled import compiled
from cfgmigrate.ground.data_file import check_fields, load
from cfgmigrate.ground.findings import BadInput, Place

_FILE = "units.yaml"
_FIELDS = frozenset({"of", "factor", "written", "words"})


@dataclass(frozen=True, slots=True)
class Unit:
    """`factor` is one of this unit in the first unit of its dimension `of`. `words` are the spellings it has
    inside a key, each a sorted tuple of lower-case words."""

    name: str
    of: str
    factor: float
    written: tuple[str, ...]
    words: tuple[tuple[str, ...], ...]


@compiled
def units() -> dict[str, Unit]:
    """All units by name. Raises BadInput where the table is wrong."""
    table: dict[str, Unit] = {}
    seen: dict[str, str] = {}
    for name, raw in load(Path(__file__).with_name(_FILE), {"units": dict})["units"].items():
        data = check_fields(_FILE, name, raw, _FIELDS)
        words = tuple(tuple(sorted(text.split())) for text in data["words"])
        table[name] = Unit(name, data["of"], float(data["factor"]), tuple(data["written"]), words)
        for spelling in (name, *table[name].written):
            if seen.setdefault(spelling, name) != name:
                raise BadInput(f"`{spelling}` is written for both {seen[spelling]} and {name}", Place(_FILE))
    return table


@lru_cache(maxsize=1)
def _spellings() -> dict[str, Unit]:
    found: dict[str, Unit] = {}
    for unit in units().values():
        for spelling in (unit.name, *unit.written):
            found[spelling] = unit
    for unit in units().values():
        for spelling in (unit.name, *unit.written):
            found.setdefault(spelling.lower(), unit)
    return found


def unit_written(text: str) -> Unit | None:
    """The unit that stands behind a number, None where it is none that the table has."""
    plain = " ".join(text.split())
    found = _spellings()
    tight = plain.replace(" ", "")
    return found.get(plain) or found.get(tight) or found.get(plain.lower()) or found.get(tight.lower())


def same_dimension(name: str) -> tuple[Unit, ...]:
    """The units that convert into `name`, itself among them; () where the table does not have it."""
    wanted = units().get(name)
    return tuple(unit for unit in units().values() if wanted and unit.of == wanted.of)
