"""Two configurations compared by what they mean, whatever their dialects, units and spellings.

Readings of the same quantity and holder are compared in its unit. Where the two say one physical thing in different
quantities (steps per mm here, a feed per turn there), the relations of `quantities.yaml` work out what
both come to, and that is compared; the quantities that only carried it are not counted as missing. Values
that were converted or worked out are the same when they agree to half a unit of the last digit written;
values written in the same form must agree to one part in a million.

Nothing is worked out that does not follow exactly, and a quantity that is in doubt has no reading: the
doubts of both sides are part of the comparison.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Any

from msgspec import Struct, field

from cfgmigrate.dialects.decimal_commas import number_in_points
from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import MACHINE, Holder, Machine, Quantity, Reading, feeder
from cfgmigrate.machine.precedence import SAME_READING
from cfgmigrate.machine.quantities import Relation, label_of, quantity, relations
from cfgmigrate.machine.relations import outcome_of, spread_of

_SCRIPT = pattern(r"(script\.[a-z]+)\d*")
_REMARK = pattern(r";.*|\([^)]*\)")


class ComparedReading(Struct, frozen=True):
    """What one configuration says: `value` in the quantity's unit, None for texts. `origin` says how it was
    worked out, or where it stands; `spread` is the relative half unit of its last decimal. `place` is where
    it stands, None where it was worked out from what stands at `sources`."""

    value: float | None
    text: str
    origin: str
    spread: float = 0.0
    place: Place | None = None
    sources: tuple[Place, ...] = ()

    def sources_json(self) -> list[dict[str, Any]]:
        """Where the values stand that it was worked out from; [] where it stands itself."""
        return [{"file": place.file, "line": place.line} for place in self.sources]

    def place_json(self) -> dict[str, Any] | None:
        """Where it stands; None where it was worked out from several places."""
        return {"file": self.place.file, "line": self.place.line} if self.place else None

    def shown(self) -> float | str:
        return self.text if self.value is None else self.value


class Difference(Struct, frozen=True):
    """One quantity that the two configurations have differently. `label` is what the old one calls it, where that is no
    label of the quantity's own."""

    quantity: Quantity
    old: ComparedReading
    new: ComparedReading
    holder: Holder = MACHINE
    label: str = ""

    def to_json(self) -> dict[str, Any]:
        return {
            "quantity": self.quantity.id,
            "holder": str(self.holder),
            "label": self.label or self.quantity.label,
            "unit": self.quantity.unit,
            "old": self.old.shown(),
            "new": self.new.shown(),
            "protected": self.quantity.protected,
            "old_origin": self.old.origin,
            "new_origin": self.new.origin,
            "old_place": self.old.place_json(),
            "new_place": self.new.place_json(),
            "old_from": self.old.sources_json(),
            "new_from": self.new.sources_json(),
        }


class Comparison(Struct, frozen=True):
    """The answer. `differences` stand with the protected ones first; `beyond` counts the settings of the old and of the
    new side that nobody understands and that the other side has not."""

    differences: tuple[Difference, ...]
    only_old: tuple[Reading, ...]
    only_new: tuple[Reading, ...]
    same: int
    old_doubts: tuple[Doubt, ...] = ()
    new_doubts: tuple[Doubt, ...] = ()
    beyond: tuple[int, int] = (0, 0)
    #: files of the same path on both sides that are not read as the machine's, and are not the same
    files_apart: tuple[str, ...] = ()

    @property
    def differ(self) -> bool:
        return bool(self.differences or self.only_old or self.only_new)

    def to_json(self) -> dict[str, Any]:
        """The document that `compare --json` prints."""
        return {
            "differences": [difference.to_json() for difference in self.differences],
            "only_old": [_reading_json(reading) for reading in self.only_old],
            "only_new": [_reading_json(reading) for reading in self.only_new],
            "same": self.same,
            "beyond": {"old": self.beyond[0], "new": self.beyond[1]},
            "files_apart": list(self.files_apart),
            "doubts": [
                {"side": side, **doubt.to_json()}
                for side, doubts in (("old", self.old_doubts), ("new", self.new_doubts))
                for doubt in doubts
            ],
        }


def _reading_json(reading: Reading) -> dict[str, Any]:
    found = quantity(reading.quantity)
    return {
        "quantity": reading.quantity,
        "holder": str(reading.holder),
        "label": label_of(reading),
        "unit": found.unit,
        "value": reading.value,
        "text": reading.text,
        "file": reading.place.file,
        "line": reading.place.line,
        "protected": found.protected,
    }


class _HolderComparison(Struct):
    """What of one holder is still to be compared, and what was found. `behind_old` and `behind_new` are what the
    machine says where the holder says nothing."""

    holder: Holder
    old: dict[str, Reading]
    new: dict[str, Reading]
    behind_old: Mapping[str, Reading] = field(default_factory=dict)
    behind_new: Mapping[str, Reading] = field(default_factory=dict)
    differences: list[Difference] = field(default_factory=list)
    same: int = 0

    def drop(self, name: str) -> None:
        self.old.pop(name, None)
        self.new.pop(name, None)


def compare(old: Machine, new: Machine) -> Comparison:
    """How two configurations differ by meaning."""
    held_old, held_new = _by_holder(old, new), _by_holder(new, old)
    parts = [
        _compared(holder, held_old, held_new) for holder in sorted({*held_old, *held_new}, key=_machine_first)
    ]
    differences = (difference for part in parts for difference in part.differences)
    return Comparison(
        tuple(sorted(differences, key=lambda found: (not found.quantity.protected, found.quantity.id))),
        _protected_first(reading for part in parts for reading in part.old.values()),
        _protected_first(reading for part in parts for reading in part.new.values()),
        sum(part.same for part in parts),
        old.doubts,
        new.doubts,
        _beyond(old, new),
    )


def _beyond(old: Machine, new: Machine) -> tuple[int, int]:
    """How many settings that are not understood each side has and the other has not, by name and value."""
    first, second = (
        Counter((each.setting.name.casefold(), " ".join(each.setting.value.split())) for each in side.unread)
        for side in (old, new)
    )
    return (first - second).total(), (second - first).total()


Held = dict[Holder, dict[str, Reading]]


def _by_holder(machine: Machine, other: Machine) -> Held:
    """The readings of each holder. What a machine with one feeder says of it is the first feeder's, where the other
    machine has several and says it of the first. A profile that has no alternative counts as the machine's own,
    where the other machine has no profile of that name and none to choose from."""
    found: Held = {}
    only = machine.only_profile
    as_own = only is not None and only not in other.profiles and len(other.profiles) < 2
    for reading in (
        sorted(machine.readings, key=lambda each: each.holder == only) if as_own else machine.readings
    ):
        holder = MACHINE if as_own and reading.holder == only else reading.holder
        if holder == MACHINE and len(machine.feeders) == 1 < len(other.feeders):
            first = other.reading(reading.quantity, feeder(1))
            holder = feeder(1) if first is not None else holder
        found.setdefault(holder, {})[reading.quantity] = reading
    return found


def _machine_first(holder: Holder) -> tuple[bool, Holder]:
    return holder != MACHINE, holder


def _compared(holder: Holder, old: Held, new: Held) -> _HolderComparison:
    """How one holder's values differ."""
    work = _HolderComparison(holder, dict(old.get(holder, {})), dict(new.get(holder, {})))
    if holder != MACHINE:
        work.behind_old, work.behind_new = old.get(MACHINE, {}), new.get(MACHINE, {})
    _compare_scripts(work)
    compared: set[str] = set()
    for relation in relations():
        if not compared & set(relation.carriers) and _compare_outcome(work, relation):
            compared.update(relation.carriers)
    for name in [name for name in work.old if name in work.new]:
        _compare_direct(work, name)
    return work


def _protected_first(left: Iterable[Reading]) -> tuple[Reading, ...]:
    return tuple(sorted(left, key=lambda reading: not quantity(reading.quantity).protected))


def _compare_direct(work: _HolderComparison, name: str) -> None:
    old, new = work.old.pop(name), work.new.pop(name)
    if _same_reading(old, new):
        work.same += 1
    else:
        work.differences.append(
            Difference(quantity(name), _side(old), _side(new), work.holder, label_of(old))
        )


def _same_reading(old: Reading, new: Reading) -> bool:
    if old.value is not None and new.value is not None:
        tolerance = SAME_READING
        if (old.form.factor, old.form.reciprocal) != (new.form.factor, new.form.reciprocal):
            tolerance += spread_of(old) + spread_of(new)
        return _close(old.value, new.value, tolerance)
    return _plain_text(old.text) == _plain_text(new.text)


def _plain_text(text: str) -> tuple[object, ...]:
    """A text as far as its meaning goes: a number as such, words in any case and spacing."""
    value = read_value(number_in_points(text))
    if isinstance(value, Number):
        return value.value, value.unit.casefold()
    return tuple(text.casefold().split())


def _close(one: float, other: float, tolerance: float) -> bool:
    return math.isclose(one, other, rel_tol=tolerance, abs_tol=1e-12)


def _side(reading: Reading) -> ComparedReading:
    place = reading.place
    return ComparedReading(
        reading.value, reading.text, f"{place.file}:{place.line}", spread_of(reading), place
    )


def _compare_outcome(work: _HolderComparison, relation: Relation) -> bool:
    """Compares what both sides come to, where at least one has to be worked out; True where it could be."""
    name = relation.outcome.id
    direct = name in work.old, name in work.new
    members = [member for member in relation.powers if (member in work.old) != (member in work.new)]
    unequal = [
        member
        for member in relation.carriers
        if member in work.old and member in work.new and not _same_reading(work.old[member], work.new[member])
    ]
    if all(direct) or not (any(direct) or members or unequal):
        return False
    old = _outcome(relation, {**work.behind_old, **work.old})
    new = _outcome(relation, {**work.behind_new, **work.new})
    if old is None or new is None or old.value is None or new.value is None:
        return False
    equal = _close(old.value, new.value, SAME_READING + old.spread + new.spread)
    if equal:
        work.same += 1
    elif any(direct):
        work.differences.append(Difference(relation.outcome, old, new, work.holder))
    else:
        return False
    used = members if any(direct) else [member for member in members if member in relation.carriers]
    for absorbed in (name, *used, *(unequal if equal else ())):
        work.drop(absorbed)
    return True


def _outcome(relation: Relation, readings: Mapping[str, Reading]) -> ComparedReading | None:
    """The outcome as one side has it, or as it follows exactly; None where neither is so."""
    found = outcome_of(relation, readings)
    if found is None:
        return None
    places = tuple(reading.place for reading in found.inputs)
    standing, sources = (None, places) if found.formula else (places[0], ())
    return ComparedReading(found.value, f"{found.value:.6g}", found.origin, found.spread, standing, sources)


def _compare_scripts(work: _HolderComparison) -> None:
    """Scripts of one occasion: those with the same lines are the same, whatever order they stand in."""
    occasions: dict[str, None] = {}
    for name in (*work.old, *work.new):
        found = _SCRIPT.fullmatch(name)
        if found:
            occasions[found[1]] = None
    for occasion in occasions:
        old, new = _scripts(work.old, occasion), _scripts(work.new, occasion)
        for one in list(old):
            twin = next((other for other in new if _moves(new[other].text) == _moves(old[one].text)), None)
            if twin is not None:
                work.same += 1
                del work.old[one], work.new[twin], old[one], new[twin]
        for one, other in zip(list(old), list(new), strict=False):
            work.differences.append(
                Difference(quantity(one), _side(old[one]), _side(new[other]), work.holder)
            )
            del work.old[one], work.new[other]


def _scripts(readings: Mapping[str, Reading], occasion: str) -> dict[str, Reading]:
    found = {}
    for name, reading in readings.items():
        match = _SCRIPT.fullmatch(name)
        if match and match[1] == occasion:
            found[name] = reading
    return found


def _moves(text: str) -> tuple[str, ...]:
    """The lines of a script without remarks, blanks and empty lines."""
    lines = text.replace("\\n", "\n").splitlines()
    plain = ("".join(_REMARK.sub("", line).split()).upper() for line in lines)
    return tuple(line for line in plain if line)
