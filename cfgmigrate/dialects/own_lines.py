"""The lines of a script in codes of its owner's own: `P-6 V3600`, `PUSH 540 @ 20`, `go up 310`.

A line is words and numbers; a number belongs to the words before it, back to the last number. A letter that its number
follows at once is a word by itself, also behind a command, as in `L C25`. What stands for a number
that is not written, `Q{load.fast}`, counts as one without a value. A code that begins a line, `R1 W-5`, is its head, by which
one letter may mean two things. What a word means is not known here.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from msgspec import Struct

from cfgmigrate.ground.pattern import pattern

_LINE = pattern(r"[^\r\n]+")
#: a remark in brackets with more of the line behind it, as in RS-274; a number may stand behind `#`
_ASIDE = pattern(r"\([^()]*\)(?=[ \t]*[^\s;#(/])")
_REMARK = pattern(r"[;(].*|#(?!\d).*|//.*")
_PART = pattern(
    r"(?P<number>[-+]?(?:\d+(?:\.\d+)?|\.\d+)(?=[A-Za-z][-+.\d]|[^\w.,]|$|[.,](?:\s|$)))"
    r"|(?P<open>[-+]?\{[^{}]*\})|(?P<word>[A-Za-z_]+|@)|(?P<other>[^\s=:!]+?(?=[\s=:!]|$))"
)
#: a longer line is no script's
LONGEST_OWN_LINE = 200


class OwnWord(Struct, frozen=True):
    """A number with the words before it, in small letters. `value` is None where no plain number stands there;
    `start` and `end` are the number's place in the text. `behind` is the command before a word that is a letter."""

    word: str
    text: str
    value: float | None
    start: int
    end: int
    behind: str = ""


class OwnLine(Struct, frozen=True):
    """One line with anything but a remark. `head` is the code that it begins with (`r1`), "" where it begins with none;
    `plain` says that nothing stands in it but words and numbers, `empty` that a remark is all there is."""

    number: int
    start: int
    end: int
    words: tuple[OwnWord, ...]
    head: str = ""
    remark: str = ""
    plain: bool = True
    empty: bool = False

    def meaning(self, word: OwnWord, told: dict[str, str]) -> str:
        """What `told` says of one of its words, behind its head or anywhere; "" for nothing."""
        before = (self.head, word.behind) if word.behind else (self.head,)
        behind = (told.get(f"{each} {word.word}", "") for each in before)
        return next(filter(None, behind), "") or told.get(word.word, "")


def own_lines(text: str) -> Iterator[OwnLine]:
    """The lines of a text that hold anything but blanks; one too long has no words. Never raises."""
    number, last = 1, 0
    for found in _LINE.finditer(text):
        number += len(re.findall(r"\r\n?|\n", text[last : found.start()]))
        last = found.start()
        line = found[0]
        if not line.strip():
            continue
        code = _ASIDE.sub(lambda aside: " " * len(aside[0]), line)
        remark = _REMARK.search(code)
        code = code[: remark.start()] if remark else code
        said = remark[0].strip(";#(/) \t") if remark else ""
        if not code.strip() or len(code) > LONGEST_OWN_LINE:
            yield OwnLine(number, found.start(), found.end(), (), "", said, False, not code.strip())
            continue
        words, plain = _words(code, found.start())
        first = words[0] if words else None
        head = f"{first.word}{first.text}" if first and len(first.word) == 1 and first.text.isdigit() else ""
        yield OwnLine(number, found.start(), found.end(), words, head, said, plain)


def _words(code: str, base: int) -> tuple[tuple[OwnWord, ...], bool]:
    words: list[OwnWord] = []
    before: list[str] = []
    plain = True
    for part in _PART.finditer(code):
        if part["word"]:
            before.append(part["word"].casefold())
        elif part["other"]:
            plain = False
            if before and any(
                map(str.isdigit, part[0])
            ):  # a number that is written otherwise: one of no known value
                words.append(OwnWord(" ".join(before), part[0], None, base + part.start(), base + part.end()))
            before = []
        else:
            value = float(part["number"]) if part["number"] else None
            command = ""
            if len(before) > 1 and len(before[-1]) == 1 and code[part.start() - 1].isalpha():
                command, before = " ".join(before[:-1]), before[-1:]
            span = base + part.start(), base + part.end()
            words.append(OwnWord(" ".join(before), part[0], value, *span, command))
            before = []
    return tuple(words), plain
