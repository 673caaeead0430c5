"""The lengths that matter, the old filament path's and the old retractions, and what a number is near to by them.

A number is near one where its words speak of the filament's way and nothing says another measure: what touches the bed moves along
z, and a speed is no length. What becomes of such a number is not decided here.
"""

from __future__ import annotations

from collections.abc import Mapping

from cfgmigrate.dialects.value import Number
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import units
from cfgmigrate.machine.key_units import key_dimension
from cfgmigrate.machine.model import Machine, Unread
from cfgmigrate.machine.occasions import speaks_of_occasion
from cfgmigrate.machine.stated import stated
from cfgmigrate.machine.teachable import PATH, RETRACTION
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import read_name, split

#: a number within this part of one that matters is near it
NEAR = 0.25
AXIS_IN_NAME = pattern(r"(?<![A-Za-z])[xyzeXYZE](?![A-Za-z])|(?<=[a-z_\W])[XYZE](?=[A-Z_\W]|$)")
OF_THE_WAY = frozenset(
    {"feeder", "feed", "drive", "filament", "retraction", "lag", "nozzle", "pull", "tube", "load", "unload"}
)
#: of these alone many a number is told that is no length of the filament's way
_NOZZLE_ALONE = frozenset({"nozzle"})
#: what touches the bed or is switched moves along z; with none of the second words its lengths are no filament's
_TOUCHES = frozenset({"probe", "touch", "end_stop"})
_OF_FILAMENT = frozenset({"filament", "feeder", "tube", "drive", "load", "unload"})
#: words of measures that are no length
_NO_LENGTH = frozenset({"speed", "acceleration", "current", "temperature", "frequency", "time"})
#: what a motor is plugged into: its number is no length, however near it comes to one
_PLUGS = frozenset(
    {
        "channel",
        "plug",
        "socket",
        "port",
        "slot",
        "output",
        "outlet",
        "connector",
        "terminal",
        "header",
        "address",
    }
)
_DIGIT = pattern(r"[1-9]")
#: mm; a shorter retraction is no long path's, and clogs nothing
LEAST_TOLD_PULL = 3.0
#: mm; where no file has a retraction, a usual one through a long tube (common practice, no source)
USUAL_RETRACTION = 5.5


def may_be_length(unread: Unread) -> bool:
    """Whether a setting's words speak of the filament's way, or its name says mm, and no word says another measure."""
    name = read_name(unread.setting.section, unread.setting.key)
    measure = key_dimension(tuple(split(unread.setting.key)))
    if measure or AXIS_IN_NAME.search(unread.setting.name):
        return measure == ("length",) and not AXIS_IN_NAME.search(unread.setting.name)
    whole = vocabulary().names_in(frozenset(word for word in name.words if len(word) > 1))
    present = vocabulary().names_in(frozenset(name.words))
    return not whole & _NO_LENGTH and not present.isdisjoint(OF_THE_WAY)


def of_the_path(unread: Unread) -> bool:
    """Whether a setting that was not understood has a number and speaks of a length of the filament's way: that of a tube, or
    of a feed at an occasion of its own."""
    name = read_name(unread.setting.section, unread.setting.key)
    tube = "tube" in vocabulary().names_in(frozenset(name.words))
    return (
        (tube or speaks_of_occasion(unread))
        and may_be_length(unread)
        and bool(_DIGIT.search(unread.setting.value[:200]))
    )


def lengths_of(machine: Machine, path: float = 0.0) -> dict[float, str]:
    """The lengths that matter, in mm, each with what it is: the old path's, and the old retractions."""
    found = {path: PATH} if path else {}
    for reading in machine.readings:
        if reading.value and reading.quantity in ("feeder.load_length", "feeder.unload_length"):
            found[reading.value] = PATH
        elif (reading.value or 0.0) >= LEAST_TOLD_PULL and reading.quantity == "retraction.length":
            assert reading.value is not None
            found[reading.value] = RETRACTION
    return found if RETRACTION in found.values() else {**found, USUAL_RETRACTION: RETRACTION}


def _said_of(unread: Unread) -> frozenset[str]:
    """What the remarks of a code speak of, in words that mean something."""
    return vocabulary().names_in(frozenset(read_name("", unread.said).words)) if unread.said else frozenset()


def near_to(unread: Unread, number: Number, remark: str, lengths: Mapping[float, str]) -> str:
    """What a length of the feed path is near to, "" for nothing. A number of another measure is near no length."""
    name = read_name(unread.setting.section, unread.setting.key)
    measure = key_dimension(tuple(split(unread.setting.key)))
    unit = stated(number.unit or remark).unit
    said = _said_of(unread)
    present = vocabulary().names_in(frozenset(name.words)) | said
    whole = vocabulary().names_in(frozenset(word for word in name.words if len(word) > 1)) | said
    # `load quick = 54 cm` is a length, whatever its words speak of
    is_length = bool(number.unit) and unit is not None and unit.of == "length"
    if (
        present.isdisjoint(OF_THE_WAY)
        or (whole & _NO_LENGTH and not is_length)
        or _PLUGS.intersection(split(unread.setting.key)[-1:])
    ):
        return ""
    if present & _TOUCHES and present.isdisjoint(_OF_FILAMENT):
        return ""
    reach = 0.0 if present & OF_THE_WAY <= _NOZZLE_ALONE else NEAR
    if (measure and measure != ("length",) and not is_length) or (unit is not None and unit.of != "length"):
        return ""
    value = number.value * (float(unit.size / units()["mm"].size) if unit is not None else 1.0)
    close = [each for each in lengths if each > 0 and abs(value - each) <= reach * each]
    return lengths[min(close, key=lambda each: abs(value - each))] if close else ""
