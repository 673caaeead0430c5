"""A text that says in plain prose that it is what the board has saved, and that it wins:

    I asked the board on Sunday. This is what the board has now, it wins over the files.
    steps feeder = 141.1
    ...

Both have to be said, at the head of the text and of the text itself: what the board had before, or what wins not, is no such
listing. And its lines must give settings of the machine's other files numbers. Then it holds saved values, as if the user had
said so in the site file. A text that says only one of the two is asked about (`kept_listing.py`).
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache

from cfgmigrate.dialects.document import Document, readable
from cfgmigrate.dialects.last_word import last_word
from cfgmigrate.files.console_talk import is_listing
from cfgmigrate.files.kept_listing import (
    LONGEST_LISTED_LINE,
    MOST_LISTED_ROWS,
    listed_values,
)
from cfgmigrate.files.roles import ANY_SETTING, ListedValue
from cfgmigrate.ground.pattern import pattern

#: so many bytes and lines of a text are its head
_HEAD, _LINES = 2000, 15
_MARKS = pattern(r"[ \t]*(?:#+|;+|//+|/?\*+|--)?[ \t]*")
#: a line that is a name and a number, and no sentence
_A_VALUE = pattern(
    r"(?:[>$][ \t]*)?[\w./-]+(?:[ \t]+[A-Za-z_]\w*){0,5}[ \t]*[=:]?[ \t]*[-+]?[\d.]+[ \t]*\S{0,8}"
)
_A_NUMBER = pattern(r"(?<![\w.])[-+]?\d+(?:\.\d+)?(?![\w.:-]*\d)")
#: the name of a file that a sentence speaks of, and not one that something is over, from or unlike
_A_FILE = pattern(
    r"(?<![\w./-])(?<!over )(?<!than )(?<!as )(?<!of )(?<!from )(?<!beside )(?<!behind )(?<!after )(?<!before )(?<!by )(?<!with )(?<!than in )(?<!whatever )(?P<name>[\w-]{2,60}\.[A-Za-z]\w{0,9})(?=\)|,? (?:is|are|wins?|has|holds?|keeps?|counts?|beats?|which|that)\b)",
    re.I,
)
_SENTENCES = pattern(r"(?<=[.;!?])[ \t]+")
_BOARD = r"(?:board|machine|printer|controller|console|electronics)"
_HAS = pattern(
    rf"\b(?:the|this|its|my|our) {_BOARD}(?: itself| now| really| still| actually)* (?:has|holds|keeps|stores|remembers|uses|lists|listed|shows|showed|prints|printed|answers|answered|says)\b"
    rf"|\b(?:saved|stored|kept|remembered|held)(?: now)? (?:in|by|on|at) (?:the|this|its) {_BOARD}\b"
    rf"|\b{_BOARD}'s (?:saved|stored|kept|own) (?:values|settings|numbers)\b|\bsaved values\b",
    re.I,
)
_SUBJECT = r"\b(?:it|this|these|they|that|which|and|(?:the |these |its )?(?:values|settings|numbers|listing|list)(?: here| below)?)"
#: what is of the past, denied or put in question
_DENIED = pattern(
    r"\b(?:not|no longer|never|nothing|was|were|used to|until|before|isn't|doesn't|don't|didn't|if|whether|perhaps|maybe)\b|\?",
    re.I,
)


@cache
def _wins() -> re.Pattern[str]:
    words = last_word()
    says = rf"{_SUBJECT},? (?:always |still |then |all |itself |themselves )?(?:{words.alone}|{words.read_last}|counts?\b(?! as)|is what counts|are what counts)"
    return re.compile(says, re.IGNORECASE)


def says_saved(data: bytes, path: str) -> str:
    """The words by which a listing says that the board has it saved, and that it wins; "" where it does not say both, or says it of
    another file: `what the board has saved (kept.txt) is read last and wins`."""
    said = _says_both(data, path)
    return said if said and is_listing(readable(data)) else ""


def lines_said_to_win(data: bytes, path: str) -> tuple[ListedValue, ...]:
    """The lines with a number of a text that says both and reads as nothing: nobody knows which settings they are of."""
    lines = readable(data).splitlines() if _says_both(data, path) else []
    short = (
        (at, " ".join(line.split())) for at, line in enumerate(lines, 1) if len(line) <= LONGEST_LISTED_LINE
    )
    return tuple(ListedValue(at, text, ANY_SETTING) for at, text in short if _A_NUMBER.search(text))[
        :MOST_LISTED_ROWS
    ]


def _says_both(data: bytes, path: str) -> str:
    if b"\0" in data[:_HEAD]:
        return ""
    has = wins = ""
    for sentence in _sentences(readable(data[:_HEAD])):
        if not _DENIED.search(sentence):
            has = has or _found(_HAS, sentence, path)
            wins = wins or _found(_wins(), sentence, path)
    return f"{has} … {wins}" if has and wins else ""


def _found(said: re.Pattern[str], sentence: str, path: str) -> str:
    """The words by which a sentence says so of its own text: what it wins over may be named behind."""
    found, end = said.search(sentence), _wins().search(sentence)
    own = path.rpartition("/")[2].casefold()
    named = _A_FILE.finditer(sentence, 0, end.end() if end else len(sentence))
    return "" if found is None or any(each["name"].casefold() != own for each in named) else found[0]


def _sentences(text: str) -> Iterable[str]:
    """The sentences at the head of a text, without lines that are values."""
    lines = [line[_MARKS.match(line).end() :] for line in text.splitlines()[:_LINES]]  # type: ignore[union-attr]
    prose = " ".join(line.strip() for line in lines if not _A_VALUE.fullmatch(line.strip()))
    return _SENTENCES.split(prose)


def is_said_to_be_saved(document: Document, others: Iterable[Document]) -> str:
    """The same words, where the text gives settings of the other files numbers."""
    said = says_saved(document.data, document.path)
    return said if said and listed_values(document.data, tuple(others), document.path, wins=True) else ""
