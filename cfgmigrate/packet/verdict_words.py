"""What the words of a reviewer's mail say: consent, a hold, a question, or nothing that could be read.

Words are taken the careful way. To be accepted, an item needs a word of consent with nothing else beside it, neither a
word nor a number nor a sign: "ok, but why 0.1?" is a question, and "accepted tomorrow", "1.5 ok" or "!ok" is not read. A reason
may stand behind a colon, in brackets or behind "because".

Of items, lines and mails this module knows nothing (`answer.py`, `mail_lines.py`).
"""

from __future__ import annotations

import re

from cfgmigrate.packet.review import Verdict

#: words by what they say; a phrase counts before the words in it
_SAYS: tuple[tuple[Verdict, str], ...] = (
    (Verdict.QUESTIONED, r"question(?:ed)?s?|not sure|unsure|unclear|why|how|what|which|\?|perhaps|maybe"),
    (
        Verdict.HELD,
        r"held|hold|not|no|never|don't|do not|doesn't|can't|cannot|isn't|aren't|wasn't|won't|un-?accepted|unacceptable"
        r"|reject(?:ed)?|stop|wait|wrong|refused?|leave|later",
    ),
    (
        Verdict.ACCEPTED,
        r"accept(?:ed|s)?|ok|okay|yes|fine|agreed?|good|approved?|right|correct|all right",
    ),
)
_RESERVED = re.compile(
    r"\b(?:but|if|unless|except|only|once|until|when|should|provided|however|though|otherwise)\b",
    re.IGNORECASE,
)
#: any word that gives a verdict, as a pattern
ANY_VERDICT = "|".join(pattern for _, pattern in _SAYS)
#: words beside a verdict that change nothing about it
FILLERS = frozenset(
    re.findall(
        r"[\w']+",
        "is are was were be look looks seem seems i we me my by for from to with of and also too as well please then here "
        "them it ones items go ahead side that's it's think so",
    )
)
#: the same around a consent: it is one only with nothing else beside it
_BESIDE_CONSENT = FILLERS | frozenset(
    re.findall(r"\w+", "both all very quite now thanks thank you item change changes")
)
_PARTS = re.compile(r"[;,.!()]|\s[-–]\s", re.IGNORECASE)
_REASON = re.compile(r":|\(|\bbecause\b", re.IGNORECASE)
#: what may not stand beside a consent: all signs but those between and behind words
_SIGN = re.compile(r"[^\w\s,.;:()'\"’“”!–-]|(?<!\w)!|--|[-–]>")


def kinds(words: str) -> list[Verdict]:
    """What kinds of verdict these words say, the most telling first; each word counts once."""
    found, left = [], words.replace("\u2019", "'")
    for verdict, pattern in _SAYS:
        matches = rf"(?<![\w'])(?:{pattern})(?!\w)"
        if re.search(matches, left, re.IGNORECASE):
            found.append(verdict)
            left = re.sub(matches, " ", left, flags=re.IGNORECASE)
    return found


def verdict_of(words: str) -> Verdict | None:
    """What words say: consent only where nothing else is said."""
    found = kinds(words)
    if not found:
        return None
    if found == [Verdict.ACCEPTED]:
        if "?" in words or is_reserved(words):
            return Verdict.QUESTIONED
        return Verdict.ACCEPTED if _is_plain(words) else None
    if Verdict.ACCEPTED in found and "?" in words:
        return Verdict.QUESTIONED
    # the verdict stands before the reason: "held: what if it slips"
    first = kinds(re.split(r"[:;,]|\bbecause\b", words.strip(" :,.-"), maxsplit=1)[0])
    if first and first[0] is not Verdict.ACCEPTED:
        return first[0]
    return found[0]


def is_reserved(words: str) -> bool:
    """Whether words set a condition."""
    return _RESERVED.search(words) is not None


def says_nothing(words: str) -> bool:
    """Whether words change nothing about a consent that stands beside them; a number or a sign does."""
    if _SIGN.search(words):
        return False
    return all(word in _BESIDE_CONSENT for word in re.findall(r"[\w']+", words.lower()))


def without_verdicts(words: str) -> str:
    """Words without those that give a verdict."""
    return re.sub(
        rf"(?<![\w'-])(?:{ANY_VERDICT})(?!\w)", " ", words.replace("\u2019", "'"), flags=re.IGNORECASE
    )


def _is_plain(words: str) -> bool:
    """Whether words of consent stand alone, but for the reason behind a colon, in brackets or behind `because`.
    “nicht accepted”, “accepted tomorrow”, “you wrote: accepted” and “ok, far too short” are no consent."""
    said = ""
    for reason in _REASON.split(words):
        said = reason
        if not all(says_nothing(without_verdicts(part)) for part in _PARTS.split(said)):
            return False
        if kinds(said):
            return _SIGN.search(said) is None
    return False
