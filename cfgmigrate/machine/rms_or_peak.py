"""Whether a remark calls currents rms or peak: those of one line, or all of a file.

The trade has other words for both, effective and amplitude. What is denied, or said of another current, calls these
neither; and of what is called both nobody can tell which it is.
"""

from __future__ import annotations

import re

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.other_clauses import (
    OF_A_LIMIT,
    OF_ANOTHER_CURRENT,
    OF_OTHER_CURRENTS,
    clauses_of,
    said_of_these,
    without_other_things,
)

QUALIFIERS = ("rms", "peak")
#: what a remark says of a current that it calls both: nobody can tell which the number is
UNCLEAR = "rms or peak"
#: behind one of the two that a remark says of another number
OF_ANOTHER = "?"
#: a word that is denied, and the formula from one to the other
NOT_THAT = pattern(
    r"\b(?:not|no|never|isn.?t|instead of|rather than)[ \t]+(?:an?[ \t]|in[ \t]|the[ \t])?(?:rms|peak)\b"
    r"|\b(?:rms|peak)[ \t]*=[^,;.)]*(?:\.\d[^,;.)]*)*",
    re.I,
    needs=("rms", "peak"),
)
_DOTTED_RMS = pattern(r"\br\. ?m\. ?s\b\.?", re.I)
#: the trade's other word for rms, where it is not about a gear or a length
_EFFECTIVE = pattern(
    r"\b(?:effective\b|eff(?:\.|\b(?!\.)))(?![ \t]*(?:diameter|radius|length|way|travel|gear|steps?|from|since|until|date))"
)
#: the trade's other words for peak, where they are of a current
_AMPLITUDE = pattern(
    r"\b(currents?|ma|(?:milli)?amp(?:ere)?s?)\b((?:[ \t]+[a-z]+){0,2}[ \t]*[,:(]?[ \t]*)(?:amplitudes?|crests?)\b"
    r"|\b(a[ \t]+)amplitudes?\b",
    needs=("amplitude", "crest"),
)
#: short for peak, beside the unit of a current
_SHORT_PEAK = pattern(r"(?<![a-z])(m?a|amps?)[ \t]?_?pk\b", needs=("pk",))
#: the same in a head, where it is said of currents
_OF_CURRENTS = pattern(
    r"\b(currents?(?:[ \t,:(]+(?:in|as|are|is|all|the|ma|a|amps?|amperes?|milliamps?|given|stated|written))*|(?:milli)?amp(?:ere)?s?|ma)[ \t,(]+eff(?:ective\b|\.|\b(?!\.))"
    r"(?=[ \t]*(?:[,;:.()]|$)|[ \t]+(?:values?|ones?|figures?|amps?|amperes?|and|not|unless|everywhere|throughout)\b)",
    needs=("eff",),
)
_PLAIN = pattern(r"\d{1,5}(?:\.\d{1,4})?")
_UNLESS = pattern(r"\b(?:unless|except)\b[^.;]*")


def of_line(remark: str) -> str:
    """`rms` or `peak`, as a line's remark says of its current; `UNCLEAR` for both, "" for neither."""
    usual = NOT_THAT.sub("", _DOTTED_RMS.sub("rms", _in_usual_words(remark.lower())))
    return _one_of(said_of_these(usual, OF_ANOTHER_CURRENT))


def of_own_limit(remark: str, value: str) -> str:
    """`rms` or `peak`, as a remark says of a limit that has the very number of its line; "" where it says of none so."""
    for clause in clauses_of(_DOTTED_RMS.sub("rms", remark.lower())):
        found = OF_A_LIMIT.fullmatch(clause)
        if found and (own := _PLAIN.match(value.strip())) and float(own[0]) == float(found["number"]):
            return found["word"]
    return ""


def of_file(opening: str) -> str:
    """`rms` or `peak`, as a file's opening remark says of all its currents; `UNCLEAR` for both, "" for neither."""
    said = _OF_CURRENTS.sub(r"\1 rms", _UNLESS.sub("", opening.lower()))
    said = _SHORT_PEAK.sub(r"\1 peak", _AMPLITUDE.sub(r"\1\2\3peak", NOT_THAT.sub("", said)))
    said = without_other_things(said_of_these(said, OF_OTHER_CURRENTS))
    return _one_of(said)


#: a remark beside one current that speaks of all: `rms, like all amps here`
_LIKE_ALL = pattern(
    r"(?:[#;(*]|//)[ \t]*([^\r\n]{0,60}\b(?:like|as|so are|as are|same as|same for|and so are)[ \t,]+(?:all|every|the)(?:[ \t]+(?:the|other|of the)){0,2}"
    r"[ \t]+(?:currents?|ma|(?:milli)?amp(?:ere)?s?)\b[^\r\n]{0,40})",
    re.I,
    needs=("like", "as", "so are", "same for"),
)
#: words of a remark that says of all currents what they are, and of nothing else: any other may make it one about a driver, a fuse, some
#: of them or another machine
_WORD_OF_ALL = (
    r"(?:rms|r\.m\.s\.?|peak|effective|eff\.?|amplitudes?|crest|currents|(?:motor|run|running|hold|holding)[ \t]+current|m?a|(?:milli)?amp(?:ere)?s?"
    r"|the|all|every|these|other|motors?|steppers?|coils?|values?|in|are|is|so|like|as|same|of|for|here|below|everywhere|this[ \t]+file"
    r"|as[ \t]+the[ \t]+(?:tester|meter|drivers?|boards?|(?:driver|board)'?s[ \t]+sheet)[ \t]+(?:shows?|has|have|says?|gives?|wants?|takes?|reads?)[ \t]+(?:it|them))"
)
_OF_ALL_ALONE = pattern(rf"[-=*~#/ \t]*(?:{_WORD_OF_ALL}(?![\w'])[-,:;.()=*~#/ \t]*){{1,20}}", re.I)
_OF_ANOTHER_PLACE = pattern(r"\bother[ \t]+(?:motors?|steppers?|coils?|boards?)\b", re.I)
#: a clause about currents at all
_OF_A_CURRENT = pattern(r"\b(?:currents?|ma|(?:milli)?amp(?:ere)?s?|a (?:rms|peak))\b", re.I)


def _is_of_all(remark: str) -> bool:
    """Whether a remark says what all currents are, and has no word about anything else."""
    return _OF_ALL_ALONE.fullmatch(remark) is not None and _OF_ANOTHER_PLACE.search(remark) is None


def of_all(text: str) -> str:
    """`rms` or `peak`, as a remark beside one line of a text says it of all currents; `UNCLEAR` where two say otherwise, "" for neither."""
    small = text.lower()
    if not any(word in small for word in QUALIFIERS):
        return ""
    all_of_these = (found for found in _LIKE_ALL.findall(text) if _is_of_all(found))
    said = {word for found in all_of_these if (word := of_line(found))}
    return said.pop() if len(said) == 1 else UNCLEAR if said else ""


def of_heading(remark: str) -> str:
    """`rms` or `peak`, as a remark above a run of lines says of all their currents; "" for neither, and for both."""
    said = of_file(remark) if _OF_A_CURRENT.search(remark) and _is_of_all(remark) else ""
    return said if said in QUALIFIERS else ""


def calls_either(text: str) -> bool:
    """Whether a text has a word for one of the two, wherever in it."""
    return any(word in _in_usual_words(_DOTTED_RMS.sub("rms", text.lower())) for word in QUALIFIERS)


def _in_usual_words(text: str) -> str:
    """A text with `rms` for effective currents and `peak` for amplitudes."""
    return _SHORT_PEAK.sub(r"\1 peak", _AMPLITUDE.sub(r"\1\2\3peak", _EFFECTIVE.sub("rms", text)))


def _one_of(text: str) -> str:
    text = NOT_THAT.sub("", _DOTTED_RMS.sub("rms", text))
    found = [word for word in QUALIFIERS if re.search(rf"\b{word}\b", text)]
    return found[0] if len(found) == 1 else UNCLEAR if found else ""
