"""The fields of one group of a sheet: the text of each turned into a value by its kind, or refused.

What is wrong is collected, so that a person mends the sheet in one go: each line says where, what, and what to
write. A field with nothing behind it (`retraction:`) is missing, as if its line were not there.

Which groups a whole sheet has is known to `reader.py` and `several.py`, which use this.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Iterator, Sequence

from msgspec import Struct, field
from msgspec.structs import replace

from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.ground.number_text import RESOLUTION, with_unit
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.positioned_yaml import Node, YamlField
from cfgmigrate.ground.quantity_text import (
    PER_AMP,
    Amount,
    NotAQuantity,
    parse_count,
    parse_quantity,
    parse_ratio,
)
from cfgmigrate.sheet.meant_fields import nearest_fields
from cfgmigrate.sheet.model import Entries, SheetEntry, folded_name, listed
from cfgmigrate.sheet.repeats import COUNT, SPREAD, summary
from cfgmigrate.sheet.schema import Field, Schema
from cfgmigrate.sheet.volts_and_amperes import volts_per_ampere

_TRUTH = {"yes": "yes", "true": "yes", "on": "yes", "no": "no", "false": "no", "off": "no"}
LONGEST_TEXT = 200
_PLAIN_NUMBER = pattern(r"(?P<number>[+-]?\d+(?P<decimals>\.\d+)?)\s*(?P<unit>[^\d\s±(+][^\d±(]*)")
#: an uncertainty of a tenth of all that a field may say is no measurement; nor is a hundredth of what may lie on both
#: sides of zero, where a range is wide and a shift is small
_PARTS_OF_RANGE, _PARTS_OF_BOTH_SIDES = 10, 100
#: by how much of itself a print may be higher than it was meant: common practice, no source
MEASURED_SLACK = 0.02


class Wrong(Struct, frozen=True):
    """One thing that is wrong with a sheet, and where."""

    place: Place
    what: str
    remedy: str = ""

    def __str__(self) -> str:
        return f"{self.what}. {self.remedy}" if self.remedy else self.what


class SheetReading(Struct):
    """What has been read of one sheet so far, and what was wrong with it."""

    schema: Schema
    entries: dict[str, SheetEntry] = field(default_factory=dict)
    repeats: dict[str, list[SheetEntry]] = field(default_factory=dict)
    wrong: list[Wrong] = field(default_factory=list)

    def refuse(self, place: Place, what: str, remedy: str = "") -> None:
        self.wrong.append(Wrong(place, what, remedy))


#: fields that are about one turn
_OF_A_TURN = "feed_per_turn"
_A_TURN = pattern(
    r"(?:/|\bper\b|\ba\b|\ban?\b|\beach\b|\bevery\b)\s*(?:turn|rev|revolution|rotation|round)s?\b",
    re.IGNORECASE,
)


def read_value(field: Field, text: str, place: Place) -> SheetEntry:
    """One field's text as an entry. Raises BadInput where it is no such value."""
    try:
        return _entry(field, text, place)
    except NotAQuantity as error:
        raise BadInput(f"{field.path}: {error.what}", place, error.remedy) from None


def read_section(
    section: str, node: Node, reading: SheetReading, only: Sequence[str] = (), beside: Sequence[str] = ()
) -> None:
    """Read the fields below `node` into `reading`. `section` is their path, "" for a whole sheet.

    `only` are the names that may stand here, where not all of the section's may; `beside` those that may stand
    here too and that someone else has read."""
    if node.empty:
        return
    names = tuple(only) or reading.schema.names_in(section)
    if node.items is None:
        kind = "a list" if node.elements is not None else "one value"
        where = f"{section} holds fields" if section else "a swap sheet holds fields"
        reading.refuse(
            node.place, f"{where}, not {kind}", f"Write `name: value` lines below it: {listed(names)}."
        )
        return
    for item in _with_commas(node.items):
        path = f"{section}.{item.key}" if section else item.key
        if path in reading.schema.formerly:
            path = reading.schema.formerly[path]
            item = YamlField(path.rpartition(".")[2], item.place, item.node)
            if node.get(item.key) is not None:
                reading.refuse(item.place, f"{path} is here twice, once by its former name", "Keep one.")
                continue
        if item.key not in names:
            remedy = _nearest(item.key, section, reading.schema, (*names, *beside))
            reading.refuse(item.place, f"there is no field {path}", remedy)
        elif path in reading.schema.fields:
            _read_field(reading.schema.fields[path], item, reading)
        else:
            read_section(path, item.node, reading)


def emptied(node: Node, section: str, schema: Schema) -> Iterator[SheetEntry]:
    """The fields that stand there with nothing behind them, alone or as a whole group: "not so here"."""
    for item in node.items or ():
        path = f"{section}.{item.key}" if section else item.key
        path = schema.formerly.get(path, path)
        if item.node.empty:
            for known in schema.fields:
                if known == path or known.startswith(f"{path}."):
                    yield SheetEntry(known, "", item.place)
        else:
            yield from emptied(item.node, path, schema)


def _with_commas(items: Sequence[YamlField]) -> list[YamlField]:
    """Numbers with a comma in them put together again: `{bore: 1,9 mm}` is two fields to YAML, the second `9 mm`."""
    found: list[YamlField] = []
    for item in items:
        above = found[-1].node if found else None
        if above and above.text and item.node.empty and item.key[:1].isdigit():
            line, column = above.place.line, above.place.column + len(above.text) + len(",")
            if above.text[-1].isdigit() and (item.place.line, item.place.column) == (line, column):
                whole = Node(above.place, text=f"{above.text},{item.key}")
                found[-1] = YamlField(found[-1].key, found[-1].place, whole)
                continue
        found.append(item)
    return found


def _read_field(field: Field, item: YamlField, reading: SheetReading) -> None:
    if item.node.empty:
        return
    if field.kind == "repeats":
        _read_repeats(field, item, reading)
        return
    if item.node.text is None:
        remedy = f"Write {item.key}: {field.example}, for instance; several gear stages as 46:15 x 3:1."
        if field.kind != "ratio":
            remedy = f"Write {item.key}: {field.example}, for instance."
        reading.refuse(item.node.place, f"{field.path} takes one value", remedy)
        return
    try:
        reading.entries[field.path] = _said(field, item.node.text, item.node.place)
    except NotAQuantity as error:
        reading.refuse(item.node.place, f"{field.path}: {error.what}", error.remedy)


def _said(field: Field, text: str, place: Place) -> SheetEntry:
    """A text as an entry, also as people put a number at the bench; a unit is never added to it."""
    try:
        return _entry(field, text, place)
    except NotAQuantity:
        # a screw's rule may stand the other way round, `1.25 A/V`
        if field.unit == PER_AMP and (rule := volts_per_ampere(text)) is not None:
            return _entry(field, f"{rule:.6g} {PER_AMP}", place)
        comma = "," in text and field.kind != "ratio"
        if not field.numeric or field.kind == "count" or comma or len(text) > LONGEST_TEXT:
            raise
        from cfgmigrate.sheet.bench_numbers import number_text

        plain, _ = number_text(replace(field, unit=""), " ".join(text.split()))
        if plain == text:
            raise
        return _entry(field, plain, place)


def _read_repeats(field: Field, item: YamlField, reading: SheetReading) -> None:
    for node in item.node.elements or (item.node,):
        if node.text is None:
            reading.refuse(node.place, f"{field.path} takes a list of values", f"Write {field.example}.")
            continue
        try:
            entry = _entry(field, node.text, node.place)
        except NotAQuantity as error:
            reading.refuse(node.place, f"{field.path}: {error.what}", error.remedy)
            continue
        if entry.uncertainty:
            what = f"{field.path}: a repeat has no ± of its own"
            reading.refuse(
                node.place, what, f"Their scatter says it; write the error of one reading as {field.error}."
            )
        else:
            reading.repeats.setdefault(field.path, []).append(entry)


def sum_up(reading: SheetReading) -> None:
    """Each list of repeats as its mean, its count and its spread."""
    for path, entries in reading.repeats.items():
        error = reading.entries.get(reading.schema.fields[path].error)
        reading.entries |= summary(path, entries, error)


def _nearest(key: str, section: str, schema: Schema, names: Sequence[str]) -> str:
    """What the person most likely meant: a like name here, else the same name elsewhere, else all `names` here."""
    if ":" in key and any(schema.fields[path].kind == "ratio" for path in _paths(section, names, schema)):
        return "Write several gear stages with x: gear_ratio: 46:15 x 3:1."
    prefix = f"{section}." if section else ""
    below = [path.removeprefix(prefix) for path in schema.fields if path.startswith(prefix)]
    below = [name for name in below if name.partition(".")[0] in names]
    folded = {_folded(name): name for name in (*below, *names)}
    close = [folded[name] for name in difflib.get_close_matches(_folded(key), folded, n=3, cutoff=0.6)]
    if close:
        return f"Did you mean {' or '.join(prefix + name for name in close)}?"
    elsewhere = [path for path in schema.fields if path.rpartition(".")[2] == _folded(key)]
    if elsewhere:
        return f"It belongs elsewhere: {listed(elsewhere)}."
    if by_words := nearest_fields(key, section, schema):
        return f"Did you mean {' or '.join(by_words)}?"
    return f"Allowed here: {listed(names)}."


def _folded(name: str) -> str:
    return re.sub(r"[-_. ]+", "_", name.casefold())


def _paths(section: str, names: Sequence[str], schema: Schema) -> list[str]:
    paths = [f"{section}.{name}" if section else name for name in names]
    return [path for path in paths if path in schema.fields]


def _sure_to_its_last_digit(text: str, amount: Amount) -> Amount:
    """A number that was read off a scale, with the uncertainty that its last digit leaves open where it states none:
    a rectangle one digit wide (GUM, JCGM 100:2008, F.2.2.1, from memory). 0 stays 0: it says that nothing moved."""
    plain = _PLAIN_NUMBER.fullmatch(text.strip())
    if plain is None or amount.uncertainty or not amount.value:
        return amount
    digit = RESOLUTION * 10.0 ** -len((plain["decimals"] or ".")[1:])
    return parse_quantity(f"{plain['number']} ± {digit:.6g} {plain['unit']}", amount.unit)


def _entry(field: Field, text: str, place: Place) -> SheetEntry:
    if not field.numeric:
        return SheetEntry(field.path, text, place, word=_word(field, text))
    if not text:
        raise NotAQuantity("there is nothing between the quotes", f"Write {field.example}, for instance.")
    if field.kind == "ratio":
        amount = parse_ratio(text)
    elif field.kind == "count":
        amount = parse_count(text)
    else:
        amount = parse_quantity(text, field.unit)
        _refuse_a_turn_s(field, text, amount)
        if field.read_off:
            amount = _sure_to_its_last_digit(text, amount)
    _within_bounds(field, text, amount)
    return SheetEntry(field.path, text, place, amount.value, amount.uncertainty, field.unit)


def _refuse_a_turn_s(field: Field, text: str, amount: Amount) -> None:
    """What one turn moves is a length in its unit, and is none: as a diameter it would be π times too much."""
    if field.path.endswith(_OF_A_TURN) or not _A_TURN.search(text):
        return
    if field.path.endswith("diameter"):
        across = with_unit(f"{amount.value / math.pi:.4g}", field.unit)
        remedy = (
            f"If it is a turn of the drive gear, write {amount.value:g} {field.unit} per turn of the wheel, or {across}, which "
            "is that over π. Or say what one turn of the motor feeds, all gears included."
        )
        raise NotAQuantity(f"{text!r} is what one turn moves, and a diameter is asked for", remedy)
    raise NotAQuantity(
        f"{text!r} is what one turn moves, and this is {field.label}", f"Write {field.example}, for instance."
    )


def _within_bounds(field: Field, text: str, amount: Amount) -> None:
    if amount.value < 0 and not field.negative:
        raise NotAQuantity(f"{text!r} is negative, and this can't be", f"It is: {field.says}")
    if not field.low <= amount.value <= field.high:
        bounds = f"from {field.low:g} to {with_unit(f'{field.high:g}', field.unit)}"
        raise NotAQuantity(f"{text!r} can't be right", f"Expected is something {bounds}; check the unit.")
    if field.doubled and int(amount.value).bit_count() != 1:
        counts = ", ".join(str(1 << power) for power in range(int(field.high).bit_length()))
        raise NotAQuantity(f"{text!r} can't be right: no driver makes so many", f"It is one of {counts}.")
    if amount.uncertainty and amount.uncertainty >= _least_slip(field, amount):
        what = f"the ± of {text!r} is far too large for what was measured, so one of the two is a slip"
        remedy = (
            "After the ± write by how much it may be off, in the same unit; leave it out if you don't know."
        )
        raise NotAQuantity(what, remedy)


def _least_slip(field: Field, amount: Amount) -> float:
    """The least uncertainty that can only be a slip: half the value's own size. Where that tells too little, since the
    value may be below zero, is zero or has no natural zero, it is a part of the field's range."""
    if field.unit == "degC":
        return (field.high - field.low) / _PARTS_OF_RANGE
    if field.negative:
        return max(abs(amount.value), (field.high - field.low) / _PARTS_OF_BOTH_SIDES)
    return abs(amount.value) / 2 or (field.high - field.low) / _PARTS_OF_RANGE


def _word(field: Field, text: str) -> str:
    if not text or not text.isprintable() or len(text) > LONGEST_TEXT:
        raise NotAQuantity("this is not a line of text", f"Write {field.example}, for instance.")
    if field.kind == "text":
        return text
    spellings = {folded_name(choice): choice for choice in field.choices}
    if field.kind == "truth":
        spellings = dict(_TRUTH)
    found = spellings.get(folded_name(text))
    if found is not None:
        return found
    close = difflib.get_close_matches(folded_name(text), spellings, n=1, cutoff=0.5)
    meant = f"Did you mean {spellings[close[0]]}? " if close else ""
    raise NotAQuantity(f"{text!r} is not one of its words", f"{meant}It takes {listed(field.choices)}.")


def compare(entries: Entries, reading: SheetReading) -> None:
    """Refuse where one field must exceed another and does not, or must lie within others, all being given."""
    for path, entry in entries.items():
        if path.endswith((COUNT, SPREAD)):
            continue
        _compare_within(entry, entries, reading)
        other = entries.get(reading.schema.fields[path].above)
        if other is None or entry.value is None or other.value is None or entry.value > other.value:
            continue
        what = f"{path}: {entry.text!r} is not more than {other.path} ({other.text}, line {other.place.line})"
        reading.refuse(entry.place, what, "One of the two is a slip.")


def _compare_within(entry: SheetEntry, entries: Entries, reading: SheetReading) -> None:
    field = reading.schema.fields[entry.path]
    others = [entries[name] for name in field.within if name in entries]
    if not others or len(others) < len(field.within) or entry.value is None:
        return
    most = math.prod(other.value or 0.0 for other in others)
    if entry.value > most * (1 + (MEASURED_SLACK if field.kind == "quantity" else 0.0)):
        told = " and ".join(f"{other.path} is {other.text}" for other in others)
        what = f"{entry.path}: {entry.text!r} lies outside of what was printed: {told}"
        reading.refuse(entry.place, what, "One of them is a slip.")
