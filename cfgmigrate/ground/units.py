"""Units: the one table of those that files, sheets and rules write, and what any other unit is to pint.

The table is `units.yaml`. It is small and plain, so that an ordinary run needs no unit library, and it is held in
decimals, so that 350 mA is 0.35 A to the last bit. A test holds every size against pint. A unit that the table
does not have is left to pint, where sheets and rules allow it.

Formulas count in SI base units, where an angle is a plain number. So a formula may have degrees, which the
table turns into radians, and no other unit with a turn or a radian in it: nothing would tell 200 turns a minute
from 200 radians a minute.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from typing import Any

from msgspec import Struct

from cfgmigrate.ground.compiled import compiled
from cfgmigrate.ground.findings import BadInput
from cfgmigrate.ground.positioned_yaml import Node, YamlField, read_data

BASES = ("m", "kg", "s", "A", "K")
Dimension = tuple[float, ...]
"""Exponents of metre, kilogram, second, ampere, kelvin."""
PLAIN: Dimension = (0.0, 0.0, 0.0, 0.0, 0.0)

_FILE = Path(__file__).with_name("units.yaml")
_PROPERTIES = {"of", "size", "zero", "turn", "written", "words"}
#: one spelling of signs and powers
_TIDY = str.maketrans({"−": "-", "·": "*", "⋅": "*", "×": "*", "²": "^2", "³": "^3", "μ": "µ", "Ω": "Ω"})
_PINT_BASES = ("meter", "kilogram", "second", "ampere", "kelvin")


class NoSuchUnit(ValueError):
    """Text that is no unit, or none that may be used here; it says which of both."""


class Unit(Struct, frozen=True):
    """One unit: `size` of it in SI base units, and what 0 of it is there (`zero`, for temperatures).

    `of` is what it measures. `turn` says that a turn is counted as 1 in it. `written` are further spellings behind
    a number, `words` those inside a key, each a sorted tuple of lower-case words. `in_files` says whether it is
    looked for in files.
    """

    name: str
    of: str
    size: Decimal
    dimension: Dimension
    zero: Decimal = Decimal(0)
    turn: bool = False
    written: tuple[str, ...] = ()
    words: tuple[tuple[str, ...], ...] = ()
    in_files: bool = False

    @property
    def factor(self) -> float:
        """One of it in SI base units, differences of temperatures included."""
        return float(self.size)

    def to_base(self, written: float) -> float:
        return written * float(self.size) + float(self.zero)

    def from_base(self, base: float) -> float:
        return (base - float(self.zero)) / float(self.size)


@compiled
def units() -> dict[str, Unit]:
    """All listed units by name. Raises BadInput where the table is wrong."""
    root = read_data(_FILE)
    kinds = {item.key: _dimension(item) for item in _entries(root, "kinds")}
    table: dict[str, Unit] = {}
    seen: dict[str, str] = {}
    for item in _entries(root, "units"):
        unit = table[item.key] = _unit(item, kinds)
        for spelling in dict.fromkeys((unit.name, *unit.written)):
            if seen.setdefault(spelling, unit.name) != unit.name:
                raise BadInput(f"{spelling!r} is written for {seen[spelling]} too", item.place)
    return table


def _entries(root: Node, key: str) -> tuple[YamlField, ...]:
    found = root.get(key)
    if found is None or not found.items:
        raise BadInput(f"{key} is missing, or is no mapping", root.place)
    return found.items


def _dimension(item: YamlField) -> Dimension:
    powers = {part.key: float(part.node.text or "") for part in item.node.items or ()}
    if set(powers) - set(BASES):
        raise BadInput(f"{item.key}: the base units are {', '.join(BASES)}", item.place)
    return tuple(powers.get(base, 0.0) for base in BASES)


def _unit(item: YamlField, kinds: dict[str, Dimension]) -> Unit:
    said = {part.key: part.node for part in item.node.items or ()}
    if unknown := sorted(set(said) - _PROPERTIES):
        raise BadInput(f"{item.key!r} has a field {unknown[0]!r} that there is not", item.place)
    of = (said["of"].text or "") if "of" in said else ""
    if of not in kinds or "size" not in said or "written" not in said:
        raise BadInput(f"{item.key!r} needs of (one of the kinds), size and written", item.place)
    return Unit(
        item.key,
        of,
        Decimal(said["size"].text or ""),
        kinds[of],
        Decimal((said["zero"].text or "") if "zero" in said else 0),
        "turn" in said and said["turn"].text == "true",
        _texts(said["written"]),
        tuple(tuple(sorted(text.split())) for text in _texts(said["words"])) if "words" in said else (),
        "words" in said,
    )


def _texts(node: Node) -> tuple[str, ...]:
    return tuple(element.text or "" for element in node.elements or ())


def tidy(text: str) -> str:
    """One spelling of signs, blanks and powers of a number and its unit."""
    plain = " ".join(text.split()).translate(_TIDY).replace("**", "^")
    return re.sub(r"\s*([*/^])\s*", r"\1", plain)


def listed(text: str) -> Unit | None:
    """The listed unit that is written just like this, None where the table has none."""
    return _exact().get(tidy(text))


def unit_written(text: str) -> Unit | None:
    """The unit that stands behind a number in a file, in any case and spacing; None where it is none."""
    plain = " ".join(text.split())
    found, tight = _in_any_case(), plain.replace(" ", "")
    return found.get(plain) or found.get(tight) or found.get(plain.lower()) or found.get(tight.lower())


def file_units(name: str) -> tuple[Unit, ...]:
    """The units of files that convert into `name`, itself among them; () where the table does not have it."""
    wanted = units().get(name)
    return tuple(unit for unit in units().values() if wanted and unit.in_files and unit.of == wanted.of)


def _spellings(unit: Unit) -> Iterator[str]:
    yield unit.name
    yield from unit.written


@lru_cache(maxsize=1)
def _exact() -> dict[str, Unit]:
    return {tidy(spelling): unit for unit in units().values() for spelling in _spellings(unit)}


@lru_cache(maxsize=1)
def _in_any_case() -> dict[str, Unit]:
    in_files = [unit for unit in units().values() if unit.in_files]
    found = {spelling: unit for unit in in_files for spelling in _spellings(unit)}
    for unit in in_files:
        for spelling in _spellings(unit):
            found.setdefault(spelling.lower(), unit)
    return found


@lru_cache(maxsize=256)
def formula_unit(text: str) -> Unit:
    """The unit that a rule, a table or a quantity has. Raises NoSuchUnit."""
    found = listed(text)
    if found is not None and (found.of != "angle" or found.name == "deg") and not found.turn:
        return found
    return by_pint(text)


@lru_cache(maxsize=256)
def by_pint(text: str) -> Unit:
    """The unit as pint has it, without any of an angle. Raises NoSuchUnit."""
    registry = _registry()
    try:
        parsed = registry.parse_units(text)
        one, none = (registry.Quantity(Decimal(number), parsed).to_base_units() for number in (1, 0))
        angular = any("radian" in str(registry.get_root_units(part)[1]) for part in parsed._units)
    except Exception:  # pint raises many kinds of error for text that is no unit
        raise NoSuchUnit(f"there is no unit {text!r}") from None
    if angular:
        raise NoSuchUnit(
            f"a radian or a turn is hidden in {text!r}, and 2π with it; of angles only deg is one"
        )
    powers = {str(name): float(power) for name, power in one.unit_items()}
    if set(powers) - set(_PINT_BASES):
        raise NoSuchUnit(f"the unit {text!r} measures nothing that a rule uses")
    size, zero = Decimal(one.magnitude) - Decimal(none.magnitude), Decimal(none.magnitude)
    return Unit(text, "", size, tuple(powers.get(base, 0.0) for base in _PINT_BASES), zero)


@lru_cache(maxsize=1)
def _registry() -> Any:
    import pint

    return pint.UnitRegistry(non_int_type=Decimal)
