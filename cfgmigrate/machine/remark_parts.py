"""A remark's parts, one for each letter of its line: `length, speed` behind `L5.5 F40`.

Commas and `and` part them; what stands before the first may be what all are about. Nothing here knows a quantity.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from cfgmigrate.ground.units import unit_written
from cfgmigrate.machine.context import words_said
from cfgmigrate.machine.remarks import NOT_THAT, QUALIFIERS, Stated, stated
from cfgmigrate.machine.vocabulary import vocabulary

LETTERS_OF_AXES = frozenset("XYZE")
_ASIDE = re.compile(
    r"\b(?:was(?! drawn| pulled| taken)|old|before(?! (?:a |each |every |the )?(?:travel|move|jump|trip))|since|formerly|"
    r"until(?! the motors)|because|but|see|"
    r"from the(?! (?:nozzle|tip|jet|head|bed|drive|gear|gears|feeder|wheel|wheels|hob|motor))|instead)\b.*",
    re.I,
)


@dataclass(frozen=True, slots=True)
class ToldCode:
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
    if not described or letter not in letters:
        return ()
    own, others = letters.index(letter), [each for each in letters if each not in LETTERS_OF_AXES]
    if len(letters) == 1 or not others:
        whole = " ".join(described)
        ways = dict.fromkeys((f"{whole} {meant}" if meant != whole else whole, whole, described[0]))
        return tuple(ToldCode(without_unit(each), "", told) for each in ways)
    joined = [each for part in described for each in _AND.split(part)]
    first = _AND.split(described[0])
    for parts in (first, described, joined):
        if len(parts) == len(letters) or (len(parts) > len(letters) and parts is described):
            return _one_of_several(parts, len(letters), own, told)
    units = [part for each in found if only_unit(each) for part in _AND.split(each)]
    if len(described) == 1 and len(units) == len(letters):
        own_unit = stated(units[own].strip())
        return (ToldCode(" ".join(words_said("", own_unit.unit)) or " ", described[0], own_unit),)
    return (ToldCode(without_unit(described[0]), "", told),) if beside and letter == letters[-1] else ()


def _one_of_several(parts: list[str], count: int, own: int, told: Stated) -> tuple[ToldCode, ...]:
    """The part of a remark that is about one of several letters. The first may begin with what all are about:
    `retraction length and speed`."""
    before, wanted = parts[:-count], parts[-count:]
    mine, unit = wanted[own], stated(wanted[own])
    shared = without_unit(wanted[0]).split()[:-1] if own else []
    own_told = Stated(unit.unit, unit.qualifier or told.qualifier, mine)
    subjects = [" ".join((*before, *shared)), *([" ".join(before)] if before and shared else [])]
    return tuple(ToldCode(without_unit(mine), subject, own_told) for subject in subjects)


_AND = re.compile(r" and | & | [+] | / ")
_TRUTH = re.compile(r"[,;(]?[ 	]*\b([01])[ 	]*(?:=|:|is|means)[ 	]*([^,;()]+)\)?", re.I)
_YES = re.compile(r"yes|no|true|false|on|off|y|n", re.I)


def _of_truth(remark: str) -> tuple[str, str]:
    """A remark without what it says of a switch's numbers, and what 1 means: of `reversed, 1 = yes` it is `reversed`.
    Nothing where 1 is said to mean the opposite of a truth: such a number would be taken the wrong way."""
    told = {found[1]: found[2].strip() for found in _TRUTH.finditer(remark)}
    if not told:
        return remark, ""
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
