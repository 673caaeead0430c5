"""What the words of a reviewer's mail say: consent, a hold, a question, or nothing that could be read.

Words are taken the careful way. To be accepted, an item needs one of a few whole phrases ("ok", "looks good to me", "I accept")
with nothing else beside it, neither a word nor a number nor a sign: "ok, but why 0.1?" is a question, and "accepted tomorrow",
"to be accepted", "1.5 ok" or "!ok" is not read. A reason may stand behind a colon, in brackets or behind "because".

Of items, lines and mails this module knows nothing (`answer.py`, `mail_lines.py`).
"""

from __future__ import annotations

import re

from cfgmigrate.ground.pattern import pattern
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
_RESERVED = pattern(
    r"\b(?:but|if|unless|except|only|once|until|when|should|provided|however|though|otherwise|(?:as|so) long as|assuming|subject to"
    r"|on condition|pending|given that|in principle|withdrawn|disagree|(?:after|before) (?:you|it|that|this|we|they|i|somebody|someone))\b",
    re.IGNORECASE,
)
#: what sets a condition wherever it stands, as a word such as `when` in a greeting does not
_CONDITION = pattern(
    r"\b(?:unless|except|only if|until|provided|assuming|subject to|on condition|pending|withdrawn|disagree|(?:do not|don't|not to) install)\b"
    r"|^if\b(?! you have| there (?:is|are) any)|\bi would wait\b",
    re.IGNORECASE,
)
#: what is said of a whole mail, of which no consent is the writer's last word
_NOT_FINAL = pattern(
    r"\b(?:draft|preliminary|provisional|not (?:yet |quite )?final|as (?:the |my )?final)\b|^(?:from|in|out of) .*\bmail\s?:$",
    re.IGNORECASE,
)
#: any word that gives a verdict, as a pattern
ANY_VERDICT = "|".join(pattern for _, pattern in _SAYS)
_CONSENTS = "accepted|okay|ok|fine|good|agreed|approved|right|correct|all right|yes"
#: what may follow a consent, and stand before the items or behind all that a mail has to say
_CLOSING = "thanks|thank you|cheers|(?:(?:best|kind|warm) )?(?:regards|wishes)|yours|bye"
_TRAILING = (
    rf"(?:(?:to|by|with|for) (?:me|us)|too|as well|now|here|then|go ahead|i think|from my side|{_CLOSING})"
)
_CONSENT = pattern(
    rf"(?:(?:yes|that's|it's|they|both|all) )*"
    rf"(?:(?:i|we) (?:accept|agree|approve)(?: (?:to|with|of))?"
    rf"|(?:(?:is|are|looks?|seems?) )?(?:(?:both|all|very|quite|also) )*(?:{_CONSENTS})(?: (?:and )?(?:{_CONSENTS}))*)"
    rf"(?: {_TRAILING})*"
)
_LEADING_IN = pattern(
    r"(?:(?:and|so|then|also|both|yes|items?|changes?|numbers?|for|as for|i think|verdicts?)(?: |$))*"
)
_ALL_SAID = pattern(rf"(?:{_TRAILING}(?: |$))*")
_REASON = pattern(r":|\(|\bbecause\b", re.IGNORECASE)
#: what may not stand beside a consent: all signs but those between and behind words
_SIGN = pattern(r"[^\w\s,.;:()'\"’“”!–-]|(?<!\w)!|--|[-–]>")


def kinds(words: str) -> list[Verdict]:
    """What kinds of verdict these words say, the most telling first; each word counts once."""
    found, left = [], words.replace("\u2019", "'")
    for verdict, said in _SAYS:
        matches = rf"(?<![\w'])(?:{said})(?!\w)"
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


def sets_a_condition(words: str) -> bool:
    """Whether a sentence below all items sets a condition for them, or asks to wait."""
    return _CONDITION.search(words) is not None


def is_not_final(words: str) -> bool:
    """Whether words say of a mail that it is no verdict yet, or somebody else's."""
    return _NOT_FINAL.search(words) is not None


def leads_in(words: str) -> bool:
    """Whether words before the items only lead in to what is said of them."""
    return _SIGN.search(words) is None and _LEADING_IN.fullmatch(_plainly(words)) is not None


def adds_nothing(words: str) -> bool:
    """Whether words only thank, greet or repeat whose verdict it is."""
    return _SIGN.search(words) is None and _ALL_SAID.fullmatch(_plainly(words)) is not None


def _plainly(words: str) -> str:
    """Words in small letters with one space between them, and no other signs."""
    return " ".join(re.findall(r"[\w']+", words.lower().replace("\u2019", "'")))


def _is_plain(words: str) -> bool:
    """Whether words of consent stand alone, but for the reason behind a colon, in brackets or behind `because`.
    “nicht accepted”, “accepted tomorrow”, “you wrote: accepted” and “ok, far too short” are no consent."""
    said = _REASON.split(words.strip(" \t:,;-–/|"), maxsplit=1)[0].rstrip(" -–/|")
    return _SIGN.search(said) is None and _CONSENT.fullmatch(_plainly(said)) is not None
