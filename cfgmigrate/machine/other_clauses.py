"""Which clauses of a remark speak of another thing or time than the lines it stands beside, or deny what they name.

`supply stands 10 A peak`, `was in ms`, `not rms`: what such a clause names is no statement about the values. Whether a
word of it counts at all is the matter of those who ask.
"""

from __future__ import annotations

import re

from cfgmigrate.ground.pattern import pattern

_CLAUSES = pattern(r"[,;()]|\. | - ")
#: words of a clause that is of another time or thing, or denied
_PAST_OR_DENIED = r"was|were|used to|until|formerly|old|never|not|no|displays?|panel|data ?sheets?|labels?"
TIMES_ELSEWHERE = pattern(
    rf"(?i)\b(?:{_PAST_OR_DENIED}|fans?|lamps?|heaters?)\b[^,;()]{{0,200}}\b(?:ms|milliseconds?)\b|\b(?:ms|milliseconds?)\b[^,;()]{{0,200}}\b(?:{_PAST_OR_DENIED})\b"
)
#: a clause about the most that a current may be says nothing of what it is: `limit 1500 mA peak`
_LIMIT = r"limit(?:s|ed)?|(?<!of )at most|no more than|up to|ceiling|max(?:imum|\.)?"
OF_ANOTHER_CURRENT = pattern(
    rf"(?i)\b(?:{_LIMIT})\b[^,;()]{{0,200}}\d[^,;()]{{0,200}}\b(?:rms|peak)\b|\b(?:rms|peak)[ \t]+limits?\b|\b(?:{_PAST_OR_DENIED}|supply|load|hours?|before)\b[^,;()]{{0,200}}\b(?:rms|peak)\b|\b(?:rms|peak)\b[^,;()]{{0,200}}\b(?:{_PAST_OR_DENIED}|load|hours?|before)\b"
)
#: the same with a number, which may be the line's own: `0.6 ; max 0.6 A peak`
OF_A_LIMIT = pattern(
    rf"(?i)(?:{_LIMIT})[ \t:=]+(?:of[ \t]+|is[ \t]+)?(?P<number>\d{{1,5}}(?:\.\d{{1,4}})?)[ \t]*(?:m?a|amps?|amperes?|milliamps?)?[ \t]*(?P<word>rms|peak)"
)
OF_OTHER_CURRENTS = pattern(
    rf"(?i)\b(?:{_PAST_OR_DENIED}|supply|before|except|but (?:the|for|that)|ax[ie]s|[xyz])\b[^,;()]{{0,200}}\b(?:rms|peak)\b"
    rf"|\b(?:rms|peak)\b[^,;()]{{0,200}}(?:\b(?:{_PAST_OR_DENIED}|before|except|divided|times|load|ax[ie]s|[xyz])\b|\?|\d)"
)

#: the currents of a thing that no motor's driver feeds, and what says that a clause is of others as well
_OF_OTHER_THINGS = pattern(
    r"(?i)\b(?:probe|heater|bed|hot ?end|cartridge|fan|lamp|led|light|laser|sensor|pump|solenoid|magnet|relay)(?:'?s|s')?[ \t]+currents?\b"
)
_OF_MOTORS_TOO = pattern(
    r"(?i)\b(?:and|or|as|like|all|every\w*|any|both|each|others?|same|too|also|feed\w*|driv\w*|extru\w*|motors?|steppers?|coils?|phases?|windings?)\b|[&+/]"
)
#: words by which what is said of the ends of names is of another thing, of another time, denied or in doubt
_OF_ELSE = pattern(
    r"(?i)\b(?:was|were|had|used to|until|formerly|old|older|never|not|no|isn'?t|aren'?t|displays?|panels?|screens?|data ?sheets?|labels?"
    r"|except|other|otherwise|elsewhere|before|once|earlier|previous(?:ly)?|unless|but|save|apart|besides|instead|only (?:for|on|in|of|where|when|if)"
    r"|(?:for|on|of) [\w ]{1,40} only|maybe|perhaps|probably|guess\w*|wrong|untrue)\b|\?"
)
_UNIT = r"(?:mm|cm|µm|um|ms|s|mA|A|millimet\w+|metres?|meters?|inch\w*|microns?|(?:tenth|hundredth|thousandth)s?|(?:milli)?seconds?|minutes?|amp\w*|peak|rms|percent)"
#: what is denied there and takes nothing back: points in numbers, and what the unit isn't
_DENIES_OTHERS = pattern(
    rf"(?i)\b(?:no|not|never)(?: (?:in|an?|any|decimal))* (?:(?:points?|dots?|commas?|decimals?|fractions?)\b|{_UNIT}(?:/\w+)?(?=[ \t]*(?:[,;:.)]|$|and\b|or\b)))"
)
#: another unit for some of the names: `hundredths of a mm, mm for retractions`
_FOR_SOME = pattern(
    rf"(?i)\b(?:for|on|with)\b[^,;()\d]{{0,200}}(?<!\w){_UNIT}\b|(?<![\d.])(?<!\d )\b{_UNIT}\b[^,;()\d]{{0,200}}\b(?:for|on|with)\b"
)
_ENDS_OF_CLAUSE, _NEXT = pattern(r"[,;]|\. "), pattern(r"[,;:.() \t]*")
_GOES_ON = pattern(
    r"(?i)(?:but|except|unless|not?|never|only|save|apart|otherwise|elsewhere|was|were|until|which|that)\b"
)


def of_else(clause: str) -> bool:
    """Whether a clause about the ends of names speaks of another thing or time, denies what it says, or doubts it."""
    return _OF_ELSE.search(clause) is not None


def else_around(text: str) -> bool:
    """The same of what stands around such a clause: `no points` or `not tenths` takes nothing from it."""
    return of_else(_DENIES_OTHERS.sub("", text)) or _FOR_SOME.search(text) is not None


def else_behind(text: str) -> bool:
    """The same of what stands behind a unit, up to where another thing is spoken of: the end of its clause, and each further one that
    goes on about it: `…, but not for retractions`."""
    first, *further = _ENDS_OF_CLAUSE.split(text)
    if of_else(first):
        return True
    for clause in further:
        clause = clause[_NEXT.match(clause).end() :]  # type: ignore[union-attr]
        if not _GOES_ON.match(clause):
            return False
        if else_around(clause):
            return True
    return False


def goes_on(remark: str) -> bool:
    """Whether a remark goes on with what the line above it says, and takes something from it."""
    return _GOES_ON.match(remark.lstrip(" \t(")) is not None


def clauses_of(text: str) -> list[str]:
    """What commas, brackets and full stops part."""
    return [clause.strip(" \t.") for clause in _CLAUSES.split(text)]


def said_of_these(text: str, of_else: re.Pattern[str]) -> str:
    """A text without the clauses that speak of another time, another thing, or in denial."""
    if not of_else.search(text):
        return text
    return ", ".join(clause for clause in _CLAUSES.split(text) if not of_else.search(clause))


def without_other_things(text: str) -> str:
    """A text without the clauses that speak of the currents of other things than motors, and of no others: `probe currents are peak`."""
    if not _OF_OTHER_THINGS.search(text):
        return text
    return ", ".join(
        clause
        for clause in _CLAUSES.split(text)
        if not _OF_OTHER_THINGS.search(clause) or _OF_MOTORS_TOO.search(clause)
    )
