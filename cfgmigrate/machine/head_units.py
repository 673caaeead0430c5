"""The units of a whole file, as its opening remark says them: by measure, and whether all that is counted in lengths is in mm.

They count below what a value, its key and its own remark say themselves. A unit that the remark says of another thing or
time is none of the file's.
"""

from __future__ import annotations

import re
from functools import lru_cache

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import Unit, unit_written
from cfgmigrate.machine.other_clauses import TIMES_ELSEWHERE, said_of_these
from cfgmigrate.machine.stated import LETTER_UNIT, SURE

_PER_MM = pattern(r"\b(?:per|a|to the|/) ?(?:mm|millimetre|millimeter)\b(?!/)", re.I)
_INCHES = pattern(r"\b(?:inch|inches|cm|centimetres?|thou)\b", re.I)
_FEEDS = pattern(
    r"\bfeeds?\b(?:,? (?:and |& )?(?:rapids?|rates?|speeds?|traverses?)\b){0,2}(?: (?:are|is|in|all|both))*[ :=(]{1,3}mm[ /_]*(?:per )?(?:min|s)",
    re.I,
)
_ELSE = r"\b(?:displays?|panels?|screens?|used to|formerly|no longer)\b"
_UNIT = r"\b(?:(?P<%s>inch)(?:es)?|(?P<%s>cm)|centimet(?:re|er)s?)\b"
_ELSEWHERE = pattern(
    rf"(?i){_ELSE}[^,;().]{{0,80}}{_UNIT % ('inch', 'cm')}|{_UNIT % ('inches', 'cms')}[^,;().]{{0,80}}{_ELSE}"
)
_FACTOR = pattern(r"[*×·][ \t]*[\d.]{1,12}[ \t]*[^\W\d_/]{1,12}", needs=("*", "×", "·"))
_IN_BRACKETS = pattern(r"\(([^()]{3,40})\)[ \t*=~-]*$")
#: measures that are counted in lengths
_OF_LENGTHS = frozenset({"length", "speed", "acceleration"})


def file_units(remark: str) -> dict[str, Unit]:
    """The units that a file's opening remark states, by dimension; none where it states two of one. `* 10 mA` is a step of what
    a code sets, and states none."""
    remark = _FACTOR.sub(" ", remark)
    found: dict[str, set[str]] = {}
    units: dict[str, Unit] = {}
    for text in (*SURE.findall(remark), *LETTER_UNIT.findall(remark)):
        unit = unit_written(text) or unit_written(text.lower())
        if unit:
            found.setdefault(unit.of, set()).add(unit.name)
            units[unit.of] = unit
    return {of: units[of] for of, names in found.items() if len(names) == 1}


def units_in_brackets(remark: str) -> dict[str, Unit]:
    """Several units that stand in brackets behind a heading, and nothing beside them, by dimension: `feeding (mm, mm/s)`; {} for any other,
    and where two are of one dimension."""
    found = _IN_BRACKETS.search(remark)
    said = [unit_written(part.strip()) for part in found[1].split(",")] if found else []
    units = {unit.of: unit for unit in said if unit}
    return units if 1 < len(said) == len(units) else {}


def units_of_file(opening: str) -> dict[str, Unit]:
    """The same without what the opening remark says of another thing or time."""
    return file_units(said_of_these(opening, TIMES_ELSEWHERE))


@lru_cache(maxsize=64)
def lengths_elsewhere(opening: str) -> str:
    """The unit of lengths other than mm that an opening remark names beside a display or an earlier time: whether it is the file's is to be
    asked; "" for none."""
    found = _ELSEWHERE.search(opening)
    return ("inch" if found["inch"] or found["inches"] else "cm") if found else ""


def counts_in_mm(remark: str) -> bool:
    """Whether a file's opening remark states several measures that are counted in lengths, and all in mm: `steps per mm`,
    `mm/s`. A length beside them is in mm too."""
    stated_units = [unit_written(text) or unit_written(text.lower()) for text in SURE.findall(remark)]
    found = {unit.of: unit.name for unit in stated_units if unit and unit.of in _OF_LENGTHS}
    if any(unit and unit.of in _OF_LENGTHS and not unit.name.startswith("mm") for unit in stated_units):
        return False
    others = len(found) + bool(_PER_MM.search(remark))
    return others > 1 and not _INCHES.search(remark)


def says_feeds(opening: str) -> bool:
    """Whether a file's opening remark says that a feed is a speed: `feeds in mm/min`."""
    return bool(_FEEDS.search(opening))
