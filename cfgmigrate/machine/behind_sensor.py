"""Settings that may say how much filament is left behind its sensor, in words that are too weak to be read by.

What speaks of the sensor, in the trade's word or one near it, and of what is left or of a length, is asked
about where its number may be such a length: left old, the machine feeds on over air.

Nothing is read by this.
"""

from __future__ import annotations

from collections.abc import Iterable

from cfgmigrate.dialects.document import Setting
from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.machine.key_units import key_dimension
from cfgmigrate.machine.offered import offered
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import read_name, split

#: the filament that is left behind its sensor
LEFT_BEHIND = "runout.distance"
#: words near the trade's for such a sensor
_NEAR_A_SENSOR = frozenset(("watcher", "eye", "lever", "feeler"))
#: between the sensor and where the way from it ends
_WAYS = frozenset({"to", "until", "till"})
_ENDS = frozenset({"nozzle", "feeder", "feed", "hob", "gear", "wheel"})
#: `left` may be a side elsewhere, so the pieces themselves are looked at
_IS_LEFT = frozenset(("left", "leftover", "remains", "remaining", "behind"))


def near_a_sensor(pieces: Iterable[str]) -> bool:
    """Whether a name has a word that comes near the trade's for the filament's sensor."""
    return not _NEAR_A_SENSOR.isdisjoint(pieces)


def may_be_left_behind(setting: Setting, said: str = "") -> bool:
    """Whether a setting that was not understood may say it, by its name or by what the file's list says of its code."""
    key = tuple(split(said or setting.key))
    named = (word for piece in key for word in ways_of(piece)[0])
    words = vocabulary().names_in(frozenset(named if said else read_name(setting.section, setting.key).words))
    on = not _WAYS.isdisjoint(key) and not _ENDS.isdisjoint((*words, *key))
    if "length" not in words and _IS_LEFT.isdisjoint(key) and not on:
        return False
    if "runout" not in words and not near_a_sensor(split(said or setting.name)):
        return False
    number = read_value(setting.value)
    if (
        not isinstance(number, Number)
        or (number.unit or "mm") != "mm"
        or key_dimension(key) not in ((), ("length",))
    ):
        return False
    return offered().is_usual(LEFT_BEHIND, number.value) is True
