"""Steps per mm that don't follow from what stands beside them.

Steps per mm are full steps times microsteps (times the gear ratio, where the files keep one) over the feed per turn. Where
a configuration has all of these and they are apart by more than a tenth, one of them is not what the machine runs with:
microsteps set by a jumper, an old feed, a ratio already counted. What would be written rests on the same numbers, so the
steps per mm are then shown and never edited.

This module deliberately does not say which of them is wrong; nobody can from the files alone.
"""

from __future__ import annotations

from collections.abc import Iterable

from msgspec.structs import replace

from cfgmigrate.machine.model import MACHINE, Holder, Reading

_STEPS = "feeder.steps_per_mm"
_OTHERS = ("feeder.microsteps", "feeder.feed_per_turn")
#: full steps a turn of the usual motors, where the files don't say: common practice, no source
_FULL = (200.0, 400.0)
_APART = 0.1


def without_contradicted_steps(readings: Iterable[Reading]) -> list[Reading]:
    """The readings, the steps per mm not editable where microsteps and feed per turn beside them come to another number."""
    found = list(readings)
    by_key = {each.key: each for each in found}
    for at, steps in enumerate(found):
        if steps.quantity != _STEPS or not steps.editable or not steps.value:
            continue
        beside = [_of(by_key, name, steps.holder) for name in _OTHERS]
        micro, feed = (each.value if each is not None else None for each in beside)
        if not micro or not feed:
            continue
        ratio = _value(by_key, "feeder.gear_ratio", steps.holder) or 1.0
        full = _value(by_key, "feeder.full_steps", steps.holder)
        worked = [each * micro * ratio / feed for each in ((full,) if full else _FULL)]
        if all(abs(each / steps.value - 1) > _APART for each in worked):
            lines = " and ".join(
                f"{each.place.file}:{each.place.line}" for each in beside if each is not None
            )
            why = (
                f"what stands beside it ({lines}) comes to {worked[0]:.4g} per mm; one of them is not in use"
            )
            found[at] = replace(steps, editable=False, why_not=why)
    return found


def _of(by_key: dict[tuple[str, Holder], Reading], name: str, holder: Holder) -> Reading | None:
    return by_key.get((name, holder)) or by_key.get((name, MACHINE))


def _value(by_key: dict[tuple[str, Holder], Reading], name: str, holder: Holder) -> float | None:
    reading = _of(by_key, name, holder)
    return reading.value if reading is not None else None
