"""Names that say how far one step of the feeder's motor moves the filament: `UM_PER_FULL`, `mm per pulse`, `step size = "1.9 um"`.

It is the feed the other way round. Of a microstep it is read (`words.yaml`); of a full step, or of one of which nobody says how large it
is, it was left old in silence, and the machine would feed as the old drive did. So what of this kind was not understood is asked about.

This module deliberately works nothing out: which step is meant is for a person to say.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from cfgmigrate.dialects.document import Setting, State
from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import unit_written
from cfgmigrate.machine.matching import best_fits
from cfgmigrate.machine.model import Unread
from cfgmigrate.machine.quantities import of_feeder
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.words import readings_of_name

FEED = "feeder.steps_per_mm"
_GAP = r"[ \t_.-]{0,2}"
_STEP = rf"(?:full{_GAP})?(?:micro|u|µ|μ)?(?:steps?|pulses?)|(?:full|whole)"
_LENGTH = r"(?P<unit>um|µm|μm|microns?|micromet(?:re|er)s?|mm|millimet(?:re|er)s?)"
#: a length for each step: `um per full`, `mm a step`
_EACH = pattern(
    rf"(?i)(?<![a-z]){_LENGTH}{_GAP}(?:per|a|an|each|every|for{_GAP}(?:an?|one|each|every)|in{_GAP}(?:an?|one)|/){_GAP}(?:(?:one|an?){_GAP})?(?P<step>{_STEP})(?![a-z])"
)
#: the same by the word for it, which is none where no length is said: a step size of 16 counts microsteps
_SIZE = pattern(
    rf"(?i)(?<![a-z])(?P<step>{_STEP}){_GAP}(?:size|length|width|distance|way|travel)(?![a-z])(?:{_GAP}{_LENGTH}(?![a-z]))?"
)
#: letters of a name that is looked at
_LONGEST = 120
_WHY = "this may be how far a step of the feeder's motor moves the filament, and I don't read it; left as it is, it feeds as with the old drive"
_BY_HAND = (
    "set it by hand: for a full step it is the new feed for one turn of the motor, divided by the full steps of that turn; for a "
    "microstep, that divided by the microsteps. If it means something else: "
)


def ways_a_step(unread: Iterable[Unread]) -> Iterator[Doubt]:
    """A doubt for each setting that was not understood and may say how far a step of the feeder moves."""
    for each in unread:
        if _is_such(each.setting):
            remedy = f"{_BY_HAND}{name_line(each.setting, 'ignore')}"
            yield Doubt(each.place, each.text, _WHY, remedy, about=FEED)


def _is_such(setting: Setting) -> bool:
    key = setting.key
    if len(key) > _LONGEST or setting.state is State.INACTIVE:
        return False
    said = _EACH.search(key) or _SIZE.search(key)
    value = read_value(setting.value) if said else None
    if said is None or not isinstance(value, Number):
        return False
    unit = unit_written(value.unit) if value.unit else None
    if not said["unit"] and (unit is None or unit.of != "length"):
        return False
    names = readings_of_name(
        setting.section, f"{key[: said.start()]} steps per mm {key[said.end() :]}".strip()
    )
    _, best = best_fits(names) if names else (None, ())
    return bool(best) and of_feeder(best[0].quantity)
