"""The list of quantities: what the neutral model knows, from `quantities.yaml`, checked when it is loaded.

`quantity` also knows the further scripts of one occasion (`script.end2`) and the protected settings that are known
by their words alone (`protected.…`): none of these is listed. A further feeder's quantity has the same id, for its
reading's holder says whose it is; `numbered` spells both in one word (`feeder2.steps_per_mm`) where a names
file, the survey's `quantities` or a packet of format 1 does.

This module deliberately knows no words: what a file calls a quantity is in `words.yaml`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.ground.compiled import compiled
from cfgmigrate.ground.data_file import check_fields, expand, load
from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import file_units, units
from cfgmigrate.machine.model import Quantity, Reading, more_than_written

_FILE = "quantities.yaml"
_TOP: dict[str, type] = {"quantities": dict, "relations": list}
_FIELDS = frozenset(
    [
        "each",
        "label",
        "unit",
        "of",
        "meaning",
        "kind",
        "plausible",
        "protected",
        "twos",
        "wired",
        "other",
        "qualifiers",
        "unsaid",
        "formerly",
    ]
)
_OTHER = frozenset({"unit", "factor", "reciprocal", "written", "note"})
_RELATION = frozenset(["outcome", "each", "label", "unit", "formula", "powers", "taken_as", "carriers"])
_OF = frozenset({"machine", "feeder"})
_KINDS = frozenset({"number", "ratio", "truth", "text", "script"})
#: a machine has at most so many feeders (two digits in `_NUMBERED`), whether counted from 0 or from 1
MOST_FEEDERS = 99
_NUMBERED = pattern(r"([a-z_]+?)([2-9]|[1-9][0-9])\.(.+)")
_FURTHER_SCRIPT = pattern(r"(script\.[a-z]+?)([2-9]|[1-9][0-9]+)")
PROTECTED = "protected."
#: a unit that is a part of another, as a person says it: `% of 2 A`, `1.9/31 A`, `1/31 of 1.9 A`
_PARTS = pattern(
    r"(?:(?P<percent>%)|(?P<up>\d{1,6}(?:\.\d{1,6})?)(?:[ ]?/[ ]?(?P<down>\d{1,6}(?:\.\d{1,6})?))?)[ ]"
    r"(?P<of>of[ ](?P<whole>\d{1,6}(?:\.\d{1,6})?)[ ])?(?P<unit>[^\s\d].*)"
)
#: the same of a driver's register, which gives one part more than its number: `(step+1)/32 of 1.25 A`
_STEPS_OF = pattern(
    r"\(step[ ]?\+[ ]?1\)[ ]?/[ ]?(?P<down>[1-9]\d{0,4})[ ]of[ ](?P<whole>\d{1,6}(?:\.\d{1,6})?)[ ](?P<unit>[^\s\d].*)"
)


def steps_of(unit: str) -> int:
    """How many steps such a unit has; 0 for any other."""
    found = _STEPS_OF.match(unit) if more_than_written(unit) else None
    return int(found["down"]) if found else 0


class WrittenUnit(Struct, frozen=True):
    """A unit that a file may have a quantity in: value = factor · written, or factor / written.

    `low` and `high` bound the numbers for which it is thought of where the file states no unit; `low` is
    None where it never is. The canonical unit has factor 1.
    """

    unit: str
    factor: float = 1.0
    reciprocal: bool = False
    low: float | None = None
    high: float | None = None
    note: str = ""

    def to_value(self, written: float) -> float:
        return (
            self.factor / written
            if self.reciprocal
            else self.factor * (written + more_than_written(self.unit))
        )

    def thought_of(self, written: float) -> bool:
        return self.low is not None and self.high is not None and self.low <= written <= self.high


class Facts(Struct, frozen=True):
    """All that the list says of one quantity. `units` are those a file may have it in, the canonical one
    first. `qualifiers` are words that change the number: factor and note of each; `unsaid` is the one that is
    taken where the file says none ("" where nothing needs to be said). What is `wired` is a matter of the board."""

    quantity: Quantity
    units: tuple[WrittenUnit, ...]
    qualifiers: Mapping[str, tuple[float, str]]
    twos: bool = False
    unsaid: str = ""
    wired: bool = False

    @property
    def measures(self) -> frozenset[str]:
        """What the units measure in which a file may have it."""
        return frozenset(units()[each.unit].of for each in self.units if each.unit in units())

    def unit(self, name: str) -> WrittenUnit | None:
        """The unit of that name; or a part of one, as a person says it: `% of 2 A`, `1.9/31 A`."""
        return next((unit for unit in self.units if unit.unit == name), None) or _part_of(self.units, name)


def in_parts(unit: str) -> bool:
    """Whether a unit is said as a part of another one: what counts in such parts is a whole number where it was one."""
    return _PARTS.fullmatch(unit) is not None or steps_of(unit) > 0


def _part_of(every: Iterable[WrittenUnit], name: str) -> WrittenUnit | None:
    if (steps := _STEPS_OF.fullmatch(name)) is not None:
        whole = next((unit for unit in every if unit.unit == steps["unit"] and not unit.reciprocal), None)
        factor = float(steps["whole"]) / float(steps["down"]) * whole.factor if whole else 0.0
        return WrittenUnit(name, factor, note=f"in {name}") if factor > 0 else None
    found = _PARTS.fullmatch(name)
    whole = next((unit for unit in every if found and unit.unit == found["unit"]), None)
    if found is None or whole is None or whole.reciprocal or (found["percent"] and not found["of"]):
        return None
    if (down := float(found["down"] or 1)) == 0:
        return None
    part = 0.01 if found["percent"] else float(found["up"]) / down
    factor = part * float(found["whole"] or 1) * whole.factor
    return WrittenUnit(name, factor, note=f"in {name}") if factor > 0 else None


class Relation(Struct, frozen=True):
    """outcome = product of quantity ** power. `taken_as` says what a quantity is where nothing says it;
    `carriers` mean nothing apart from the outcome."""

    outcome: Quantity
    formula: str
    powers: Mapping[str, int]
    taken_as: Mapping[str, float]
    carriers: tuple[str, ...]


class _List(Struct, frozen=True):
    facts: Mapping[str, Facts]
    relations: tuple[Relation, ...]
    formerly: Mapping[str, str]


@compiled
def _listed() -> _List:
    data = load(Path(__file__).with_name(_FILE), _TOP)
    facts: dict[str, Facts] = {}
    formerly: dict[str, str] = {}
    for entry, raw in data["quantities"].items():
        fields = check_fields(_FILE, entry, raw, _FIELDS)
        if ("@" in entry) != ("each" in fields):
            raise BadInput(f"`{entry}`: `@` and `each` go together", Place(_FILE))
        for name, letter in expand(entry, fields.get("each")):
            if name in facts:
                raise BadInput(f"`{name}` is listed twice", Place(_FILE))
            facts[name] = _facts(name, letter, fields)
            if "formerly" in fields:
                formerly[fields["formerly"].replace("@", letter)] = name
    relations = tuple(relation for raw in data["relations"] for relation in _relations(raw, facts))
    for before, name in formerly.items():
        if before in facts or list(formerly.values()).count(name) > 1:
            raise BadInput(f"`{name}`: `{before}` is the id of another quantity", Place(_FILE))
    return _List(facts, relations, formerly)


def _facts(name: str, letter: str, fields: dict[str, Any]) -> Facts:
    for needed in ("label", "meaning", "unit", "of"):
        if needed not in fields:
            raise BadInput(f"`{name}` has no {needed}", Place(_FILE))
    of = fields["of"]
    if of not in _OF:
        raise BadInput(f"`{name}` is of a machine or of a feeder, not of `{of}`", Place(_FILE))
    kind = fields.get("kind", "number")
    if kind not in _KINDS:
        raise BadInput(f"`{name}`: there is no kind `{kind}`", Place(_FILE))
    low, high = fields.get("plausible", (None, None))
    if low is not None and high is not None and low >= high:
        raise BadInput(f"`{name}`: nothing is plausible between {low} and {high}", Place(_FILE))
    shown = letter.upper() if len(letter) == 1 else letter
    quantity = Quantity(
        name,
        fields["label"].replace("@", shown),
        fields["unit"],
        fields["meaning"].replace("@", shown),
        kind,
        low,
        high,
        bool(fields.get("protected")),
        of,
    )
    qualifiers = {
        word: (float(factor), note) for word, (factor, note) in fields.get("qualifiers", {}).items()
    }
    unsaid = fields.get("unsaid", "")
    if unsaid and unsaid not in qualifiers:
        raise BadInput(f"`{name}`: `{unsaid}` is not among its qualifiers", Place(_FILE))
    units = _units(quantity, fields.get("other", []))
    return Facts(quantity, units, qualifiers, bool(fields.get("twos")), unsaid, bool(fields.get("wired")))


def _units(quantity: Quantity, others: list[object]) -> tuple[WrittenUnit, ...]:
    """The canonical unit, then those the list names, then those that convert into it."""
    found = {quantity.unit: WrittenUnit(quantity.unit)}
    for raw in others:
        data = check_fields(_FILE, quantity.id, raw, _OTHER)
        low, high = data.get("written", (None, None))
        found[data["unit"]] = WrittenUnit(
            data["unit"], float(data["factor"]), bool(data.get("reciprocal")), low, high, data.get("note", "")
        )
    for unit in file_units(quantity.unit):
        factor = float(unit.size / units()[quantity.unit].size)
        note = "" if factor == 1 else f"{unit.name} → {quantity.unit}"
        found.setdefault(unit.name, WrittenUnit(unit.name, factor, note=note))
    return tuple(found.values())


def _relations(raw: object, facts: Mapping[str, Facts]) -> list[Relation]:
    data = check_fields(_FILE, "relations", raw, _RELATION)
    found = []
    for outcome, letter in expand(data["outcome"], data.get("each")):
        powers = {name.replace("@", letter): int(power) for name, power in data["powers"].items()}
        unknown = sorted(set(powers) - set(facts))
        if unknown:
            raise BadInput(
                f"the relation for `{outcome}` names `{unknown[0]}`, which is not listed", Place(_FILE)
            )
        known = facts.get(outcome)
        label = data.get("label", "").replace("@", letter.upper())
        found.append(
            Relation(
                known.quantity if known else Quantity(outcome, label, data["unit"], data["formula"]),
                data["formula"],
                powers,
                {name.replace("@", letter): float(value) for name, value in data.get("taken_as", {}).items()},
                tuple(name.replace("@", letter) for name in data["carriers"]),
            )
        )
    return found


def all_quantities() -> tuple[Quantity, ...]:
    """Every listed quantity, in the order of the list."""
    return tuple(found.quantity for found in _listed().facts.values())


def present_id(name: str) -> str:
    """The id that a quantity has now; the name itself where no quantity was ever called so."""
    formerly, found = _listed().formerly, _NUMBERED.fullmatch(name)
    if found and (now := formerly.get(f"{found[1]}.{found[3]}")):
        return numbered(now, int(found[2]))
    return formerly.get(name, name)


def first_id(name: str) -> str:
    """The id that a quantity had first, the other way round: JSON for scripts keeps to it."""
    found = _NUMBERED.fullmatch(name)
    if found and (first := _first_ids().get(f"{found[1]}.{found[3]}")):
        return numbered(first, int(found[2]))
    return _first_ids().get(name, name)


@cache
def _first_ids() -> dict[str, str]:
    return {now: before for before, now in _listed().formerly.items()}


def of_feeder(name: str) -> bool:
    """Whether each feeder of a machine has a quantity of its own."""
    return quantity(name).of == "feeder"


def relations() -> tuple[Relation, ...]:
    """The relations as listed."""
    return _listed().relations


def known(name: str) -> bool:
    """Whether there is a quantity of this id."""
    try:
        facts(name)
    except KeyError:
        return False
    return True


def quantity(name: str) -> Quantity:
    """The quantity of an id. Raises KeyError where there is none."""
    return facts(name).quantity


@lru_cache(maxsize=1024)
def facts(name: str) -> Facts:
    """All that is known of the quantity of an id. Raises KeyError where there is none."""
    listed = _listed()
    if name in listed.facts:
        return listed.facts[name]
    base, number = counted(name)
    if number > 1:
        group = base.partition(".")[0]
        return _renamed(listed.facts[base], name, f"{{}} ({group} {number})")
    script = _FURTHER_SCRIPT.fullmatch(name)
    if script:
        return _renamed(listed.facts[script[1]], name, f"{{}} {script[2]}")
    if name.startswith(PROTECTED) and len(name) > len(PROTECTED):
        words = name.removeprefix(PROTECTED).replace("_", " ")
        shown = Quantity(
            name, words, "", f"a protected setting, known by its words: {words}", "text", protected=True
        )
        return Facts(shown, (WrittenUnit(""),), {})
    raise KeyError(name)


def label_of(reading: Reading) -> str:
    """What people call a reading. A protected setting that is known by its words alone goes by those of its file: what its id
    is made of are the words that it is a spelling of, in no order."""
    if reading.quantity.startswith(PROTECTED):
        return reading.setting.name
    return quantity(reading.quantity).label


def _renamed(found: Facts, name: str, label: str) -> Facts:
    return replace(found, quantity=replace(found.quantity, id=name, label=label.format(found.quantity.label)))


def numbered(name: str, number: int) -> str:
    """A quantity and the feeder whose it is, in one word: `feeder2.steps_per_mm`; the id itself for the first."""
    group, _, rest = name.partition(".")
    return name if number == 1 else f"{group}{number}.{rest}"


def counted(name: str) -> tuple[str, int]:
    """The quantity and the feeder that `numbered` put into one word."""
    found = _NUMBERED.fullmatch(name)
    base = f"{found[1]}.{found[3]}" if found else ""
    known_base = _listed().facts.get(base)
    if found is None or known_base is None or known_base.quantity.of != "feeder":
        return name, 1
    return base, int(found[2])
