"""A remark's parts, one for each letter of its line: `length, speed` behind `L5.5 F40`.

Commas and `and` part them; what stands before the first may be what all are about. Nothing here knows a quantity.
"""

from __future__ import annotations

import re

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import Unit, unit_written
from cfgmigrate.machine.context import words_said
from cfgmigrate.machine.rms_or_peak import NOT_THAT, QUALIFIERS
from cfgmigrate.machine.stated import NOTHING, Stated, stated
from cfgmigrate.machine.vocabulary import vocabulary

LETTERS_OF_AXES = frozenset("XYZE")
#: words of a rate
RATE_WORDS = frozenset({"feed", "speed", "rate", "feedrate", "velocity"})
_ASIDE = pattern(
    r"\b(?:was(?! drawn| pulled| taken)|old|before(?! (?:a |each |every |the )?(?:travel|move|jump|trip))|since|formerly|"
    r"until(?! the motors)|because|but|see|"
    r"from the(?! (?:nozzle|tip|jet|head|bed|drive|gear|gears|feeder|wheel|wheels|hob|motor))|instead)\b.*",
    re.I,
)


class ToldCode(Struct, frozen=True):
    """What a remark says of one letter: its words, what they are about, and the unit that is stated of it."""

    words: str
    subject: str
    told: Stated


def told_of(
    remark: str, told: Stated, letters: tuple[str, ...], letter: str, beside: bool = True
) -> tuple[ToldCode, ...]:
    """What a remark may say of one letter of its line, the likeliest first; () for nothing. One description is the last
    letter's where it stands `beside` it on the line."""
    remark, meant = _of_truth(remark)
    remark = NOT_THAT.sub("", remark)
    found = [
        part for each in re.split(r"[,:;(]|\. | - ", remark) if (part := _ASIDE.sub("", each).strip(" )"))
    ]
    described = [part for part in found if not only_unit(part)]
    if not described and told.unit is not None and told.unit.of == "number per length":
        described = [" ".join(words_said("", told.unit))]  # steps per mm say what they are
    if not described or letter not in letters:
        return ()
    own, others = letters.index(letter), [each for each in letters if each not in LETTERS_OF_AXES]
    if len(letters) == 1 or not others:
        whole = " ".join(described)
        ways = dict.fromkeys((f"{whole} {meant}" if meant != whole else whole, whole, described[0]))
        return tuple(ToldCode(without_unit(each), "", told) for each in ways)
    joined = [each for part in described for each in _AND.split(part)]
    first = _AND.split(described[0])
    of_all = [part for part in found if only_unit(part)]
    for parts in (first, described, joined):
        if len(parts) == len(letters) and parts is not described and len(of_all) == 1:
            told = replace(told, unit=_length(of_all[0], parts))
            return tuple(
                replace(each, told=replace(each.told, unit=each.told.unit or told.unit))
                for each in _one_of_several(parts, len(letters), own, told)
            )
        if len(parts) == len(letters) or (len(parts) > len(letters) and parts is described):
            return _one_of_several(parts, len(letters), own, told)
    units = [part for each in found if only_unit(each) for part in _AND.split(each)]
    if len(described) == 1 and len(units) == len(letters):
        own_unit = stated(units[own].strip())
        return (ToldCode(" ".join(words_said("", own_unit.unit)) or " ", described[0], own_unit),)
    own_words = without_unit(described[0])
    of_one = (
        beside and letter == letters[-1] and len(own_words.split()) > 1
    )  # `retraction` is said of all letters
    return (ToldCode(own_words, "", told),) if of_one else ()


def _length(unit: str, parts: list[str]) -> Unit | None:
    """The unit of lengths behind several parts, none of which has one or is a rate: `load and unload, mm`."""
    found = stated(unit).unit
    rates = any(not RATE_WORDS.isdisjoint(part.lower().split()) or stated(part).unit for part in parts)
    return found if found and found.of == "length" and not rates else None


def _one_of_several(parts: list[str], count: int, own: int, told: Stated) -> tuple[ToldCode, ...]:
    """The part of a remark that is about one of several letters. The first may begin with what all are about:
    `retraction length and speed`."""
    before, wanted = parts[:-count], parts[-count:]
    mine, unit = wanted[own], stated(wanted[own])
    shared = without_unit(wanted[0]).split()[:-1] if own else []
    own_told = Stated(unit.unit, unit.qualifier or told.qualifier, mine)
    subjects = [" ".join((*before, *shared)), *([" ".join(before)] if before and shared else [])]
    return tuple(ToldCode(without_unit(mine), subject, own_told) for subject in subjects)


_AND = pattern(r" and | & | [+] | / ")
_TRUTH = pattern(
    r"[,;(]?(?<![ \t])[ \t]*+\b([01])[ \t]*(?:(?:=|:|is|means)[ \t]*([^,;()]+)|(yes|no|true|false|on|off)\b)\)?",
    re.I,
)
#: the same with the word before the number: `yes 1 no 0`
_SAID_FIRST = pattern(r"\b(yes|no|true|false|on|off)[ \t]*(?:=|:|is)?[ \t]*([01])\b", re.I)
#: the two numbers of a switch without what they mean
_SWITCH = pattern(r"[,;(]?(?<![ \t])[ \t]*+\b(?:0[ \t]*(?:or|/)[ \t]*1|1[ \t]*(?:or|/)[ \t]*0)\b", re.I)
_BACK_TO_FRONT = pattern(r"\bback to front\b", re.I)
_YES = pattern(r"yes|no|true|false|on|off|y|n", re.I)


def _of_truth(remark: str) -> tuple[str, str]:
    """A remark without what it says of a switch's numbers, and what 1 means: of `reversed, 1 = yes` it is `reversed`.
    Nothing where 1 is said to mean the opposite of a truth: such a number would be taken the wrong way."""
    remark = _SAID_FIRST.sub(r"\2 = \1,", remark)
    told = {found[1]: (found[2] or found[3]).strip() for found in _TRUTH.finditer(remark)}
    if not told:
        return remark, ""
    remark = _BACK_TO_FRONT.sub("reversed", _SWITCH.sub("", remark))
    truths = vocabulary().opposites
    meant, other = told.get("1", ""), told.get("0", "")
    if truths.get(meant.lower()) is False or truths.get(other.lower()) is True:
        return "", ""
    meant = "" if _YES.fullmatch(meant) else meant
    return _TRUTH.sub("", remark).strip(" ,;:") or meant, meant


def only_unit(part: str) -> bool:
    if (several := _AND.split(part)) != [part]:
        return all(only_unit(each) for each in several)
    words = [word for word in part.split() if word.lower() not in QUALIFIERS]
    found = stated(part)
    return not words or (found.unit is not None and not without_unit(part))


def without_unit(part: str) -> str:
    """A part of a remark without the unit that it ends or begins with, and without `rms` or `peak`."""
    words = [word for word in part.split() if word.lower() not in QUALIFIERS]
    unit = stated(part).unit
    if unit is None:
        return " ".join(words)
    for count in range(1, min(4, len(words)) + 1):
        for rest, text in ((words[:-count], words[-count:]), (words[count:], words[:count])):
            if unit_written(" ".join(text)) is unit:
                return " ".join(rest[:-1] if rest[-1:] == ["in"] else rest)
    return " ".join(words)


#: what only counts the parts of a file, before a heading's own words
_COUNTED_PART = pattern(
    r"(?:[-=*~#]{2,}[ \t]*)?(?:(?:part|section|block)?[ \t]*\d+[.):]|[a-z]+[ \t]+(?:part|section|group|block)[ \t]*:)[ \t]*",
    re.I,
)


def counted_heading(text: str) -> tuple[str, Stated]:
    """A heading's own words, without what counts it, and what it states behind them: `3. Coil currents, mA RMS`."""
    counted = _COUNTED_PART.match(text)
    text = text[counted.end() :] if counted else text
    words, _, behind = text.partition(",")
    told = stated(behind.strip())
    return (words.strip(), told) if "=" not in words and (counted or told.unit) else (text, NOTHING)
