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
    rf"(?i)\b(?:{_PAST_OR_DENIED}|fans?|lamps?|heaters?)\b[^,;()]*\b(?:ms|milliseconds?)\b|\b(?:ms|milliseconds?)\b[^,;()]*\b(?:{_PAST_OR_DENIED})\b"
)
OF_ANOTHER_CURRENT = pattern(
    rf"(?i)\b(?:{_PAST_OR_DENIED}|supply|load|hours?|before)\b[^,;()]*\b(?:rms|peak)\b|\b(?:rms|peak)\b[^,;()]*\b(?:{_PAST_OR_DENIED}|load|hours?|before)\b"
)
OF_OTHER_CURRENTS = pattern(
    rf"(?i)\b(?:{_PAST_OR_DENIED}|supply|before|except|but (?:the|for|that)|ax[ie]s|[xyz])\b[^,;()]*\b(?:rms|peak)\b"
    rf"|\b(?:rms|peak)\b[^,;()]*(?:\b(?:{_PAST_OR_DENIED}|before|except|divided|times|load|ax[ie]s|[xyz])\b|\?|\d)"
)

#: words by which what is said of the ends of names is of another thing, of another time, or denied
OF_ELSE = pattern(
    r"(?i)\b(?:was|were|had|used to|until|formerly|old|older|never|not|no|isn'?t|aren'?t|displays?|panels?|screens?|data ?sheets?|labels?"
    r"|except|other|before|once|earlier|previous(?:ly)?)\b"
)


def said_of_these(text: str, of_else: re.Pattern[str]) -> str:
    """A text without the clauses that speak of another time, another thing, or in denial."""
    if not of_else.search(text):
        return text
    return ", ".join(clause for clause in _CLAUSES.split(text) if not of_else.search(clause))
