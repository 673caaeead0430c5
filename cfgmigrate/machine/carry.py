"""Carrying over: what the settings of a new configuration must be to mean what an old one says.

For every setting of the new configuration that may be written, the old machine's value: as it stands there,
or as it follows exactly where the two say one thing in different quantities (the old has steps per mm, the
new a rotation distance). What both say of a motor turn (rotation distance, gear ratio) is carried
directly only where both have the same of these; else the old outcome is solved for what the new one has.

Nothing is carried that is protected: what differs there is listed, to be set by hand. What the new
configuration has no place for is listed too.

This module deliberately makes no edits: `changes/` writes the values in the new files' own form.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from cfgmigrate.machine.model import Machine, Reading
from cfgmigrate.machine.quantities import Relation, quantity
from cfgmigrate.machine.relating import Worked, outcome_of, relations_for, solved_for, spread_of


@dataclass(frozen=True, slots=True)
class Transfer:
    """One setting of the new configuration (`into`) and what it must be (`worked`, in the quantity's unit).

    It holds where `assumed`, which the new configuration says and the old one does not (its microsteps, for
    one), is true of the old machine too.
    """

    into: Reading
    worked: Worked
    assumed: tuple[Reading, ...] = ()

    @property
    def quantity(self) -> str:
        return self.into.quantity


@dataclass(frozen=True, slots=True)
class Carried:
    """The answer. `no_place` are old readings that the new configuration has nothing for; `protected` are old
    ones that must be looked after by hand; `unsaid` are settings of the new one of which the old says nothing."""

    transfers: tuple[Transfer, ...]
    no_place: tuple[Reading, ...]
    protected: tuple[Reading, ...]
    unsaid: tuple[Reading, ...]


_KINDS = frozenset({"number", "ratio", "truth"})


def carry(old: Machine, new: Machine) -> Carried:
    """What of the old machine goes into the new configuration, and what does not."""
    transfers = {transfer.quantity: transfer for transfer in _by_relations(old, new)}
    related = _related(old, new)
    for reading in new.readings:
        source = old.get(reading.quantity)
        if source is None or reading.quantity in related or not _writable(reading) or source.value is None:
            continue
        transfers[reading.quantity] = Transfer(
            reading, Worked(source.value, "", (source,), spread_of(source))
        )
    used = {each.quantity for transfer in transfers.values() for each in transfer.worked.inputs}
    rest = [reading for reading in old.readings if reading.quantity not in used]
    return Carried(
        tuple(transfers[reading.quantity] for reading in new.readings if reading.quantity in transfers),
        tuple(reading for reading in rest if not quantity(reading.quantity).protected),
        tuple(reading for reading in rest if quantity(reading.quantity).protected),
        tuple(r for r in new.readings if _writable(r) and r.quantity not in transfers),
    )


def _writable(reading: Reading) -> bool:
    found = quantity(reading.quantity)
    return not found.protected and found.kind in _KINDS


def _unlike(relation: Relation, old: Machine, new: Machine) -> bool:
    """Whether the two configurations say the outcome in different quantities."""
    names = (relation.outcome.id, *relation.carriers)
    return any((old.get(name) is None) != (new.get(name) is None) for name in names)


def _related(old: Machine, new: Machine) -> frozenset[str]:
    """Quantities of the new configuration that must not simply be copied."""
    found: set[str] = set()
    for relation in relations_for((*old.by_quantity, *new.by_quantity)):
        if _unlike(relation, old, new):
            found.update((relation.outcome.id, *relation.carriers))
    return frozenset(found)


def _by_relations(old: Machine, new: Machine) -> Iterator[Transfer]:
    """Settings that say one thing in another quantity than the old machine does."""
    done: set[str] = set()
    for relation in relations_for((*old.by_quantity, *new.by_quantity)):
        if not done & set(relation.carriers) and _unlike(relation, old, new):
            transfer = _by_relation(relation, old, new)
            if transfer is not None:
                done.update(relation.carriers)
                yield transfer


def _by_relation(relation: Relation, old: Machine, new: Machine) -> Transfer | None:
    """The first of outcome and carriers that the new configuration has, so that the outcome is the old one.

    Members that both say (microsteps) are carried by themselves, so they are taken as the old machine has
    them; carriers beside the one that is solved for stay as the new configuration has them.
    """
    outcome = outcome_of(relation, old.by_quantity)
    names = (relation.outcome.id, *relation.carriers)
    target = next((name for name in names if new.get(name) is not None), None)
    if outcome is None or target is None:
        return None
    beside: dict[str, Reading] = {}
    for name in relation.powers:
        own, others = new.get(name), old.get(name)
        if own is not None and name != target:
            beside[name] = others if others is not None and name not in relation.carriers else own
    assumed = tuple(
        reading for name, reading in beside.items() if name not in relation.carriers and old.get(name) is None
    )
    into = new.by_quantity[target]
    if target == relation.outcome.id:
        return Transfer(into, outcome, assumed)
    worked = solved_for(target, relation, outcome, beside)
    return None if worked is None else Transfer(into, worked, assumed)
