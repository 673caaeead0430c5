"""Whether what fits a limit of temperature by its words is one: `plate high 290` says how high the bed is, `pusher top 60` how fast
something goes, and `sensor to tip` a way.

A number tells it, where neither name, remark nor unit says a temperature: no bed and no hot end of a desktop machine has such a
limit. This module deliberately reads nothing; what becomes of such a setting is the matter of `by_words.py`.
"""

from __future__ import annotations

from msgspec.structs import replace

from cfgmigrate.dialects.value import Items, Number, read_value
from cfgmigrate.ground.units import units
from cfgmigrate.machine.matching import Fit
from cfgmigrate.machine.plain_words import protected_name
from cfgmigrate.machine.spots import Spot
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import Name, split

_HOTEND_LEAST = "heater.hotend.min_temperature"
#: °C below which no plastic is fed
_MELTS = 100
#: words of temperature sensors (IEC 60751 and IEC 60539 name them so)
_SENSORS = frozenset({"ntc", "ptc", "pt", "thermistor", "thermocouple"})
#: a bed's limits of temperature; words of heat, and words that say how high a thing is as well as how hot, or how far it goes
_BED_LIMITS = frozenset({"heater.bed.max_temperature", "heater.bed.min_temperature"})
_HEATED = frozenset(
    {"heater", "thermal", "temperature", "protection", "hottest", "coldest", "cutoff", "faulty", "watch"}
)
_PLACES = frozenset({"high", "hi", "higher", "highest", "top", "topmost", "upper", "uppermost", "low", "lo", "lower", "lowest", "lowermost",
                     "bottom", "floor", "ceiling", "travel", "travels", "stroke"})  # fmt: skip
#: °C; no bed of a desktop machine gets hotter (common practice, no source)
_HOTTEST_BED = 200
#: °C; no hot end's limit is lower (common practice, no source)
_COOLEST_LIMIT = 150
#: °C; where no hot end is named, what is more is how fast something goes (common practice, no source)
_HOTTEST_LIMIT = 500
HOTEND_MOST = "heater.hotend.max_temperature"
#: between what lies at either end of a way
_WAYS = frozenset({"to", "till", "until"})


def of_feeding(spot: Spot, fit: Fit, name: Name) -> Fit:
    """The least temperature of a hotend or feeder that is far above a room's: it is no sensor's fault that it guards
    against, but feeding what has not melted (common practice, no source)."""
    number = read_value(spot.setting.value)
    warm = isinstance(number, Number) and number.value >= _MELTS
    said = {"feeder", "feed", "hotend", "nozzle"} & vocabulary().names_in(frozenset(name.words))
    return Fit("feeder.min_feed_temperature") if warm and said and fit.quantity == _HOTEND_LEAST else fit


def _measured(fit: Fit) -> str:
    """What the unit at a key's end measures, "" for none."""
    return units()[fit.unit].of if fit.unit in units() else ""


def is_no_heat(spot: Spot, name: Name, fit: Fit) -> bool:
    """Whether what fits a limit of a heater's temperature is none, and neither name, remark nor unit says a temperature: it
    says how high or low the bed is, or is more than a bed gets, as `plate high 290`; or less than any hot end's limit, as
    `pusher top 60`, or far more, as `pusher top 4500`, which are speeds as well."""
    if fit.quantity not in (*_BED_LIMITS, HOTEND_MOST) or "temperature" in (name.dimension, _measured(fit)):
        return False
    said = frozenset((*name.words, *name.said))
    if not vocabulary().names_in(said).isdisjoint(_HEATED):
        return False
    value = read_value(spot.setting.value)
    numbers = [
        each for each in (value.items if isinstance(value, Items) else (value,)) if isinstance(each, Number)
    ]
    if fit.quantity == HOTEND_MOST:
        fast = isinstance(value, Number) and value.value > _HOTTEST_LIMIT and not _names_a_hot_end(said)
        return fast or (isinstance(value, Number) and value.value < _COOLEST_LIMIT)
    return any(each.value > _HOTTEST_BED for each in numbers) or not said.isdisjoint(_PLACES)


def _names_a_hot_end(said: frozenset[str]) -> bool:
    return not vocabulary().names_in(said).isdisjoint(("hotend", "nozzle"))


def sensor_named(spot: Spot, name: Name) -> str:
    """The id of a sensor whose value says that it is one of temperature."""
    is_one = "sensor" in name.key and not _SENSORS.isdisjoint(split(spot.setting.value))
    return protected_name(replace(name, key=(*name.key, "thermistor"))) if is_one else ""


def goes_from_to(name: Name) -> bool:
    """Whether a key says a way, `sensor to tip`: that is no kind of a temperature sensor."""
    return not _WAYS.isdisjoint(name.key)
