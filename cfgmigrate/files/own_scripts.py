"""A text that reads as no dialect and seems to be a script in codes of its owner's own: `P-6 V3600`, `go up 310`.

Its name or its folder speaks of what scripts are for, or a setting has it run; most of its lines are words and numbers, and
the same words come again and again. Its numbers are handed on with their words, and what a remark explains of them:
`; A left-right  B front-back  P wire mm, V = mm/min`. Nobody believes that before a person has said so in the site file.

A text is looked at as bytes; what its words mean is decided elsewhere.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterable, Iterator
from pathlib import PurePosixPath

from cfgmigrate.dialects.document import Document, readable
from cfgmigrate.dialects.own_lines import OwnLine, own_lines
from cfgmigrate.files.marks import folder_marks, marks_of
from cfgmigrate.files.read_elsewhere import RUN_ON_OCCASION, run_by
from cfgmigrate.files.roles import LegendEntry, OwnScript, OwnUse
from cfgmigrate.ground.pattern import pattern

#: so much of the lines is words and numbers, and so often each word comes on average
PLAIN_PART, TIMES_EACH = 0.5, 1.4
FEWEST_OWN_LINES, FEWEST_WORDS = 2, 2
#: so much of a text is looked at: bytes, numbers
MOST_OWN_BYTES, MOST_OWN_NUMBERS = 32 * 1024, 400
_STANDARD = pattern(rb"(?m)^[ \t]*(?:[Nn]\d+[ \t]+)?[GMgm]\d")
_SAID_TO_MEAN = pattern(
    r"(?<![\w'’/])(?:([A-Z])(?![\w'’/.])|([A-Za-z@]{2,20})(?=[ \t]*[=:]))[ \t]*[=:–-]*[ \t]*"
)


def is_run(path: str, documents: Iterable[Document]) -> bool:
    """Whether a file's name or its folder speaks of what scripts are for, and of no copy, or a setting has it run."""
    if marks_of(path.rpartition("/")[2]).directed or folder_marks(path).directed:
        return False
    return bool(RUN_ON_OCCASION.search(path.removesuffix(PurePosixPath(path).suffix))) or any(
        target.replace("\\", "/").removeprefix("./").endswith(path) or path.endswith(f"/{target}")
        for document in documents
        for target in run_by(document)
    )


def in_own_codes(document: Document) -> bool:
    """Whether a file that reads as codes, or as names and numbers, seems to be such a script all the same, by its name and
    its lines: it tells of no machine of its own."""
    return is_run(document.path, ()) and is_in_codes(document)


def is_in_codes(document: Document) -> bool:
    """The same by its lines alone."""
    return (
        document.dialect in ("command", "flat")
        and not _STANDARD.search(document.data[:MOST_OWN_BYTES])
        and own_script(document.data) is not None
    )


def own_script(data: bytes) -> OwnScript | None:
    """The numbers of a text with their words, and what its remarks explain; None where it doesn't seem to be such a script."""
    if b"\0" in data[:MOST_OWN_BYTES]:
        return None
    lines = list(own_lines(data[:MOST_OWN_BYTES].decode("latin-1")))
    coded = [line for line in lines if not line.empty]
    moving = [line for line in coded if line.plain and line.words]
    counts = Counter(word.word for line in moving for word in line.words if word.word)
    seems = (
        len(moving) >= max(FEWEST_OWN_LINES, PLAIN_PART * len(coded))
        and len(counts) >= FEWEST_WORDS
        and counts.total() >= TIMES_EACH * len(counts)
    )
    if not seems:
        return None
    uses = [
        OwnUse(line.number, _shown(data, line), word.word, word.value, _is_head(line, at))
        for line in coded
        for at, word in enumerate(line.words)
        if word.word and word.value is not None
    ]
    return OwnScript(tuple(uses[:MOST_OWN_NUMBERS]), tuple(_explained(lines)))


def _is_head(line: OwnLine, at: int) -> bool:
    return (
        at == 0 and bool(line.head) and len(line.words) > 1 and not line.words[0].text.startswith(("+", "-"))
    )


def _shown(data: bytes, line: OwnLine) -> str:
    return " ".join(readable(data[line.start : line.end]).split())


def _explained(lines: Collection[OwnLine]) -> Iterator[LegendEntry]:
    """What remarks say of several words, or of one by a sign: from one word to the next."""
    for line in lines:
        marks = list(_SAID_TO_MEAN.finditer(line.remark))
        ends = [*(mark.start() for mark in marks[1:]), *([len(line.remark)] if marks else [])]
        found = [
            LegendEntry(line.number, (mark[1] or mark[2]).casefold(), said)
            for mark, end in zip(marks, ends, strict=True)
            if (said := line.remark[mark.end() : end].strip(" \t,;:.-–|"))
        ]
        if len(found) > 1 or any(re.search("[=:]", mark[0]) for mark in marks):
            yield from found
