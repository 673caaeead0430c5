"""What a section's heading states beside what it is about: the unit of all numbers below it.

`[travel speed mm/s]`, `"speed limit, mm per s"`, `[hold current, mA rms]`, `[mirrored y/n]`. Only units that no
word of prose can be taken for count, and single letters only behind a comma or in brackets. A heading such as `steps
per mm` is no unit of something else: it is what the section is about, and stays.
"""

from __future__ import annotations

import re
from functools import lru_cache

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import Unit, unit_written, units
from cfgmigrate.machine.rms_or_peak import QUALIFIERS
from cfgmigrate.machine.stated import NOTHING, Stated

_SET_OFF = pattern(r"(.*?)[ \t]*(?:,|\(|\[|\bin\b)[ \t]*([^,()\[\]]+?)[)\]]?[ \t]*")
_EITHER = pattern(
    r"(.*?)[ \t]*[,(\[]?[ \t]*\b(?:y/n|yes/no|no/yes|on/off|true/false|0/1|1/0)[)\]]?[ \t]*",
    re.I,
    needs=("/",),
)
#: a clause that only says when the section is not in force
_UNLESS = pattern(
    r"[ \t,]*\b(?:unless|except where|except when|where nothing else)\b.*",
    re.I,
    needs=("unless", "except", "where nothing"),
)
#: what a heading may be measured in
_MEASURES = frozenset(
    {
        "length",
        "speed",
        "acceleration",
        "current",
        "time",
        "temperature",
        "resistance",
        "frequency",
        "voltage",
    }
)
_CASE = pattern(r"(?<=[a-z])(?=[A-Z])")
#: units by these letters alone are words, or other things of the trade
_WORDS = frozenset({"in", "min", "m", "a", "c", "v", "s", '"', "second", "deg c"})
#: behind one of these a unit is what something else is counted by
_OF_EACH = frozenset({"per", "a", "each", "every", "for", "to", "one", "step", "steps", "stp", "pulses"})
#: behind one of these `mm_min` is no least in mm: `top_mm_min`
_FAST = frozenset(
    {"top", "max", "maximum", "highest", "fastest", "speed", "speeds", "vmax", "rate", "rates", "feedrate"}
)
_MOST = 4
#: a longer level of a section states nothing
LONGEST_LEVEL = 200


@lru_cache(maxsize=8192)
def heading(section: str) -> tuple[str, Stated]:
    """A section without what its levels state, and what the deepest of them states that states anything."""
    levels = [_level(level) for level in section.split(".")]
    told = next((each for _, each in reversed(levels) if each.unit), NOTHING)
    return ".".join(level for level, _ in levels), told


def _level(level: str) -> tuple[str, Stated]:
    if len(level) > LONGEST_LEVEL:
        return level, NOTHING
    level = _UNLESS.sub("", level) or level
    either = _EITHER.fullmatch(level)
    if either and either[1].strip():
        return either[1], NOTHING
    set_off = _SET_OFF.fullmatch(level)
    if set_off and (told := _unit(set_off[2].split(), lone=True)):
        return set_off[1], told
    between = " " if " " in level else "_" if "_" in level else ""  # `travel_limits_mm`, `travelLimitsMm`
    words = level.split(between) if between else _CASE.sub(" ", level).split()
    parts = [word.lower() for word in re.split(r"[_ ]", " ".join(words))]
    if parts[-2:] == ["mm", "min"] and not _FAST.isdisjoint(parts[:-2]):
        ends = len("mm_min") if between else len("mmmin")
        return level[:-ends].rstrip(" _"), Stated(units()["mm/min"], "")
    for count in range(min(_MOST, len(words)), 0, -1):
        if words[-count - 1 : -count] and words[-count - 1].lower() in _OF_EACH:
            continue
        told = _unit(words[-count:], lone=between == " " and count < len(words) and words[-count:] == ["s"])
        if told:
            return between.join(words[:-count]), told
    return level, NOTHING


def _unit(words: list[str], lone: bool) -> Stated | None:
    """The unit, with `rms` or `peak`, that words are and nothing else."""
    qualifier = next((word.lower() for word in words if word.lower() in QUALIFIERS), "")
    text = " ".join(word for word in words if word.lower() not in QUALIFIERS)
    if not text or (text.lower() in _WORDS and not lone) or text.lower() == "in":
        return None
    unit: Unit | None = unit_written(text) or unit_written(text.lower())
    return Stated(unit, qualifier) if unit and unit.of in _MEASURES else None
