"""The rule of a driver's screw as people say it: `1.25 A per volt`, `one volt is 1.25 ampere`, `volts times 1.25 = ampere`,
`V = 0.8 x A`. It is a ratio, and which way round it stands is all that matters: the wrong one burns a motor.

What says no rule in one of these forms is none of its business; volts for each ampere, with their unit, are read as they
stand by `ground/quantity_text.py`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from cfgmigrate.ground.pattern import pattern

_NUMBER = r"(?:\d+(?:[.,]\d+)?|[.,]\d+|one|an?|each|every)"
_VOLTS, _AMPERES = r"(?:volts?|v(?:ref)?|voltage)", r"(?:amperes?|amps?|a|i|current)(?:\s*(?:rms|effective))?"
_PER = r"\s*(?:/|\bper\b|\bfor\b|\bto(?:\s+the)?\b|\bat\b|\ba\b(?=\s+v))\s*"
#: what stands between two figures of a motor, and not only of its rule
_BESIDE = pattern(r"(?i)\b(?:at|for)\b")
#: what goes on behind a rule that is looked for: it is part of a longer one
_GOES_ON = pattern(r"(?i)\s*(?:[*x×·/÷.,]?\s*\d|[*x×·/÷]|times\b|over\b|divided\b)")
_IS = r"\s*(?:=|:|\bis\b|\bare\b|\bgives?\b|\bmakes?\b|\bmeans?\b)\s*"
_TIMES, _OVER = r"\s*(?:[*x×·]|\btimes\b)\s*", r"\s*(?:/|÷|\bdivided by\b|\bover\b)\s*"


def _both(first: str, between: str, second: str) -> str:
    return rf"(?P<one>{_NUMBER})\s*{first}\b{between}(?P<other>{_NUMBER})?\s*{second}\b"


#: each with the sides of the ratio of volts to amperes: where the number of volts stands, and that of amperes
_RULES = (
    (pattern(_both(_AMPERES, _PER, _VOLTS), re.I), "other", "one"),
    (pattern(_both(_VOLTS, _PER, _AMPERES), re.I), "one", "other"),
    (pattern(rf"(?P<one>{_NUMBER})\s*{_VOLTS}\b{_IS}(?P<other>{_NUMBER})\s*{_AMPERES}\b", re.I), "one", "other"),
    (pattern(rf"(?P<one>{_NUMBER})\s*{_AMPERES}\b{_IS}(?P<other>{_NUMBER})\s*{_VOLTS}\b", re.I), "other", "one"),
    (pattern(rf"\b{_VOLTS}{_TIMES}(?P<one>{_NUMBER}){_IS}{_AMPERES}\b", re.I), "", "one"),
    (pattern(rf"\b{_AMPERES}{_IS}{_VOLTS}{_TIMES}(?P<one>{_NUMBER})", re.I), "", "one"),
    (pattern(rf"\b{_AMPERES}{_IS}(?P<one>{_NUMBER}){_TIMES}{_VOLTS}\b", re.I), "", "one"),
    (pattern(rf"\b{_AMPERES}{_TIMES}(?P<one>{_NUMBER}){_IS}{_VOLTS}\b", re.I), "one", ""),
    (pattern(rf"\b{_VOLTS}{_IS}{_AMPERES}{_TIMES}(?P<one>{_NUMBER})", re.I), "one", ""),
    (pattern(rf"\b{_VOLTS}{_IS}(?P<one>{_NUMBER}){_TIMES}{_AMPERES}\b", re.I), "one", ""),
    (pattern(rf"\b{_AMPERES}{_IS}{_VOLTS}{_OVER}(?P<one>{_NUMBER})", re.I), "one", ""),
    (pattern(rf"\b{_VOLTS}{_OVER}(?P<one>{_NUMBER}){_IS}{_AMPERES}\b", re.I), "one", ""),
    (pattern(rf"\b{_VOLTS}{_IS}{_AMPERES}{_OVER}(?P<one>{_NUMBER})", re.I), "", "one"),
)  # fmt: skip
#: V; what is set at a driver's screw is no more (common practice, no source)
_MOST_AT_A_SCREW = 3.5
#: letters of a text in which rules are looked for
LONGEST_OF_A_RULE = 300
_PEAK = pattern(r"(?i)\bpeak\b")


def volts_per_ampere(said: str, whole: bool = True) -> float | None:
    """The volts for each ampere by a rule in words; `whole` says that nothing else may stand beside it. None for none,
    and where it counts the peak."""
    if _PEAK.search(said):
        return None
    return next(_rules_in(said.strip().rstrip("."), whole), None)


def _rules_in(said: str, whole: bool) -> Iterator[float]:
    for rule, volts, amperes in _RULES:
        found = rule.fullmatch(said) if whole else rule.search(said[:LONGEST_OF_A_RULE])
        if found is None or not (whole or _BESIDE.search(found[0]) is None):
            continue
        if not whole and _GOES_ON.match(said, found.end()):
            continue
        over, under = (_number(found[each]) if each else 1.0 for each in (volts, amperes))
        # two figures neither of which is one may be a motor's or a supply's, `24 V = 1.2 A`
        if (
            over
            and under
            and (whole or (over, under) != (1.0, 1.0))
            and (1.0 in (over, under) or over <= _MOST_AT_A_SCREW)
        ):
            yield over / under


def _number(said: str | None) -> float:
    if said is None or said.isalpha():
        return 1.0
    return float(said.replace(",", "."))
