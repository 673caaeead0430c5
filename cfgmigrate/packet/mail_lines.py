"""The lines of a mail that its writer wrote, and which of them are one sentence.

What stands behind a divider, or below the header of an earlier mail, somebody else wrote; lines that begin with `>` are
quoted. A mail program may break a line wherever it likes (RFC 5322, 2.1.1: some 78 characters), so what a line says may go
on in the next one, or have begun in the one before.

What the lines say is none of this module's business (`answer.py`).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from itertools import takewhile

from msgspec import Struct

from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.packet.verdict_words import adds_nothing, is_not_final, is_reserved, kinds, sets_a_condition

_QUOTE = pattern(r"^\s*(?:[>|]\s?)+")
_END = pattern(r"^(?:-- ?$|-{3,}.*(?:original|forwarded)|_{10,}$)", re.IGNORECASE)
#: the head of a mail, in which the name may be
_HEADER = pattern(r"^(?:from|sent|date|to|cc|subject|reply-to|message-id)\s?:\s*\S", re.IGNORECASE)
_WROTE = pattern(r"\bwrote\s?:$", re.IGNORECASE)
_OF_THE_PACKET = pattern(r"^(?:packet:?\s+[0-9a-f]{8,64}\b|(?:name|reviewer|reviewed by):)", re.IGNORECASE)
#: a list's own counting: `1. C4 ok`
_COUNTED = pattern(r"^(?:\d{1,3}[.)]|[-*\u2022])\s+(?=\S)")
_PS = pattern(r"^p\.?\s?s\b", re.IGNORECASE)
LONGEST_MAIL_LINE = 2000
#: a greeting or a signature has no more words
_MOST_WORDS_OF_A_GREETING = 3


class MailLine(Struct, frozen=True):
    """A line with its number: without what marks it as quoted or counts it, and without space around it."""

    number: int
    text: str
    quoted: bool = False


def own_lines(text: str, source: str) -> list[MailLine]:
    """The lines of a mail, up to where an earlier one begins. Raises BadInput where one is longer than any that a person
    writes."""
    for number, line in enumerate(text.splitlines(), 1):
        if len(line) > LONGEST_MAIL_LINE:
            raise BadInput(
                f"this line has more than {LONGEST_MAIL_LINE:,} letters",
                Place(source, number),
                "Break it into several.",
            )
    return list(_until_the_end([_line(number, whole) for number, whole in enumerate(text.splitlines(), 1)]))


def _line(number: int, whole: str) -> MailLine:
    if _QUOTE.match(whole):
        return MailLine(number, _QUOTE.sub("", whole).strip(), quoted=True)
    return MailLine(number, _COUNTED.sub("", whole.strip()))


def _until_the_end(lines: Sequence[MailLine]) -> Iterator[MailLine]:
    begun = False
    for at, line in enumerate(lines):
        if not line.quoted:
            header = _HEADER.match(line.text) is not None
            if _END.match(line.text) or (begun and header and _header_goes_on(lines[at + 1 :])):
                return
            if _WROTE.search(line.text) and not _quotes(lines[at + 1 :]):
                return
            begun = begun or bool(line.text and not header and not _OF_THE_PACKET.match(line.text))
        yield line


def _header_goes_on(below: Sequence[MailLine]) -> bool:
    return bool(below) and _HEADER.match(below[0].text) is not None


def _quotes(below: Sequence[MailLine]) -> bool:
    """Whether what somebody wrote follows as quoted lines; what stands below those is the writer's again."""
    return next((line.quoted for line in below if line.quoted or line.text), False)


def goes_on(lines: Sequence[MailLine], at: int, verdicts: Callable[[MailLine], bool]) -> MailLine | None:
    """The line that belongs to the sentence of line `at`: below it, or above it; None where it stands alone.
    A condition may stand further below, below the last items of all of them, and what is said of the whole mail anywhere. `verdicts` says whether a line speaks of items of its own."""
    below = lines[at + 1 :]
    if below and _continues(below[0], verdicts):
        return below[0]
    for line in takewhile(lambda each: not each.quoted and not verdicts(each), below):
        begins = line.text if _PS.match(line.text) else " ".join(line.text.split()[:2])
        if is_reserved(begins) and _continues(line, verdicts):
            return line
    last = max((number for number, each in enumerate(lines) if verdicts(each)), default=len(lines))
    for line in takewhile(lambda each: not each.quoted, lines[last + 1 :]):
        if (sets_a_condition(line.text) or (_PS.match(line.text) and is_reserved(line.text))) and _continues(
            line, verdicts
        ):
            return line  # what is said below all items is of all of them
    of_all = (each for each in lines if not each.quoted and not verdicts(each) and is_not_final(each.text))
    if told := next(of_all, None):
        return told
    above = lines[at - 1] if at else None
    if above and _continues(above, verdicts) and not re.search(r"[.!:;?]$", above.text):
        return above if len(above.text.split()) > _MOST_WORDS_OF_A_GREETING else None
    return None


def _continues(line: MailLine, verdicts: Callable[[MailLine], bool]) -> bool:
    if line.quoted or not line.text or verdicts(line):
        return False
    if _HEADER.match(line.text) or _OF_THE_PACKET.match(line.text) or _WROTE.search(line.text):
        return False
    signs_off = len(line.text.split()) <= _MOST_WORDS_OF_A_GREETING and line.text[0].isupper()
    return not adds_nothing(line.text) and not (signs_off and not kinds(line.text))
