"""Old values that can't simply stand in the new files, though these have a place for each of them.

Steps per mm and what they are made of belong together: microsteps of the old machine beside the new file's own steps per
mm would make an axis travel twice as far. And where a probe stands is counted towards it or away from it: of a value whose
sign differs from the one that it would replace nobody can tell which way the new files count. A motor's direction and a
sense resistor are the board's.

Such a value is a question. What a person wrote in the new files with the other sign, and else as the old ones have it, is
taken as their answer. How values are carried over at all is in `carry.py`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from cfgmigrate.ground.number_text import measure
from cfgmigrate.machine.model import FlatMachine, Reading
from cfgmigrate.machine.quantities import facts, quantity, relations

#: how the reason of a value begins that stays as the new files have it, though the old ones may mean it
NOT_CARRIED = "not carried over: "


def mixed(values: Mapping[str, float], target: FlatMachine) -> dict[str, str]:
    """Of values by quantity those that would stand beside a number of the new files with which they make another one."""
    found = {}
    for relation in relations():
        stays = target.get(relation.outcome.id)
        if stays is None or stays.value is None or relation.outcome.id in values:
            continue
        label = quantity(relation.outcome.id).label
        why = f"it belongs to the {label}, which is {_shown(stays)} and does not follow from the old files"
        for name in relation.powers:
            reading = target.get(name)
            if name in values and reading is not None and not _alike(reading.value, values[name]):
                found[name] = why
    return found


def of_the_board(values: Mapping[str, float], target: FlatMachine) -> dict[str, str]:
    """Of values by quantity those that are another board's, where the new files have another one."""
    return {
        name: f"it is {_shown_value(name, value)} in the old files and {_shown(stands)}: how this board is made and wired decides"
        for name, value in values.items()
        if facts(name).wired and (stands := target.get(name)) is not None and not _alike(stands.value, value)
    }


def other_way_round(values: Mapping[str, float], target: FlatMachine) -> dict[str, str]:
    """Of values by quantity those that may be counted the other way round in the new files."""
    found = {}
    for name, value in values.items():
        stands = target.get(name)
        if stands is not None and signs_differ(name, value, target) and not _alike(stands.value, -value):
            found[name] = (
                f"it is {_shown_value(name, value)} in the old files and {_shown(stands)}: the signs differ, and the new"
                " files may count it the other way round"
            )
    return found


def counted_for(source: FlatMachine, target: FlatMachine, values: Mapping[str, float]) -> dict[str, str]:
    """Of steps per mm that are carried over those of which only the new files say for how many microsteps they count."""
    found = {}
    for relation in relations():
        name = relation.outcome.id
        for twos in (each for each in relation.powers if name in values and facts(each).twos):
            told, there = target.get(twos), source.get(twos)
            if told is None or there is not None or all(source.get(each) for each in relation.powers):
                continue
            found[name] = (
                f"{_shown_value(name, values[name])} is carried over, and the old files do not say for how many microsteps"
                f" that holds; the new ones have {_shown(told)}"
            )
    return found


def signs_differ(name: str, value: float, target: FlatMachine) -> bool:
    """Whether the new files have a number of another sign for what may be counted either way."""
    stands = target.get(name)
    return stands is not None and value * (stands.value or 0.0) < 0 and _counts_both_ways(name)


def _counts_both_ways(name: str) -> bool:
    """Whether a quantity is as far below zero as above it, so that its sign is a matter of which way it is counted."""
    about = quantity(name)
    return about.low is not None and about.high is not None and about.low == -about.high


def _alike(one: float | None, other: float) -> bool:
    return one is not None and math.isclose(one, other, rel_tol=1e-6, abs_tol=1e-9)


def _shown(reading: Reading) -> str:
    return f"{reading.text} at {reading.place.file}:{reading.place.line}"


def _shown_value(name: str, value: float) -> str:
    return measure(value, 0.0, quantity(name).unit)
