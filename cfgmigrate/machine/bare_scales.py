"""A scale that nothing says is steps for each millimetre: `MOTOR_SCALE { 27, 27, 28, 26 }` below `/* rms = n/64 * 2 A */`.

A driver's current goes in steps of its own, and its number is called a scale, a level or a step as well. So a name that says no more than
a scale, of no axis and of no feeder by its own word, is asked about; and so is one that says no millimetre where the
remark behind it, or alone on the line above, speaks of a current.

This module deliberately does not say what else such a number is.
"""

from __future__ import annotations

import dataclasses
import json
import re
from collections.abc import Sequence

from cfgmigrate.dialects.value import Items, Number, read_value
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.remarks import remarks_of
from cfgmigrate.machine.spots import Spot
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import Name

_STEPS = ".steps_per_mm"
_IN_ORDER = ("axis.x.steps_per_mm", "axis.y.steps_per_mm", "axis.z.steps_per_mm", "feeder.steps_per_mm")
_OF_DRIVERS = frozenset(("driver", "motor", "stepper", "microstep"))
_MICROSTEPS = frozenset(2**power for power in range(9))
_SCALES = frozenset(("scale", "resolution"))
_SAYS_STEPS = frozenset(("step", "microstep", "stepping", "counted"))
#: a word for the feeder that is no driver's as well
_OWNERS = frozenset(("x", "y", "z", "e", "axis", "feeder", "extruder", "feed", "filament"))
_CURRENT = pattern(r"(?<![A-Za-z])(?:rms|mA|milliamp\w*|amp(?:s|eres?)?|[Cc]urrents?)(?![A-Za-z])")
#: the same in a unit: the word alone says little beside a name that says steps itself
_AMPERES = pattern(r"(?<![A-Za-z])(?:rms|mA|milliamp\w*|amp(?:s|eres?)?)(?![A-Za-z])")
#: of what is so today, and of currents that stand elsewhere
_TODAY = pattern(
    r"(?i)\bcurrent(?=[ \t]+(?:as|one|value|setting|since|from|state|setup)\b)|\bcurrents?[ \t]+(?:is|are)[ \t]+in[ \t]+[\[\"'`]"
)
_ALONE = pattern(
    r"\s*(?://|/?\*+|[#;])[ \t]*(?!(?:define|include|if\w*|endif|else|elif|undef|pragma)\b)(?P<said>\S.*)",
    re.S,
)
_DENIED = pattern(r"\bsteps?\b", re.I)


def bare_scale(spot: Spot, name: Name, meant: Sequence[str]) -> Doubt | None:
    """The question what the numbers of a setting are that would be read as steps per mm (`meant`) by a scale alone, or beside a remark of a current; None
    for any other."""
    if spot.unit is not None or not meant or not all(each.endswith(_STEPS) for each in meant):
        return None
    words = (*name.section, *name.key)
    said = vocabulary().names_in(frozenset(words))
    if "mm" in said or "unit" in said:
        return None
    of_nobody = _OWNERS.isdisjoint(words) and not said & _SAYS_STEPS and bool(said & _SCALES)
    if "resolution" in said and not any(each.startswith("feeder") for each in meant):
        # none for the feeder: each axis' own, and never written; but a driver's microsteps go by that word as well
        of_nobody = not said.isdisjoint(_OF_DRIVERS) or _counts_microsteps(spot)
    current = _speaks_of_a_current(spot, _AMPERES if said & _SAYS_STEPS else _CURRENT)
    if not of_nobody and not current:
        return None
    value = read_value(spot.setting.value)
    if isinstance(value, Items) and len(value.items) == len(_IN_ORDER):
        meant = _IN_ORDER  # also where not each of its numbers could be such steps
    label = quantity(meant[-1]).label
    because = "the remark beside it speaks of a current" if current else "a scale alone does not say of what"
    key = json.dumps(spot.named.name, ensure_ascii=False)
    several = len(meant) > 1
    steps = f"[{', '.join(meant)}]" if several else meant[0]
    part = '{quantity: motor.run_current, unit: "1/16 of 2 A rms"}'
    part = f"[{', '.join(['ignore'] * (len(meant) - 1))}, {part}]" if several else part
    why = f"this may be {label}, but {because}; nothing was taken from it"
    remedy = (
        f"say in cfgmigrate.yaml, under meanings, what it is: {key}: {part} for parts of a current, with the numbers of your own driver; "
        f"{key}: {steps} for steps per mm; for neither: ignore"
    )
    return dataclasses.replace(spot.doubt(why, remedy), about=meant[-1])


def _counts_microsteps(spot: Spot) -> bool:
    """Whether all numbers of a setting are such as a driver divides a step by."""
    value = read_value(spot.setting.value)
    numbers = value.items if isinstance(value, Items) else (value,)
    return all(isinstance(each, Number) and each.value in _MICROSTEPS for each in numbers)


def _speaks_of_a_current(spot: Spot, current: re.Pattern[str]) -> bool:
    """Whether the remark behind a setting, or alone on the line above it, speaks of a current in such words and of no steps."""
    told = (remarks_of(spot.document).behind(spot.setting), _above(spot))
    return any(current.search(_TODAY.sub("", each)) and not _DENIED.search(each) for each in told)


def _above(spot: Spot) -> str:
    """The remark that is all of the line above a setting's; "" for none."""
    text = remarks_of(spot.document).text
    own = text.rfind("\n", 0, spot.setting.start)
    alone = _ALONE.fullmatch(text[text.rfind("\n", 0, max(own, 0)) + 1 : max(own, 0)])
    return alone["said"] if alone else ""
