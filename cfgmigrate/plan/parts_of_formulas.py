"""What the parts of a formula for the feed become: `FEED_BIG 39 → 66` of `(FULL * USTEP * BIG / SMALL / (PI * EFF_D) * TRIM)`.

Whoever writes the number in place of such a formula leaves its parts as they were, and something else may rest on them. So the parts are told, each with
its old and its new number, where the sheet has both: steps, microsteps, teeth and diameter. A factor near 1 that is none of them was measured
with the old drive, and becomes 1. All of it is told only where the formula comes to the right number with these parts.

Nothing is written by this: by its number alone no part is known for certain.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from cfgmigrate.dialects.value import Number, Ratio, read_value
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.sheet.model import Sheet

#: how far from 1 a measured correction of a feed lies at most (common practice, no source)
_TRIM = (0.9, 1.1)
#: full steps of a turn for which a step angle is a usual one
_TURN = 360.0
_SAME = 1e-3
_AFTER = pattern(r"(?<=[\d.])[fFuUlL]+$")


Parts = dict[str, tuple[str, str]]
_MICROSTEPS = frozenset(2.0**power for power in range(9))


def new_parts(texts: Mapping[str, str], sheet: Sheet) -> list[Parts]:
    """Ways to change the parts, each by name with the number that it has and the one that it becomes: those of `texts` that are
    a number which the sheet has for the old drive, or a correction. Where the sheet has the new microsteps alone, any power of
    two may be the old ones, a way each."""
    known = [*_known(sheet)]
    found: Parts = {}
    others: Parts = {}
    microsteps = None if sheet.get("old.microsteps") else sheet.get("new.microsteps")
    for name, text in texts.items():
        number = _number(text)
        if number is None:
            continue
        meant = {new for old, new in known if abs(number - old) <= _SAME * old}
        if len(meant) == 1:
            (new,) = meant
            if abs(new - number) > _SAME * new:
                found[name] = text, f"{new:g}"
        elif not meant and _TRIM[0] < number < _TRIM[1] and number != 1:
            found[name] = text, "1"
        elif not meant and microsteps and microsteps.value and number in _MICROSTEPS - {microsteps.value}:
            others[name] = text, f"{microsteps.value:g}"
    ways = [found, *({**found, name: others[name]} for name in others)]
    return [{name: each[name] for name in texts if name in each} for each in ways if each]


def _known(sheet: Sheet) -> Iterator[tuple[float, float]]:
    """What the sheet has of the old drive and of the new one, pair by pair."""
    pairs = (
        ("old.drive_gear.effective_diameter", "new.drive_gear.effective_diameter"),
        ("old.microsteps", "new.microsteps"),
    )
    for one, other in pairs:
        old, new = sheet.get(one), sheet.get(other)
        if old and new and old.value and new.value:
            yield old.value, new.value
    old, new = sheet.get("old.motor.step_angle"), sheet.get("new.motor.step_angle")
    if old and new and old.value and new.value:
        yield _TURN / old.value, _TURN / new.value
    old, new = sheet.get("old.drive_gear.gear_ratio"), sheet.get("new.drive_gear.gear_ratio")
    if old and new:
        ratios = read_value(old.text), read_value(new.text)
        if all(isinstance(each, Ratio) and len(each.stages) == 1 for each in ratios):
            (before,), (after,) = (each.stages for each in ratios if isinstance(each, Ratio))
            yield from ((one.value, other.value) for one, other in zip(before, after, strict=True))


def _number(text: str) -> float | None:
    found = read_value(_AFTER.sub("", text.strip()))
    return found.value if isinstance(found, Number) and found.value > 0 else None
