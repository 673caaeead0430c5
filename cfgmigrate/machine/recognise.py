"""A configuration as a `Machine`: what all its settings say together.

Each setting is first looked at by itself (`collect.py`). Then what only the whole configuration can tell is
settled: a motor current whose motor nobody names is the feeder's where it is the only one; feeders are
counted by the numbers behind their names; scripts of one occasion are told apart; and of several readings
of one quantity the one in force is found (`standing.py`).

Nothing is guessed in silence: what can't be settled is a doubt that says where it stands and which line of a
names file would settle it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Protocol

from cfgmigrate.dialects.document import Document
from cfgmigrate.findings import Doubt, Place
from cfgmigrate.machine.collect import Collected, collect
from cfgmigrate.machine.model import Machine, Reading
from cfgmigrate.machine.names import Names
from cfgmigrate.machine.quantities import group_member, numbered_groups, quantity
from cfgmigrate.machine.standing import settle
from cfgmigrate.machine.values import name_line


class HasDocuments(Protocol):
    """A configuration, as far as it matters here."""

    @property
    def documents(self) -> tuple[Document, ...]: ...


def recognise(source: HasDocuments | Sequence[Document], names: Names | None = None) -> Machine:
    """All that a configuration says. `names` settles what words alone don't.

    The machine's doubts hold those of its documents too, in the order of files and lines. Never raises for
    what stands in a file.
    """
    documents = tuple(source) if isinstance(source, Sequence) else source.documents
    found = collect(documents, names)
    doubts = [doubt for document in documents for doubt in document.doubts]
    doubts.extend(found.doubts)
    kept, undecided = _with_owner(found.readings)
    doubts.extend(undecided)
    readings = _scripts_told_apart(_feeders_counted(kept))
    standing = settle(readings, documents)
    doubts.extend(standing.doubts)
    if names:
        known = [setting.name for document in documents for setting in document.settings]
        doubts.extend(names.unused(found.names_used, known))
    order = {document.path: at for at, document in enumerate(documents)}

    def position(place: Place) -> tuple[int, int, int]:
        return order.get(place.file, len(order)), place.line, place.column

    return Machine(
        documents,
        tuple(sorted(standing.in_force, key=lambda reading: position(reading.place))),
        tuple(sorted(dict.fromkeys(doubts), key=lambda doubt: position(doubt.place))),
        tuple(found.unread),
        tuple(sorted(standing.shadowed, key=lambda reading: position(reading.place))),
        standing.twins,
    )


def _with_owner(readings: list[Collected]) -> tuple[list[Collected], list[Doubt]]:
    """Leaves out readings of which nothing says whose they are, unless each is the only one of its measure."""
    settings = Counter(
        measure
        for measure, _ in {(each.measure, _identity(each.reading)) for each in readings if each.measure}
    )
    kept, doubts = [], []
    for each in readings:
        if not each.alone or (settings[each.measure] == 1 and not each.strange):
            kept.append(each)
        else:
            doubts.append(_ownerless(each.reading))
    return kept, doubts


def _identity(reading: Reading) -> tuple[str, str, str]:
    return reading.place.file, reading.setting.section.casefold(), reading.setting.key.casefold()


def _ownerless(reading: Reading) -> Doubt:
    label = quantity(reading.quantity).label
    line = name_line(reading.setting, reading.quantity)
    return Doubt(
        reading.place,
        f"{reading.setting.key} = {reading.setting.value}",
        f"this may be {label}, but nothing says what it belongs to",
        f"say so in a names file: {line}",
    )


def _feeders_counted(readings: list[Collected]) -> list[Reading]:
    """Readings with the feeder each belongs to, counted from the lowest number that the files use.

    The lowest is 0 where there is a 0. Else it is 1, unless a setting without a number says the same as one
    with a 1 (`extruder`, `extruder1`): then the one without a number is the first feeder.
    """
    numbers = {each.number for each in readings if each.number is not None and not each.settled}
    bare = {each.reading.quantity for each in readings if each.number is None and not each.settled}
    ones = {each.reading.quantity for each in readings if each.number == 1 and not each.settled}
    first = 0 if 0 in numbers or (2 not in numbers and bare & ones) else 1
    return [_counted(each, first) for each in readings]


def _counted(each: Collected, first: int) -> Reading:
    reading = each.reading
    if each.settled or each.number is None or reading.quantity.partition(".")[0] not in numbered_groups():
        return reading
    return replace(reading, quantity=group_member(reading.quantity, max(each.number - first, 0) + 1))


def _scripts_told_apart(readings: Iterable[Reading]) -> list[Reading]:
    """Scripts of the same occasion in different settings are different scripts: the second is `script.end2`."""
    told: list[Reading] = []
    seen: dict[str, list[tuple[str, str, str]]] = {}
    for reading in readings:
        if quantity(reading.quantity).kind == "script":
            settings = seen.setdefault(reading.quantity, [])
            if _identity(reading) not in settings:
                settings.append(_identity(reading))
            number = settings.index(_identity(reading)) + 1
            told.append(replace(reading, quantity=f"{reading.quantity}{number}") if number > 1 else reading)
        else:
            told.append(reading)
    return told
