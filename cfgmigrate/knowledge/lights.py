"""What the lights are: `lights.yaml`, loaded and checked.

A `Wanted` is one quantity of a light with what settles it, a `LightKind` one light with all of its quantities, an
`Ask` how a person is asked for one field. Whether a light is on for a machine is worked out in `plan/lights.py`.
"""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from cfgmigrate.ground.compiled import compiled
from cfgmigrate.ground.findings import BadInput
from cfgmigrate.ground.positioned_yaml import Node, YamlField, read_data
from cfgmigrate.knowledge.tables import HERE
from cfgmigrate.machine.quantities import known
from cfgmigrate.sheet.schema import sheet_schema

OWNERS = ("feeder", "machine")
_LIGHT = {"says", "of", "rules", "stops", "contradict", "instead", "values"}
_VALUE = {"always", "questioned", "settle", "same", "unless", "below", "against"}
_ASK = {"what", "usual", "where"}


class Wanted(Struct, frozen=True):
    """One quantity of a light. `settle` are lists of fields, one of which must be said in full; `same` likewise those
    that say it is not affected; an `always` one has to be set even where no file has it, and about that and a
    `questioned` one a question in the files keeps the light unknown. `unless` are fields with the word
    by which it does not matter, `against` figures of the new part that take `same` away where they aren't the old one's."""

    quantity: str
    settle: tuple[tuple[str, ...], ...]
    same: tuple[tuple[str, ...], ...]
    always: bool = False
    unless: tuple[tuple[str, str], ...] = ()
    below: tuple[str, ...] = ()
    against: tuple[str, ...] = ()
    questioned: bool = False


class LightKind(Struct, frozen=True):
    """One light. `says` is what goes wrong, `rules` are those whose by-hand items settle it. `stops` are those whose
    items say that nothing can settle it yet, with the fields that may take them away, `contradict` those of them by
    which two figures of the sheet don't go together; `instead` those whose items stand for what can't be written, also
    where a file has the value."""

    name: str
    says: str
    of: str
    rules: tuple[str, ...]
    values: tuple[Wanted, ...]
    stops: Mapping[str, tuple[str, ...]]
    instead: tuple[str, ...] = ()
    contradict: tuple[str, ...] = ()


class Ask(Struct, frozen=True):
    """How a person is asked for one field."""

    field: str
    what: str
    usual: str
    where: str


class Lights(Struct, frozen=True):
    """All of `lights.yaml`, in its order."""

    kinds: tuple[LightKind, ...]
    asks: tuple[Ask, ...]

    def asks_for(self, field: str) -> bool:
        return any(ask.field == field for ask in self.asks)

    def ask(self, field: str) -> Ask:
        return next(ask for ask in self.asks if ask.field == field)


def fields_of(kind: LightKind) -> frozenset[str]:
    """The fields of a sheet that a light may hang on."""
    lists = (names for value in kind.values for names in (*value.settle, *value.same))
    return frozenset(name for names in (*lists, *kind.stops.values()) for name in names)


@compiled
def light_kinds() -> Lights:
    """The lights. Raises BadInput with line and column where `lights.yaml` breaks its own syntax."""
    return load_lights(read_data(HERE / "lights.yaml"))


def load_lights(root: Node) -> Lights:
    """The lights of a tree that was read. Raises BadInput likewise."""
    asks = tuple(_ask(item) for item in _items(root, "ask"))
    asked = {ask.field for ask in asks}
    kinds = tuple(_kind(item, asked) for item in _items(root, "lights"))
    return Lights(kinds, asks)


def _kind(item: YamlField, asked: set[str]) -> LightKind:
    _only(item, _LIGHT)
    of = _text(item, "of")
    if of not in OWNERS:
        raise BadInput(f"{item.key}: of is {' or '.join(OWNERS)}", item.place)
    values = tuple(_wanted(value, asked) for value in _items(item.node, "values"))
    rules, instead = _names(item.node.get("rules")), _names(item.node.get("instead"))
    stops, contradict = _stops(item), _names(item.node.get("contradict"))
    if strange := [name for name in contradict if name not in stops]:
        raise BadInput(f"{item.key}: {strange[0]} is none of its stops", item.place)
    return LightKind(item.key, _text(item, "says"), of, rules, values, stops, instead, contradict)


def _stops(item: YamlField) -> dict[str, tuple[str, ...]]:
    stops = item.node.get("stops")
    found = {each.key: _names(each.node) for each in stops.items or ()} if stops is not None else {}
    for name in (name for names in found.values() for name in names):
        if name not in sheet_schema().fields:
            raise BadInput(f"{item.key}: there is no field {name}", item.place)
    return found


def _wanted(item: YamlField, asked: set[str]) -> Wanted:
    _only(item, _VALUE)
    if not known(item.key):
        raise BadInput(f"there is no quantity {item.key}", item.place)
    settle, same = _lists(item, "settle"), _lists(item, "same")
    for field in (name for names in (*settle, *same) for name in names):
        if field not in sheet_schema().fields:
            raise BadInput(f"{item.key}: there is no field {field}", item.place)
        if field not in asked:
            raise BadInput(f"{item.key}: nothing says how to ask for {field}", item.place)
    below, against = _names(item.node.get("below")), _names(item.node.get("against"))
    if strange := [name for name in (*below, *against) if name not in sheet_schema().fields]:
        raise BadInput(f"{item.key}: there is no field {strange[0]}", item.place)
    unless = item.node.get("unless")
    words = (
        tuple((each.key, each.node.text or "") for each in unless.items or ()) if unless is not None else ()
    )
    always, questioned = _is_true(item, "always"), _is_true(item, "questioned")
    return Wanted(item.key, settle, same, always, words, below, against, questioned)


def _ask(item: YamlField) -> Ask:
    _only(item, _ASK)
    return Ask(item.key, _text(item, "what"), _text(item, "usual"), _text(item, "where"))


def _items(node: Node, key: str) -> tuple[YamlField, ...]:
    found = node.get(key)
    if found is None or not found.items:
        raise BadInput(f"{key} is missing", node.place)
    return found.items


def _only(item: YamlField, properties: set[str]) -> None:
    for part in item.node.items or ():
        if part.key not in properties:
            raise BadInput(f"{item.key} has no property {part.key!r}", part.place)


def _text(item: YamlField, key: str) -> str:
    found = item.node.get(key)
    if found is None or found.text is None:
        raise BadInput(f"{item.key} has no {key}", item.place)
    return found.text


def _is_true(item: YamlField, key: str) -> bool:
    found = item.node.get(key)
    return found is not None and found.text == "true"


def _lists(item: YamlField, key: str) -> tuple[tuple[str, ...], ...]:
    found = item.node.get(key)
    lists = tuple(_names(each) for each in found.elements or ()) if found is not None else ()
    if not lists or not all(lists):
        raise BadInput(f"{item.key} needs lists of fields under {key}", item.place)
    return lists


def _names(node: Node | None) -> tuple[str, ...]:
    return tuple(element.text or "" for element in node.elements or ()) if node is not None else ()
