"""Lines of the files that may answer a question of the sheet, shown beside it: a person only has to look and say it.

What the files say for sure is never asked. These lines only note something by their names, or say it in words, so nobody
takes their word for it but the person who is asked.

Nothing is worked out from them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from cfgmigrate.dialects.document import State, readable
from cfgmigrate.machine.behind_sensor import LEFT_BEHIND
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.words import split
from cfgmigrate.plan.notes_of_the_old import weighs_carriage
from cfgmigrate.plan.step_rates import FIELD, step_rates

#: so many lines are shown, and so much of each
MOST_NOTED, LONGEST_NOTE = 2, 90
_OF_Z = frozenset(("z", "up", "height", "lift"))
_HOMES = frozenset(("home", "homes", "homing", "zero", "zeroed", "zeroing"))
_STOPPED_BY = frozenset(
    ("probe", "pin", "switch", "feeler", "touch", "sensor", "bottom", "top", "below", "above")
)


def noted_in_files(machine: Machine, field: str) -> tuple[str, ...]:
    """The lines that may answer the question for this field of the sheet, each with its place."""
    by = _NOTED.get(field)
    if by is None:
        return ()
    return tuple(
        " ".join(each.split())[:LONGEST_NOTE] for each, _ in zip(by(machine), range(MOST_NOTED), strict=False)
    )


def _step_rates(machine: Machine) -> Iterator[str]:
    for each, _ in step_rates(machine):
        yield f"{each.place.file}:{each.place.line}: {each.text}"


def _masses(machine: Machine) -> Iterator[str]:
    for each in machine.unread:
        if each.setting.state is not State.INACTIVE and weighs_carriage(each):
            yield f"{each.place.file}:{each.place.line}: {each.text}"


def _stops_of_z(machine: Machine) -> Iterator[str]:
    for document in machine.documents:
        for each in document.settings:
            if each.state is State.INACTIVE or _OF_Z.isdisjoint(split(each.name)):
                continue
            if not _HOMES.isdisjoint(split(each.key)) and not _STOPPED_BY.isdisjoint(
                split(each.value[:LONGEST_NOTE])
            ):
                yield f"{document.path}:{each.line}: {each.name} = {each.value}"


def _left_behind(machine: Machine) -> Iterator[str]:
    """The line as it stands, with its remark: that may say how far the files count. One that only may be it is shown too."""
    places = [each.place for each in machine.every_reading if each.quantity == LEFT_BEHIND]
    for place in (*places, *(each.place for each in machine.doubts if each.about == LEFT_BEHIND)):
        line = machine.document(place.file).data.splitlines()[place.line - 1]
        yield f"{place.file}:{place.line}: {readable(line[:LONGEST_NOTE])}"


_NOTED: dict[str, Callable[[Machine], Iterator[str]]] = {
    FIELD: _step_rates,
    "carriage.old_mass": _masses,
    "carriage.z_stop": _stops_of_z,
    "new.filament_behind_sensor": _left_behind,
}
