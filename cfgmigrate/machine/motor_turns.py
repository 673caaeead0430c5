"""A distance for a turn of the motor that stands beside a gear ratio.

A feed per turn counts a turn of the drive gear where the files have a gear ratio, and of the motor where
they have none. A key that says `per motor turn` beside a gear ratio says both: either the ratio is in the
number already, or the key is loosely named and the ratio still counts. A factor of the whole ratio lies between
the two, and no file tells which it is. So neither number is in force, and a doubt at each says how a names file
settles it: with the ratio taken as nothing, the distance is the motor's; with the distance named, it is the
drive gear's. What a names file has settled is left as it is.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from itertools import pairwise

from msgspec.structs import replace

from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.model import MACHINE, Key, Reading
from cfgmigrate.machine.plain_words import plain
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.words import read_name

_PER_TURN, _RATIO = re.compile(r"\.(?:feed|travel)_per_turn$"), ".gear_ratio"
_MOTOR = frozenset({"motor", "stepper"})
_BETWEEN = frozenset({"of", "the", "a", "one", "shaft"})


def says_motor_turn(reading: Reading) -> bool:
    """Whether the key itself speaks of a turn of the motor, not only its section of a motor."""
    words = [plain(word) for word in read_name("", reading.setting.key).key if word not in _BETWEEN]
    return any("turn" in pair and _MOTOR & set(pair) for pair in pairwise(words))


def motor_turns_apart(
    readings: list[Reading], settled: Callable[[Reading], bool]
) -> tuple[list[Reading], list[Reading], list[Doubt]]:
    """Readings without, and then those, that are a distance per motor turn or the gear ratio beside it; and a
    doubt for each distance and ratio. `settled` says what a names file has said of a reading's setting."""
    apart: set[Key] = set()
    doubts: list[Doubt] = []
    for distance in readings:
        if _PER_TURN.search(distance.quantity) and says_motor_turn(distance) and not settled(distance):
            ratios = [each for each in readings if _beside(distance, each) and each.value != 1]
            if ratios:
                apart |= {distance.key, *(ratio.key for ratio in ratios)}
                doubts += _doubts(distance, ratios)
    kept = [reading for reading in readings if reading.key not in apart]
    return kept, [reading for reading in readings if reading.key in apart], doubts


def with_ratio_in_doubt(readings: Iterable[Reading], doubts: Iterable[Doubt]) -> list[Reading]:
    """Readings, a distance per turn not editable beside a line that may be its gear ratio and was not taken: whether it
    counts a turn of the motor or of the drive gear is then open."""
    found = list(readings)
    open_ratios = {each.about: each.place for each in doubts if each.about.endswith(_RATIO)}
    known = {each.quantity for each in found}
    for at, reading in enumerate(found):
        ratio = _PER_TURN.sub(_RATIO, reading.quantity)
        if ratio != reading.quantity and ratio in open_ratios and ratio not in known and reading.editable:
            place = open_ratios[ratio]
            why = f"whether a gear ratio counts beside it is not settled ({place.file}:{place.line})"
            found[at] = replace(reading, editable=False, why_not=why)
    return found


def with_ratio_open(readings: Iterable[Reading], shadowed: Iterable[Reading]) -> list[Reading]:
    """Readings in force, a distance per turn not editable beside gear ratios of which it is not clear which one holds."""
    found = list(readings)
    held = {each.key for each in found if each.quantity.endswith(_RATIO)}
    open_ratios: dict[Key, Reading] = {}
    anyones: dict[str, Reading] = {}
    for ratio in shadowed:
        if ratio.quantity.endswith(_RATIO) and ratio.key not in held:
            open_ratios.setdefault(ratio.key, ratio)
            anyones.setdefault(ratio.quantity, ratio)
    for at, reading in enumerate(found):
        name = _PER_TURN.sub(_RATIO, reading.quantity)
        if name == reading.quantity or not reading.editable or (name, reading.holder) in held:
            continue
        own = open_ratios.get((name, reading.holder)) or open_ratios.get((name, MACHINE))
        beside = anyones.get(name) if reading.holder == MACHINE else own
        if beside is not None:
            why = (
                f"which gear ratio counts beside it is not settled ({beside.place.file}:{beside.place.line})"
            )
            found[at] = replace(reading, editable=False, why_not=why)
    return found


def _beside(distance: Reading, ratio: Reading) -> bool:
    """Whether a reading is the gear ratio of the drive that a distance is of: of the same feeder, or of all."""
    same = ratio.holder == distance.holder or MACHINE in (ratio.holder, distance.holder)
    return same and ratio.quantity == _PER_TURN.sub(_RATIO, distance.quantity)


def _doubts(distance: Reading, ratios: Iterable[Reading]) -> list[Doubt]:
    line = name_line(distance.setting, distance.quantity)
    found = []
    for ratio in ratios:
        ignored = name_line(ratio.setting, "ignore")
        remedy = f"say in a names file that it is ({ignored}) or that the distance is for the gear ({line})"
        why = (
            f"{quantity(distance.quantity).label} is said for a turn of the motor here, and a gear ratio stands at "
            f"{ratio.place.file}:{ratio.place.line}: whether the ratio is in the number already is not clear"
        )
        beside = (
            f"{quantity(ratio.quantity).label}: whether it is in the distance per motor turn at "
            f"{distance.place.file}:{distance.place.line} already is not clear"
        )
        found.append(Doubt(distance.place, f"{distance.setting.key} = {distance.text}", why, remedy))
        found.append(Doubt(ratio.place, f"{ratio.setting.key} = {ratio.text}", beside, remedy))
    return found
