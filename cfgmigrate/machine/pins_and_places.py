"""Settings whose number is another thing than their words seem to say: a pin of the board, a place to go to.

`PIN_Z_TOUCH 20` is where something is wired, and no height; `swap y` below `[places]` is where the filament is changed, and says
no direction; `TOUCH_X 115` is where over the bed the tip touches, since no probe stands so far from its nozzle. So only a part of
what the words may mean is left.

What the words may mean is decided elsewhere (`matching.py`); nothing is read here.
"""

from __future__ import annotations

from cfgmigrate.dialects.document import Setting
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.matching import Fit
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

#: what is wired to a board, and how it counts such; a measure in a key's first or last word is said otherwise
_PINS = frozenset(("pin", "pins", "port", "ports", "gpio"))
_PIN_NUMBER = pattern(r"\d{1,3}")
_PLACES = frozenset(
    ("place", "places", "position", "positions", "spot", "spots", "coordinates", "whereabouts")
)


#: what sits at a numbered place of a board, and turns one way or the other
_DRIVEN = frozenset(("feeder", "drive", "driver", "motor", "axis", "extruder", "stepper"))


def possible_there(setting: Setting, best: tuple[Fit, ...]) -> tuple[Fit, ...]:
    """Of what a setting's words may mean, what a pin's number or a place can be."""
    if _is_of_places(setting):
        best = tuple(fit for fit in best if not fit.quantity.endswith(".direction"))
    if _is_where_it_touches(setting):
        best = tuple(fit for fit in best if not fit.quantity.startswith(_PROBE))
    if _is_a_pin(setting):
        best = tuple(fit for fit in best if quantity(fit.quantity).protected)
    return best


#: mm; farther from its nozzle no probe stands (common practice, no source)
_FARTHEST_PROBE = 80.0
_PROBE = "probe.offset_"
_AXES = frozenset("xyz")
_NUMBER = pattern(r"[-+]?\d{1,4}(?:\.\d{1,6})?")


def _is_where_it_touches(setting: Setting) -> bool:
    """Whether a setting is named by a touch and an axis alone, and its number is too far off for a probe's: a place on the bed."""
    words = {*split(setting.section), *split(setting.key)} - _AXES
    number = setting.value.strip()
    if words != {"touch"} or not _NUMBER.fullmatch(number):
        return False
    return abs(float(number)) > _FARTHEST_PROBE


def _is_of_places(setting: Setting) -> bool:
    """Whether a section holds places, where to swap or to flip something, and a key that doesn't say itself which way round."""
    section = frozenset(split(setting.section))
    if _PLACES.isdisjoint(section) or not _DRIVEN.isdisjoint(vocabulary().names_in(section)):
        return False
    return "direction" not in vocabulary().names_in(frozenset(split(setting.key)))


def _is_a_pin(setting: Setting) -> bool:
    """Whether a setting is the number of a pin of the board by the first or the last word of its key: a touch pin is a probe in
    other names, and that number no place of it."""
    words = split(setting.key)
    return (
        bool(words)
        and not _PINS.isdisjoint((words[0], words[-1]))
        and _PIN_NUMBER.fullmatch(setting.value.strip()) is not None
    )
