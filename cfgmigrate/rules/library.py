"""Everything that rules rest on, loaded and joined: constants, tables, the vocabulary and the book.

This is the one place where the names of formulas are put together from the sheet's schema, the
quantities and the tables. It computes nothing.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from functools import lru_cache
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.dialects.grammar import data_folder
from cfgmigrate.ground.compiled import compiled
from cfgmigrate.knowledge.tables import HERE, TABLE_OF, Fact, constants, table, table_for
from cfgmigrate.machine import quantities
from cfgmigrate.machine.model import Quantity
from cfgmigrate.rules.book import Book, book_from, load_book, own_book
from cfgmigrate.rules.formula import IN_A_PROFILE
from cfgmigrate.rules.rule import Rule
from cfgmigrate.rules.scope import NamedValue, uncertain
from cfgmigrate.rules.vocabulary import RuleNames
from cfgmigrate.sheet.repeats import COUNT, SPREAD
from cfgmigrate.sheet.schema import measured_schema, sheet_schema

TUNING = HERE / "tuning"


class _Tables(Mapping[str, NamedValue]):
    """Facts by name, each with where it is from. What is asked for is made once; a swap asks for a few of them."""

    def __init__(self, facts: Mapping[str, tuple[Fact, str]]) -> None:
        self._facts = facts
        self._made: dict[str, NamedValue] = {}

    def __getitem__(self, name: str) -> NamedValue:
        if name not in self._made:
            self._made[name] = _given(name, *self._facts[name])
        return self._made[name]

    def __contains__(self, name: object) -> bool:
        return name in self._facts

    def __iter__(self) -> Iterator[str]:
        return iter(self._facts)

    def __len__(self) -> int:
        return len(self._facts)


@lru_cache(maxsize=1)
def tables() -> Mapping[str, NamedValue]:
    """Constants as `const.NAME` and table facts as `ROW:FIELD`, with values in base units."""
    found = {f"const.{name}": (fact, "constant") for name, fact in constants().items()}
    for file in TABLE_OF.values():
        for row in table(file).entries.values():
            for name, fact in row.facts.items():
                found[f"{row.key}:{name}"] = fact, f"table {file}, {row.key}"
    return _Tables(found)


def _given(name: str, fact: Fact, origin: str) -> NamedValue:
    said, label = f"{origin}: {fact.origin}", (fact.says or fact.name).rstrip(".")
    if fact.value is None:
        return NamedValue(name, label, fact.unit, said, word=fact.word, text=fact.word)
    base = uncertain(fact.value, fact.uncertainty, fact.unit, name)
    return NamedValue(name, label, fact.unit, said, base=base)


def vocabulary() -> RuleNames:
    """The names that formulas may use."""
    terms: dict[str, str] = {}
    for name, field in sheet_schema().fields.items():
        terms[name] = field.unit
        if field.kind in TABLE_OF:
            terms |= {
                f"{name}.{column.name}": column.unit for column in table_for(field.kind).columns.values()
            }
    terms |= {f"const.{name}": fact.unit for name, fact in constants().items()}
    terms[IN_A_PROFILE] = ""
    ids = tuple(found.id for found in quantities.all_quantities())
    return RuleNames(terms, _find, ids)


def _find(name: str) -> Quantity | None:
    return quantities.quantity(name) if quantities.known(name) else None


def book(extra: Path | None = None) -> Book:
    """The rule book, with the user's own rules where a folder of them is given."""
    return load_book(vocabulary(), extra) if extra is not None else _own_book()


@lru_cache(maxsize=1)
def _own_book() -> Book:
    return Book(_own_rules(), _OwnTexts())


@compiled
def _own_rules() -> tuple[Rule, ...]:
    return load_book(vocabulary()).rules


class _OwnTexts(Mapping[str, bytes]):
    """The tool's own rules as text, by the names of their files. They lie beside the compiled rules, so these hold no copy of them."""

    def __init__(self) -> None:
        self._read: dict[str, bytes] = {}

    def __getitem__(self, name: str) -> bytes:
        if name not in self._read:
            if name not in _own_files():
                raise KeyError(name)
            self._read[name] = (own_book() / name).read_bytes()
        return self._read[name]

    def __contains__(self, name: object) -> bool:
        return name in _own_files()

    def __iter__(self) -> Iterator[str]:
        return iter(_own_files())

    def __len__(self) -> int:
        return len(_own_files())


@lru_cache(maxsize=1)
def _own_files() -> tuple[str, ...]:
    return tuple(sorted(path.name for path in own_book().glob("*.yaml")))


def tuning_vocabulary() -> RuleNames:
    """The same, and the fields of the measured sheet."""
    known = vocabulary()
    terms = dict(known.terms)
    for name, field in measured_schema().fields.items():
        terms[name] = field.unit
        if field.kind == "repeats":
            terms |= {name + COUNT: "", name + SPREAD: field.unit}
    return replace(known, terms=terms)


def tuning_book(extra: Path | None = None) -> Book:
    """The rules of tuning/ and, of the book, those that set nothing; see tuning/README.md."""
    return _tuning_book(book(extra)) if extra is not None else _own_tuning_book()


class TuningParts(Struct, frozen=True):
    """The tuning book as it differs from the book: the names of its rules in their order, and the rules and texts that are its own."""

    order: tuple[str, ...]
    own: Book


@lru_cache(maxsize=1)
def _own_tuning_book() -> Book:
    parts = _own_tuning_rules()
    named = {rule.name: rule for rule in (*book().rules, *parts.own.rules)}
    files = (rule.place.file for rule in book().rules if not rule.sets)
    texts = {name: book().sources[name] for name in files}
    rules = tuple(named[name] for name in parts.order)
    return replace(parts.own, rules=rules, sources={**texts, **parts.own.sources})


@compiled
def _own_tuning_rules() -> TuningParts:
    """What is not in the book as well, word for word: a wheel holds that once."""
    whole, known = _tuning_book(book()), book()
    same = {rule.name: rule for rule in known.rules}
    own = replace(
        whole,
        rules=tuple(rule for rule in whole.rules if same.get(rule.name) != rule),
        sources={name: text for name, text in whole.sources.items() if known.sources.get(name) != text},
    )
    return TuningParts(tuple(rule.name for rule in whole.rules), own)


def _tuning_book(whole: Book) -> Book:
    own = {path.stem: (path.name, path.read_bytes()) for path in sorted(TUNING.glob("*.yaml"))}
    kept = {
        rule.name: (rule.place.file, whole.sources[Path(rule.place.file).name])
        for rule in whole.rules
        if not rule.sets
    }
    return book_from(dict({**kept, **own}.values()), tuning_vocabulary())


@compiled
def knowledge_hash() -> str:
    """The SHA-256 of every data file that a plan rests on: with the same ones it can be worked out again."""
    package = HERE.parent
    digest = hashlib.sha256()
    for folder, kind in ((package, "*.yaml"), (data_folder("grammars"), "*.lark")):
        for path in sorted(folder.rglob(kind)):
            name = path.relative_to(folder).as_posix()
            if not name.startswith("sample_configs/"):
                digest.update(name.encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()


def book_sources(loaded: Book) -> dict[str, bytes]:
    """What goes into a packet's `rules/`: the rules and the tables, as used."""
    return {**loaded.sources, **table_sources()}


def table_sources() -> dict[str, bytes]:
    """The tables and the constants, as files by name."""
    return {name: (HERE / name).read_bytes() for name in ("constants.yaml", *TABLE_OF.values())}
