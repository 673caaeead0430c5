"""What one remark states of the value beside it: its unit, whether a current is rms or peak, and in which words.

A remark behind a value often says its unit (`240 ; mm/min`), sometimes what the number is. A unit is taken where it is
the remark, or begins or ends one of its first parts; one in the middle of prose may be of anything. A remark that is a
setting which somebody took out of force states nothing.

Which remark is a line's is told in `remarks.py`, and what its words name is the matter of `matching.py`.
"""

from __future__ import annotations

import re
from functools import lru_cache

from msgspec import Struct

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import Unit, unit_written, units
from cfgmigrate.machine import rms_or_peak
from cfgmigrate.machine.rms_or_peak import QUALIFIERS

#: a longer remark is prose: only what stands before its first comma or dot is looked at
MOST_WORDS = 9
#: letters of a remark of which it is kept what it states
_SHORT = 200
#: a remark that calls a number a share of something, which is no amount
OF_A_SHARE = pattern(
    r"(?:(?:as |in )?(?:an? |the )?(?:part|proportion|multiple)s? )?(?:of|times) the (?:run|running|moving|full|drive)(?:[ -](?:current|one))\b|times (?:the )?run(?:ning)?\b"
    r"|(?:in )?(?:per ?cent\b|%)|(?:as |in )?(?:an? )?(?:share|fraction|portion)s?(?=[ \t]*(?:[,;:.(]|$)|[ \t]+of\b"
    r"(?![ \t]+(?:(?:an?|one|the)[ \t]+)?(?:full[ \t]+)?(?:mm|milli|cm|inch|amp|sec|step|turn|µm|micron)))",
    re.I,
)
_THOUSANDTHS = pattern(
    r"\bthousandths? of (?:an? |one )?(amperes?|amps?|seconds?)\b", re.I, needs=("thousandth",)
)
#: behind a second that is no minute's: not the second of several
_TIME_ENDS = r"(?=[ \t]*(?:[^\w \t]|$|(?:at|of|when|while|and)\b))"
#: an acceleration as what is gained of a speed: `mm/s, gained in a second`
_GAINED = pattern(
    r"\bmm ?(?:/ ?|per |an? |in an? |each )s(?:ec(?:ond)?)?,?(?: (?:gained|added|more|faster|change|of change))?"
    r" (?:per|in an?|in one|in each|in every|each|every|an?) s(?:ec(?:ond)?)?\b" + _TIME_ENDS,
    re.I,
    needs=("per s", "a s", "an s", "one s", "each s", "every s"),
)
#: what people say for `per`: `mm in a second`, `steps for each mm`
_FOR_EACH = pattern(
    r"\b(?<!cubic )(?<!square )(mm|millimet(?:re|er)s?|(?:micro)?steps?|pulses?) (?:in (?:an?|one|each|every)|(?:for )?(?:each|every)|for (?:one|an?)|to (?:an?|the|one|each))"
    rf" (?=(?:s|sec|second|min|minute)\b{_TIME_ENDS}|(?:mm|millimet(?:re|er))\b)",
    re.I,
)
#: an article for `per`, however it is written: `mm A MINUTE here`; a minute that goes by is none, nor is a second one
_A_TIME = pattern(
    r"\b(?<!cubic )(?<!square )(mm) (?:(?:an?|per) (minute)\b(?! (?:later|ago|after|before|long|longer|more|or|of)\b)|an? (second)\b(?=[ \t]*(?:[^\w \t]|$|here\b)))",
    re.I,
    needs=("mm a", "mm per m"),
)
#: the same of steps, where nothing goes on that it could do by steps
_A_MM = pattern(
    r"\b((?:micro)?steps|pulses) a (mm|millimet(?:re|er))\b(?=[ \t]*(?:[^\w \t]|$)|[ \t]+(?-i:[A-Z])(?![\w']))",
    re.I,
    needs=("s a m",),
)
_ONLY_UNIT = pattern(
    r"(?:(?:all|every|the|these) )?(?:lengths?|speeds?|currents?|accelerations?|numbers?|values?|everything|distances?|times?)?"
    r" ?(?:are|is)? ?(?:in|:)? ?([^ ,;:].{0,40}?)(?:,? (rms|r\.m\.s\.|peak))?[.:]?",
    re.I,
)
#: the unit behind a remark's own words, in brackets
SET_OFF = pattern(r"(?<=[A-Za-z])[ \t]+[(\[]([^()\[\]]{1,20})[)\]][ \t.:]*$")
PARTS = pattern(r"[,;:(){}]|\. |\.$| - | – |=")
TAKEN_OUT = pattern(r"[\w.\- /\[\]]{1,60}[ \t]*[:=][ \t]*[-+.\d\"']|define[ \t]|[A-Z]\d+ [A-Z]-?\d")
#: units that words of prose can't be taken for
SURE = pattern(
    r"(?<![\w/])(mm per minute|mm per second|mm/min|mm_min|mm/sec|mm/s\^?2|mm/s²|mm/s|m/min|m/s\^?2|m/s²|m/s|mA|ms|mm|(?<!\d)(?<!\d )cm|µs|mohm|milliamps?|amps|"
    r"amperes|milliseconds|seconds|millimetres|MM PER MINUTE|MM PER SECOND|MILLIAMPS?|MM/S/S|MM/S|MM/MIN|MA)(?![\w/^²])"
)
#: `min` by itself may be the least of something
_MINUTES = pattern(
    r"minutes?\b(?! per)|min (?:without|idle|after|until|of idling)\b", re.I, needs=("minute", "min ")
)
LETTER_UNIT = pattern(
    r"(?:(?<=[,;(] )|(?<=in )|(?<=[,;(])|(?<=^))(A|s|V)(?= ?(?:[,;.)(]|$|rms|peak|RMS|PEAK|and|unless))"
)


class Stated(Struct, frozen=True):
    """What a remark states: a unit, `rms` or `peak`, and its first words."""

    unit: Unit | None = None
    qualifier: str = ""
    words: str = ""


NOTHING = Stated()


@lru_cache(maxsize=8192)
def _in_units(text: str) -> str:
    text = _A_TIME.sub(lambda found: f"mm per {(found[2] or found[3]).lower()}", _GAINED.sub("mm/s^2", text))
    text = _FOR_EACH.sub(r"\1 per ", _A_MM.sub(r"\1 per \2", text))
    return _THOUSANDTHS.sub(lambda found: f"m{'A' if found[1][0] in 'aA' else 's'}", text)


def in_units(text: str) -> str:
    """A remark with units for what people say of them: `mm per second` for mm in a second, `mm/s^2` for mm/s that are gained in one;
    `mA` for thousandths of an ampere and `ms` for those of a second, since the word alone would say 1000 times as much."""
    return _in_units(text) if len(text) <= _SHORT else _in_units.__wrapped__(text)


def stated(remark: str) -> Stated:
    """What a line's remark states of its value. The same short remarks stand behind many lines, and are asked for their
    parts as well."""
    return _stated(remark) if len(remark) <= _SHORT else _stated.__wrapped__(remark)


@lru_cache(maxsize=8192)
def _stated(remark: str) -> Stated:
    if not remark or TAKEN_OUT.match(remark):
        return NOTHING
    parts = [part.strip() for part in PARTS.split(remark)]
    unit = next((found for part in parts[:3] if (found := _unit_of(part))), None)
    words = parts[0] if len(parts[0].split()) <= MOST_WORDS else ""
    if unit is not None and len(parts) > 1 and _unit_of(parts[0]) is unit and len(parts[1].split()) <= 3:
        words = f"{parts[0]} {parts[1]}"
    return Stated(unit, rms_or_peak.of_line(remark), words)


def states_anything(text: str) -> bool:
    """Whether a text states a unit, or `rms` or `peak`, wherever in it."""
    return rms_or_peak.calls_either(text) or bool(SURE.search(text) or LETTER_UNIT.search(text))


def only_unit(remark: str) -> Stated:
    """The unit that a remark is, with `rms` or `peak`, and nothing else."""
    found = _ONLY_UNIT.fullmatch(remark) if len(remark) <= 80 else None
    unit = (unit_written(found[1]) or unit_written(found[1].lower())) if found else None
    if found is None or unit is None or (len(found[1]) < 2 and found[1] not in "AsV"):
        return NOTHING
    said = (found[2] or "").lower()
    return Stated(unit, "rms" if said.startswith("r") else said)


def set_off(remark: str) -> Stated:
    """The unit that stands in brackets behind a remark of a few words, with `rms` or `peak`."""
    found = SET_OFF.search(remark)
    return only_unit(found[1].strip()) if found and len(remark) <= 80 else NOTHING


#: no article stands before `rms`; behind a part that is counted by letters it is that letter
_AMPS_AT_THE_END = pattern(
    r"(?<!feeder)(?<!motor)(?<!coil)(?<!phase)(?<!driver)(?<!tool)(?<!head)(?<=[A-Za-z])[ \t]A[ \t]+(?:(?i:rms|peak|r\.m\.s\.?|pk)\b|RMS)[.]?$"
)


def _unit_of(part: str) -> Unit | None:
    """The unit that a part of a remark is, or begins or ends with."""
    if _MINUTES.match(part):
        return units()["min"]
    words = [word for word in part.split() if word.lower() not in QUALIFIERS and word.strip("!?*")]
    for count in range(min(4, len(words)), 0, -1):
        text = " ".join(words[:count])
        if (found := unit_written(text)) and (count == len(words) or _sure(text)):
            return found
    for count in range(min(4, len(words)), 0, -1):
        text = " ".join(words[-count:])
        if (found := unit_written(text)) and (_sure(text) or words[-count - 1 : -count] in _BEFORE_UNIT):
            return found
    return units()["A"] if _AMPS_AT_THE_END.search(part) else None


#: words behind which even a fraction of a mm is the unit; behind others it may be how exact a number is
_BEFORE_UNIT = (["in"], ["unit"], ["units"])


def _sure(text: str) -> bool:
    return (
        bool(SURE.fullmatch(text))
        or text in ("per mm", "steps per mm", "ohm", "Hz", "deg", "degC")
        or ("/" in text and not text[0].isdigit())
    )
