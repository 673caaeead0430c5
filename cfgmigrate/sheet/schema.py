"""What fields a sheet has: `schema.yaml` (the swap sheet) and `measured.yaml`, loaded and checked.

A `Field` is one thing the sheet may say; a `Schema` holds all of them in the order of the bench. The
names of plastics and driver parts are the keys of the tables beside the rules, so that a new plastic is
one more entry in a data file and nothing else.

This module reads no sheet (that is `reader.py`) and knows no rule.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path

from msgspec import Struct, field

from cfgmigrate.ground.compiled import compiled
from cfgmigrate.ground.findings import BadInput
from cfgmigrate.ground.positioned_yaml import Node, YamlField, read_data

SCHEMA = Path(__file__).with_name("schema.yaml")
MEASURED_SCHEMA = Path(__file__).with_name("measured.yaml")
TABLES = Path(__file__).parents[1] / "knowledge"

BEFORE_SITTING, MOUNTED, ANY_TIME = "before", "mounted", "any time"

FIELD_KINDS = ("quantity", "repeats", "number", "ratio", "count", "word", "truth", "material", "part", "text")
#: kinds whose words are the keys of a table
TABLE_OF = {"material": "plastics.yaml", "part": "drivers.yaml"}
#: the word in `rivals` that stands for either side of a swap
EITHER_SIDE, BOTH_SIDES = "SIDE", ("old", "new")
_NUMERIC = ("quantity", "repeats", "number", "ratio", "count")
_PROPERTIES = {
    "kind", "unit", "says", "measure", "low", "high", "negative", "above", "reads", "ask", "example", "choices",
    "error", "several", "read_off", "rare_below", "rare_beyond", "within", "called", "meter",
    "told_by", "doubled",
}  # fmt: skip


class Field(Struct, frozen=True):
    """One field of the sheet. `low` and `high` are in `unit`; see the header of `schema.yaml`."""

    path: str
    kind: str
    unit: str
    says: str
    example: str
    measure: str = ""
    low: float = 0.0
    high: float = float("inf")
    negative: bool = False
    above: str = ""
    reads: str = ""
    ask: bool = False
    choices: tuple[str, ...] = ()
    error: str = ""
    several: bool = False
    read_off: bool = False
    rare_below: float = 0.0
    rare_beyond: float = float("inf")
    within: tuple[str, ...] = ()
    meter: bool = False
    called: str = ""
    told_by: str = ""
    doubled: bool = False

    @property
    def label(self) -> str:
        """What people call it, or the path as words: `new drive gear effective diameter`."""
        return self.called or self.path.replace(".", " ").replace("_", " ")

    @property
    def numeric(self) -> bool:
        return self.kind in _NUMERIC


class Schema(Struct, frozen=True):
    """All fields by path, and the heading of every group of fields (`new.tube`), both in order.

    `each` are the groups that every feeder has for itself, `rivals` which fields an own answer drops, `formerly`
    the path that a field had before and the one it has now, `as_before` the field by which "as before" is kept where it
    is the answer to another one, `to_the_tip` the field of the whole way by that of the tube, `less_far` the field of
    how much less far something gets by that of the place, `holds_for` the field of the count for which a maker's figure holds, `ahead`
    the fields before which one is asked, `not_beside` by a yes the fields that deny it unless they are 0, `together` the fields that are asked in one breath, by what their question is
    called."""

    fields: Mapping[str, Field]
    sections: Mapping[str, str]
    each: tuple[str, ...] = ()
    rivals: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    formerly: Mapping[str, str] = field(default_factory=dict)
    sittings: Mapping[str, str] = field(default_factory=dict)
    as_before: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    together: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    to_the_tip: Mapping[str, str] = field(default_factory=dict)
    less_far: Mapping[str, str] = field(default_factory=dict)
    holds_for: Mapping[str, str] = field(default_factory=dict)
    ahead: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    not_beside: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def says_as_before(self, path: str) -> str:
        """The yes or no by which the sheet keeps that this field is as before; "" where there is none."""
        return next((truth for truth, paths in self.as_before.items() if path in paths), "")

    def breath(self, path: str) -> tuple[str, tuple[str, ...]]:
        """What the question for this field is called, and all fields that are asked with it, in order."""
        found = ((name, paths) for name, paths in self.together.items() if path in paths)
        return next(found, (path, (path,)))

    def sitting(self, path: str) -> str:
        """When a field can be answered: before (the old drive is off), mounted (the new one), or at any time."""
        parts = path.split(".")
        names = (".".join(parts[:count]) for count in range(len(parts), 0, -1))
        return next((self.sittings[name] for name in names if name in self.sittings), ANY_TIME)

    def former_names(self, path: str) -> tuple[str, ...]:
        """What a field was called before, in the group in which it still stands."""
        return tuple(before.rpartition(".")[2] for before, now in self.formerly.items() if now == path)

    def names_in(self, section: str) -> tuple[str, ...]:
        """The names that may stand directly in a section; "" is the sheet itself."""
        prefix = f"{section}." if section else ""
        paths = [path for path in self.fields if path.startswith(prefix)]
        return tuple(dict.fromkeys(path.removeprefix(prefix).partition(".")[0] for path in paths))


@compiled
def sheet_schema() -> Schema:
    """The swap sheet's schema."""
    return load_schema(SCHEMA)


@compiled
def measured_schema() -> Schema:
    """The measured sheet's schema."""
    return load_schema(MEASURED_SCHEMA)


def field_of(path: str) -> Field | None:
    """The field of that path, of whichever sheet; None where there is none."""
    return sheet_schema().fields.get(path) or measured_schema().fields.get(path)


def load_schema(path: Path) -> Schema:
    """A schema from its YAML. Raises BadInput with line and column where the file breaks its own syntax."""
    root = read_data(path)
    alike = {item.key: item.node.items or () for item in _required(root, "alike").items or ()}
    fields: dict[str, Field] = {}
    for item in _expanded(_required(root, "fields").items or (), alike):
        if item.key in fields:
            raise BadInput(f"the field {item.key} is here twice", item.place)
        fields[item.key] = _field(item)
    sections = {item.key: item.node.text or "" for item in _required(root, "sections").items or ()}
    formerly = {item.key: item.node.text or "" for item in _items(root.get("formerly"))}
    schema = Schema(
        fields,
        sections,
        _words(root.get("each")),
        _rivals(root.get("rivals")),
        formerly,
        _sittings(root),
        _lists(root.get("as_before")),
        _lists(root.get("together")),
        {item.key: item.node.text or "" for item in _items(root.get("to_the_tip"))},
        {item.key: item.node.text or "" for item in _items(root.get("less_far"))},
        {item.key: item.node.text or "" for item in _items(root.get("holds_for"))},
        _lists(root.get("ahead")),
        _lists(root.get("not_beside")),
    )
    _check(schema, root)
    return schema


def _required(node: Node, key: str) -> Node:
    found = node.get(key)
    if found is None:
        raise BadInput(f"{key} is missing", node.place)
    return found


def _expanded(
    items: tuple[YamlField, ...], alike: Mapping[str, tuple[YamlField, ...]]
) -> Iterator[YamlField]:
    for item in items:
        name = item.node.get("alike")
        if name is None:
            yield item
        elif name.text is None or name.text not in alike:
            raise BadInput(f"there is no list {name.text!r} under alike", name.place)
        else:
            reads = {part.key: part for part in _reads(item)}
            for inner in alike[name.text]:
                more = (YamlField("reads", item.place, reads[inner.key].node),) if inner.key in reads else ()
                node = Node(inner.place, items=(*(inner.node.items or ()), *more))
                yield YamlField(f"{item.key}.{inner.key}", inner.place, node)


def _reads(item: YamlField) -> tuple[YamlField, ...]:
    found = item.node.get("reads")
    return found.items or () if found else ()


def _field(item: YamlField) -> Field:
    said: dict[str, str] = {}
    choices: tuple[str, ...] = ()
    within: tuple[str, ...] = ()
    for part in item.node.items or ():
        if part.key not in _PROPERTIES:
            raise BadInput(f"a field has no property {part.key!r}", part.place)
        if part.key == "choices":
            choices = tuple(element.text or "" for element in part.node.elements or ())
        elif part.key == "within":
            within = _words(part.node)
        else:
            said[part.key] = part.node.text or ""
    kind = said.get("kind", "quantity")
    if kind not in FIELD_KINDS:
        raise BadInput(
            f"{item.key}: there is no kind {kind!r}", item.place, f"Kinds: {', '.join(FIELD_KINDS)}."
        )
    for needed in ("says", "example", *(["unit"] if kind in ("quantity", "repeats") else [])):
        if not said.get(needed):
            raise BadInput(f"{item.key} has no {needed}", item.place)
    try:
        low, high, rare_below, rare_beyond = (
            float(said.get(name, usual))
            for name, usual in (("low", 0), ("high", "inf"), ("rare_below", 0), ("rare_beyond", "inf"))
        )
    except ValueError:
        raise BadInput(
            f"{item.key}: low, high, rare_below and rare_beyond must be numbers", item.place
        ) from None
    return Field(
        path=item.key,
        kind=kind,
        unit=said.get("unit", ""),
        says=said["says"],
        example=said["example"],
        measure=said.get("measure", ""),
        low=low,
        high=high,
        negative=said.get("negative") == "true",
        above=said.get("above", ""),
        reads=said.get("reads", ""),
        ask=said.get("ask") == "true",
        choices=_choices(kind, choices, item),
        error=said.get("error", ""),
        several=said.get("several") == "true",
        read_off=said.get("read_off") == "true",
        rare_below=rare_below,
        rare_beyond=rare_beyond,
        within=within,
        meter=said.get("meter") == "true",
        called=said.get("called", ""),
        told_by=said.get("told_by", ""),
        doubled=said.get("doubled") == "true",
    )


def _sittings(root: Node) -> dict[str, str]:
    found = root.get("sittings")
    return {
        name: item.key
        for item in (found.items or () if found is not None else ())
        for name in _words(item.node)
    }


def _words(node: Node | None) -> tuple[str, ...]:
    return tuple(element.text or "" for element in node.elements or ()) if node is not None else ()


def _lists(node: Node | None) -> dict[str, tuple[str, ...]]:
    return {item.key: _words(item.node) for item in _items(node)}


def _items(node: Node | None) -> tuple[YamlField, ...]:
    return node.items or () if node is not None else ()


def _rivals(node: Node | None) -> dict[str, tuple[str, ...]]:
    """Each field's rivals; a line of both sides is two. What stands for one side alone is added to it."""
    found: dict[str, tuple[str, ...]] = {}
    for item in (node.items or ()) if node is not None else ():
        for side in BOTH_SIDES if EITHER_SIDE in item.key else ("",):
            names = tuple(name.replace(EITHER_SIDE, side) for name in _words(item.node))
            path = item.key.replace(EITHER_SIDE, side)
            found[path] = tuple(dict.fromkeys((*found.get(path, ()), *names)))
    return found


def _choices(kind: str, choices: tuple[str, ...], item: YamlField) -> tuple[str, ...]:
    if kind in TABLE_OF:
        return table_keys(TABLE_OF[kind])
    if kind == "truth":
        return ("yes", "no")
    if kind == "word" and not choices:
        raise BadInput(f"{item.key} has no choices", item.place)
    return choices


@compiled(each=lambda: [(name,) for name in TABLE_OF.values()])
def table_keys(name: str) -> tuple[str, ...]:
    """The keys of a knowledge table, such as `plastics.yaml`, in its order."""
    return tuple(item.key for item in _required(read_data(TABLES / name), "entries").items or ())


def _check(schema: Schema, root: Node) -> None:
    for each in schema.fields.values():
        section, _, _ = each.path.rpartition(".")
        if section and section not in schema.sections:
            raise BadInput(f"the section {section} of {each.path} has no heading under sections", root.place)
        for other in (each.above, each.error, *each.within):
            if other and other not in schema.fields:
                raise BadInput(f"{each.path}: there is no field {other}", root.place)
    for name in schema.each:
        if name not in schema.sections:
            raise BadInput(f"each: there is no section {name}", root.place)
    for name in (*schema.rivals, *(rival for names in schema.rivals.values() for rival in names)):
        if name not in schema.fields:
            raise BadInput(f"rivals: there is no field {name}", root.place)
    lists = (
        *schema.as_before.values(),
        *schema.ahead.values(),
        *schema.together.values(),
        *schema.not_beside.values(),
    )
    listed = (path for paths in lists for path in paths)
    other_ways = (*schema.to_the_tip.items(), *schema.less_far.items(), *schema.holds_for.items())
    for name in (
        *schema.as_before,
        *schema.ahead,
        *schema.not_beside,
        *listed,
        *(name for pair in other_ways for name in pair),
    ):
        if name not in schema.fields:
            what = f"as_before, to_the_tip, less_far, holds_for, ahead, not_beside or together: there is no field {name}"
            raise BadInput(what, root.place)
    for before, now in schema.formerly.items():
        same_group = before.rpartition(".")[0] == now.rpartition(".")[0]
        if before in schema.fields or now not in schema.fields or not same_group:
            what = f"formerly: {before} must be no field, and {now} one of the same group"
            raise BadInput(what, root.place)
    for name, sitting in schema.sittings.items():
        if sitting not in (BEFORE_SITTING, MOUNTED) or (
            name not in schema.fields and name not in schema.sections
        ):
            raise BadInput(f"sittings: {sitting} has {name}, and one of the two is unknown", root.place)
    for section in schema.sections:
        if not schema.names_in(section):
            raise BadInput(f"the section {section} has no field", root.place)
