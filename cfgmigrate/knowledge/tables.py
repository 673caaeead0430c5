"""What the rules know by themselves: plastics, driver parts and constants, each fact with its source.

Three YAML files beside this module, which a practitioner can read and extend; their syntax stands in their
headers and is checked here when they are loaded. A `Fact` is one number (or word) with its unit, its
standard uncertainty, where it comes from and how far that was seen. An `TableRow` is one plastic or part.
A `Column` says what a table's facts of one name are, so that the units of a formula such as
`filament.material.modulus` can be checked before any sheet is read.

Nothing is computed here, and no fact is filled in where a table has none.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path
from typing import NoReturn

from msgspec import Struct, field
from msgspec.structs import replace

from cfgmigrate.ground.compiled import compiled
from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.ground.positioned_yaml import Node, YamlField, read_data
from cfgmigrate.sheet.schema import (
    TABLE_OF as TABLE_OF,
)  # kind of a sheet field → the table its word is a key of

HERE = Path(__file__).parent
SEEN = ("read", "second-hand", "recomputed", "memory", "common practice")
_FACT_PROPERTIES = {"says", "value", "uncertainty", "unit", "word", "source", "seen", "note"}


class Fact(Struct, frozen=True, array_like=True):
    """`value` with one standard uncertainty, both in `unit`; or a `word`, and then `value` is None.

    `seen` is one of `SEEN`. `place` is where the fact stands in its table."""

    name: str
    value: float | None
    unit: str
    uncertainty: float
    source: str
    seen: str
    place: Place
    word: str = ""
    says: str = ""
    note: str = ""

    @property
    def origin(self) -> str:
        """For a derivation: the source, and how it was seen where the source does not say so itself."""
        told = self.seen in self.source or (self.seen in ("read", "recomputed"))
        return self.source if told else f"{self.source} ({self.seen})"


class Column(Struct, frozen=True, array_like=True):
    """What all facts of one name in a table are: their unit, or the words they may be."""

    name: str
    unit: str
    says: str
    words: tuple[str, ...] = ()


class TableRow(Struct, frozen=True, array_like=True):
    """One plastic or driver part. A fact that is not in `facts` is not known, or makes no sense for it."""

    key: str
    label: str
    place: Place
    facts: Mapping[str, Fact] = field(default_factory=dict)

    def get(self, name: str) -> Fact | None:
        return self.facts.get(name)


class Table(Struct, frozen=True, array_like=True):
    """A table's columns and entries, each by its name, in the file's order."""

    name: str
    columns: Mapping[str, Column]
    entries: Mapping[str, TableRow]


def constant(name: str) -> Fact:
    """The constant of that name. Raises KeyError where there is none."""
    return constants()[name]


def plastic(key: str) -> TableRow:
    """The plastic of that key, such as `PLA`. Raises KeyError where there is none."""
    return plastics()[key]


def driver(part: str) -> TableRow:
    """The driver part of that number. Raises KeyError where there is none."""
    return drivers()[part]


def plastics() -> Mapping[str, TableRow]:
    """All plastics by key."""
    return table("plastics.yaml").entries


def drivers() -> Mapping[str, TableRow]:
    """All driver parts by the number printed on them."""
    return table("drivers.yaml").entries


def table_for(kind: str) -> Table:
    """The table that a sheet's field of kind `material` or `part` continues into."""
    return table(TABLE_OF[kind])


@compiled(each=lambda: [(name,) for name in TABLE_OF.values()])
def table(name: str) -> Table:
    """A table that comes with the package, `plastics.yaml` or `drivers.yaml`."""
    return load_table(HERE / name)


@compiled
def constants() -> Mapping[str, Fact]:
    """All constants by name."""
    return load_constants(HERE / "constants.yaml")


def load_table(path: Path) -> Table:
    """A table from its file. Raises BadInput with line and column where it breaks its own syntax."""
    root = read_data(path)
    columns = {item.key: _column(item) for item in _mapping(root, "fields")}
    entries = {item.key: _entry(item, columns) for item in _mapping(root, "entries")}
    return Table(path.name, columns, entries)


def load_constants(path: Path) -> Mapping[str, Fact]:
    """Constants from their file. Raises BadInput with line and column where it breaks its own syntax."""
    facts = {item.key: _fact(item) for item in _mapping(read_data(path), "entries")}
    for fact in facts.values():
        if not fact.says or fact.value is None:
            raise BadInput(f"the constant {fact.name} needs a value and says", fact.place)
    return facts


def _mapping(node: Node, key: str) -> tuple[YamlField, ...]:
    found = node.get(key)
    if found is None or found.items is None:
        raise BadInput(f"{key} is missing, or is no mapping", node.place)
    return found.items


def _column(item: YamlField) -> Column:
    said = {part.key: part.node for part in item.node.items or ()}
    if set(said) - {"unit", "words", "says"} or "says" not in said or len(said) != 2:
        raise BadInput(f"the field {item.key} takes says, and unit or words", item.place)
    unit = said["unit"].text or "" if "unit" in said else ""
    words = tuple(word.text or "" for word in said["words"].elements or ()) if "words" in said else ()
    return Column(item.key, unit, said["says"].text or "", words)


def _entry(item: YamlField, columns: Mapping[str, Column]) -> TableRow:
    facts: dict[str, Fact] = {}
    label = ""
    for part in item.node.items or ():
        if part.key == "label":
            label = part.node.text or ""
            continue
        if part.key not in columns:
            known = ", ".join(columns)
            raise BadInput(
                f"{item.key}: no field {part.key!r} stands under fields", part.place, f"Known: {known}."
            )
        facts[part.key] = _of_column(_fact(part), columns[part.key])
    if not label:
        raise BadInput(f"{item.key} has no label", item.place)
    return TableRow(item.key, label, item.place, facts)


def _of_column(fact: Fact, column: Column) -> Fact:
    if column.words and fact.word not in column.words:
        raise BadInput(f"{fact.name} must be one of the words {', '.join(column.words)}", fact.place)
    if not column.words and (fact.value is None or fact.unit != column.unit):
        raise BadInput(f"{fact.name} must have a value in {column.unit or 'no unit'}", fact.place)
    return replace(fact, says=fact.says or column.says)


def _fact(item: YamlField) -> Fact:
    said: dict[str, str] = {}
    for part in item.node.items or ():
        if part.key not in _FACT_PROPERTIES or part.node.text is None:
            allowed = ", ".join(sorted(_FACT_PROPERTIES))
            raise BadInput(
                f"{item.key}: {part.key!r} is no property of a fact", part.place, f"Known: {allowed}."
            )
        said[part.key] = part.node.text
    if ("value" in said) == ("word" in said):
        raise BadInput(f"{item.key} needs either a value or a word", item.place)
    if "value" in said and "unit" not in said:
        raise BadInput(f'{item.key} has no unit; a plain number has unit: ""', item.place)
    if said.get("seen") not in SEEN or not said.get("source"):
        raise BadInput(f"{item.key} needs a source, and seen: one of {', '.join(SEEN)}", item.place)
    return Fact(
        name=item.key,
        value=_number(said["value"], item) if "value" in said else None,
        unit=said.get("unit", ""),
        uncertainty=_number(said.get("uncertainty", "0"), item, lowest=0),
        source=said["source"],
        seen=said["seen"],
        place=item.place,
        word=said.get("word", ""),
        says=said.get("says", ""),
        note=said.get("note", ""),
    )


def _number(text: str, item: YamlField, lowest: float = -math.inf) -> float:
    try:
        number = float(text)
    except ValueError:
        _no_number(text, item)
    if not math.isfinite(number) or number < lowest:
        _no_number(text, item)
    return number


def _no_number(text: str, item: YamlField) -> NoReturn:
    raise BadInput(f"{item.key}: {text!r} is no such number", item.place, "Write it without its unit.")
