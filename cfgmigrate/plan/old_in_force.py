"""The lines that keep an old value of what can wreck a machine, whatever became of the value itself.

A value is written, stored at the console, or left to a question or a step. What a question names is the line in force; where
the board keeps `load fast = 640` and a header says `LOAD_FAST_LEN 640` as well, the header's line moves along with the other one,
and stays old with it. Whoever sets the first by hand has to set the second. The same holds where nothing can be worked out
yet: the current waits for another mount, and each line that has the old ampere waits with it.

So each reading of such a quantity, and of any whose new value is a question itself, is looked at by itself: whether it is written, or right as it stands, or as before by the
sheet. What is none of these is old. Those that the board keeps belong to what is stored at its console; the others are named
unless a question or a step names them already. Nothing is worked out here.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from cfgmigrate.dialects.document import State
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.knowledge.lights import Wanted, light_kinds
from cfgmigrate.machine.listings import is_listed
from cfgmigrate.machine.model import Machine, Reading
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.plan.at_console import ConsoleValue
from cfgmigrate.plan.encoding import write
from cfgmigrate.plan.items import means_the_same
from cfgmigrate.plan.lights import is_as_before
from cfgmigrate.plan.lines_beside import Beside
from cfgmigrate.plan.model import ByHand, Change
from cfgmigrate.plan.parts_of_a_load import other_part
from cfgmigrate.rules.lanes import Worked
from cfgmigrate.rules.passes import deciding
from cfgmigrate.rules.result import Result
from cfgmigrate.sheet.model import Entries

#: lengths that are as long as the way of the filament, and go with its light
_WAYS = frozenset(("feeder.load_length", "feeder.unload_length"))
#: the values of lights that are a drive's own; those of a height have a step that names each of their lines
_LIGHTS = ("feed", "current", "retraction")
_NO_LIGHT = Wanted("", (), ())
_KEPT_OLD = "{label}, which stays as it was for the old drive"
_OTHER_PART = "the other part of {name}, which stays as it was for the old drive"


def old_in_force(
    machine: Machine, worked: Worked, changes: Iterable[Change], stored: Iterable[ConsoleValue]
) -> tuple[Reading, ...]:
    """The readings of a swapped drive that keep an old value, those of saved lists too."""
    written = {(edit.file, edit.start) for change in changes for edit in change.edits}
    kept = {_listed_as(each.reading) for each in stored}
    wanted = {value.quantity: value for value in _values()}
    along = (each for reading in machine.readings for each in machine.followers(reading))
    old = [
        each
        for each in dict.fromkeys((*machine.readings, *along))
        if (each.quantity in wanted or _is_a_question(each, worked))
        and each.setting.state is State.ACTIVE
        and each.value
        and not quantity(each.quantity).protected
        and (each.place.file, each.start) not in written
        and not (is_listed(each) and _listed_as(each) in kept)
        and _is_old(each, worked, wanted.get(each.quantity, _NO_LIGHT))
    ]
    last = {_listed_as(each): each.place for each in sorted(old, key=lambda each: each.place)}
    return tuple(each for each in old if not is_listed(each) or last[_listed_as(each)] == each.place)


def _listed_as(reading: Reading) -> tuple[str, str, str]:
    """What a listing says twice is one value, as it says it last."""
    return reading.place.file, reading.quantity, str(reading.holder)


def named_nowhere(
    old: Sequence[Reading], machine: Machine, doubts: Sequence[Doubt], by_hand: Iterable[ByHand]
) -> Iterator[Beside]:
    """The lines of files that keep an old value, of which no question and no step tells; with the other part of a load."""
    if not old:
        return
    asked = {(doubt.place.file, doubt.place.line) for doubt in doubts}
    told = "\n".join(
        [
            *(f"{each.why}\n{each.remedy}" for each in doubts),
            *(step for item in by_hand for step in (*item.steps, item.why)),
        ]
    )
    for reading in old:
        if is_listed(reading):
            continue
        lines = [
            (
                reading.place.line,
                reading.setting.name,
                reading.text,
                _KEPT_OLD.format(label=quantity(reading.quantity).label),
            )
        ]
        if (part := other_part(machine, reading)) is not None:
            lines.append(
                (part.line, part.name, part.value.strip(), _OTHER_PART.format(name=reading.setting.name))
            )
        for line, name, text, why in lines:
            if (reading.place.file, line) not in asked and not _names(told, f"{reading.place.file}:{line}"):
                yield reading.place.file, line, f"{name} = {text}", why


def _names(told: str, at: str) -> bool:
    return re.search(rf"(?<![\w./-]){re.escape(at)}(?!\d)", told) is not None


def _values() -> Iterator[Wanted]:
    for kind in light_kinds().kinds:
        if kind.name in _LIGHTS:
            yield from kind.values
        if kind.name == "retraction":
            yield from (
                Wanted(name, (), kind.values[0].same, against=kind.values[0].against) for name in _WAYS
            )


def _is_a_question(reading: Reading, worked: Worked) -> bool:
    """Whether a value was worked out for it that is not written before something is settled."""
    found = (_result(worked, reading, number) for number in reading.serves if number in worked.swapped)
    return any(each is not None and each.unsettled for each in found)


def _is_old(reading: Reading, worked: Worked, value: Wanted) -> bool:
    """Whether a swapped feeder wants another value there than what stands, or none could be worked out for it though the
    sheet does not say that the old one stays."""
    return any(
        not is_as_before(value, _said(worked, reading, number))
        if (result := _result(worked, reading, number)) is None
        else not _is_right(reading, result)
        for number in reading.serves
        if number in worked.swapped
    )


def _result(worked: Worked, reading: Reading, number: int) -> Result | None:
    outcome = worked.lanes.get(deciding(reading, number))
    result = outcome.by_target.get(reading.quantity) if outcome is not None else None
    return result if result is not None and result.value is not None else None


def _said(worked: Worked, reading: Reading, number: int) -> Entries:
    lane = deciding(reading, number)
    return (worked.sheets[lane] if lane in worked.sheets else next(iter(worked.sheets.values()))).entries


def _is_right(reading: Reading, result: Result) -> bool:
    if reading.value is None or result.value is None:
        return False
    near = abs(result.value - reading.value) <= result.uncertainty
    return near or means_the_same(result, reading, write(result, reading))
