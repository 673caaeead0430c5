"""Lines that name what stands below them, in files that have no sections: `== feeder ==`, `<feeder>`, `# --- feeder ---`.

A line of its own is a title by what stands around its words. In a remark it is one only where the file shows that it
needs it: where one key stands below two such remarks, set off by signs, or several keys below two short remarks without.
A program that reads the file by its keys alone would let the last one win; a person who writes so has several things
in mind, and only the remarks say which.

This module deliberately knows no word: what a title is about is told where names are read.
"""

from __future__ import annotations

import re
from array import array
from collections.abc import Callable, Iterable, Iterator, Sequence

from cfgmigrate.ground.pattern import pattern

#: words between two runs of signs, or behind a long one; `feeder` of `== feeder ==`
_TITLE = pattern(
    r"[ \t]*(?P<before>=+|-{1,80}|\*{1,80}|~{1,80}|_{2,80}|\+{2,80}|:{2,80}|>{1,80}|<{1,80}|\|{1,80}|#{2,80})"
    r"[ \t]{0,40}(?P<words>/?[A-Za-z\x80-\xff][^\r\n=:#;<>|*~]{0,58}?)[ \t]{0,40}:?[ \t]{0,40}"
    r"(?P<behind>=+|-{1,80}|\*{1,80}|~{1,80}|_{2,80}|\+{2,80}|:{2,80}|>{1,80}|<{1,80}|\|{1,80}|#{2,80})?[ \t]*(?:[#;][^\r\n]*)?[\r\n]*"
)
#: words in brackets; `feeder` of `(feeder)`, `{feeder}` or `[[feeder]]`
_BRACKETS = pattern(
    r"[ \t]*(?:\(|\{|\[\[)[ \t]*(?P<words>[A-Za-z\x80-\xff][^\r\n=:#;<>|*~(){}\[\]]{0,58}?)[ \t]*(?:\)|\}|\]\])[ \t]*(?:[#;][^\r\n]*)?[\r\n]*"
)
_LINE = pattern(r"[^\r\n]*(?:\r\n?|\n)|[^\r\n]+\Z")
_REMARK = pattern(r"[ \t]*(?:#|;|//|--(?=[ \t]))(?P<text>[^\r\n]*)[\r\n]*")
_RUN = pattern(r"[#;/]+(?=[ \t]*[A-Za-z\x80-\xff])")
#: the kinds of what stands in a flat file beside settings
NO_KEY = frozenset({"GAP", "TITLE", "UNPLACED"})
#: a run of signs so long says by itself that a title follows
_ALONE = 3
#: a remark of more words tells something
MOST_TITLE_WORDS = 4
#: so many titles in brackets a file has that has them at all
_OPENING, _SEVERAL = "({[", 2
#: so many keys stand twice below short remarks where these are titles
_KEYS = 2


def title(line: str) -> str | None:
    """The words of a line that is a title by its signs, "" where it closes one (`</feeder>`); None where it is none."""
    if found := _BRACKETS.fullmatch(line):
        return found["words"]
    found = _TITLE.fullmatch(line)
    if found is None or (found["behind"] is None and len(found["before"]) < _ALONE):
        return None
    if found["before"][0] == "<" and not (found["behind"] or "").startswith(">"):
        return None
    return "" if found["words"].startswith("/") else found["words"].strip()


class Lines:
    """The stretches of a flat file, each its kind and its text, of which no more is kept than where it ends: a file has as
    many as it has lines."""

    def __init__(self, found: Iterable[tuple[str, str]], text: str) -> None:
        self.kinds: list[str] = []
        self._ends, end = array("I"), 0
        for kind, token in found:
            end += len(token)
            self.kinds.append(kind)
            self._ends.append(end)
        self._text = text if end <= len(text) else text + "\n"  # the last line has its end, too (`tokens`)

    def __iter__(self) -> Iterator[tuple[str, str]]:
        """The kind and the text of each."""
        start = 0
        for kind, end in zip(self.kinds, self._ends, strict=True):
            yield kind, self._text[start:end]
            start = end

    def text(self, number: int) -> str:
        """The text of the stretch of that number."""
        return self._text[self._ends[number - 1] if number else 0 : self._ends[number]]


def heads(lines: Lines) -> frozenset[int]:
    """Which of the lines of a flat file are titles: those in brackets only where there are several of
    the kind, no two alike, all of them short and right above a setting."""
    titles = [number for number, kind in enumerate(lines.kinds) if kind == "TITLE"]
    by_sign: dict[str, list[int]] = {}
    for number in titles:
        by_sign.setdefault(lines.text(number).strip()[0], []).append(number)
    doubtful = {
        number
        for sign, several in by_sign.items()
        if sign in _OPENING and not _are_heads(lines, several)
        for number in several
    }
    return frozenset(titles) - doubtful


def _are_heads(lines: Lines, several: Sequence[int]) -> bool:
    names = {title(lines.text(number)) for number in several}
    return len(names) == len(several) >= _SEVERAL and all(_leads(lines, number) for number in several)


def _leads(lines: Lines, number: int) -> bool:
    """Whether a title is short, and a setting is the next line that is no remark."""
    behind = range(number + 1, len(lines.kinds))
    below = next((lines.kinds[each] for each in behind if lines.kinds[each] != "GAP"), "TITLE")
    return (
        below not in ("TITLE", "UNPLACED")
        and len((title(lines.text(number)) or "").split()) <= MOST_TITLE_WORDS
    )


def drawn_title(remarks: str) -> str:
    """The last title that is set off by signs among lines of remarks, "" where there is none."""
    return _drawn(_remarks(remarks))


def _remarks(stretch: str) -> list[tuple[str, re.Match[str] | None]]:
    """The lines that are not blank, each with its remark."""
    return [(line, _REMARK.fullmatch(line)) for line in _LINE.findall(stretch) if not line.isspace()]


def _drawn(lines: Iterable[tuple[str, re.Match[str] | None]]) -> str:
    found = ""
    for line, remark in lines:
        if remark and not remark["text"].lstrip(" \t")[:1].isalnum():  # a title begins with a sign
            signs = _RUN.match(line.strip())
            found = title(line if signs and len(signs[0]) >= _ALONE else remark["text"]) or found
    return found


def titles_in_remarks(
    lines: Lines, key: Callable[[int], str | None], has_heads: bool = False
) -> dict[int, str]:
    """Which stretches between settings end in a title. `key` gives the key of the setting of a number, None for remarks
    and blank lines. Numbers of stretches with the title that holds from there on. `has_heads` is true of a file with titles
    that are no remarks: there a short remark is none."""
    drawn: dict[int, str] = {}
    short: dict[int, str] = {}
    for number, kind in enumerate(lines.kinds):
        if kind in NO_KEY:
            remarks = _remarks(lines.text(number))
            if words := _drawn(remarks):
                drawn[number] = words
            elif not has_heads and remarks:
                plain = remarks[0][1]
                if plain and 0 < len(plain["text"].split()) <= MOST_TITLE_WORDS:
                    short[number] = plain["text"].strip(" \t:.-")
    if _twice(lines, key, drawn) >= 1:
        return drawn
    both = {**short, **drawn}
    return both if _twice(lines, key, both) >= _KEYS else {}


def drawn_titles(lines: Lines) -> int:
    """How many stretches between settings have a title that is drawn with lines, `# --- drive`."""
    return sum(
        kind in NO_KEY and bool(_drawn(_remarks(lines.text(number))))
        for number, kind in enumerate(lines.kinds)
    )


def _twice(lines: Lines, key: Callable[[int], str | None], titles: dict[int, str]) -> int:
    """How many keys stand below more than one title."""
    if not titles:
        return 0
    below: dict[str, int] = {}
    twice: set[str] = set()
    now = -1
    for number in range(len(lines.kinds)):
        now = number if number in titles else now
        if (found := key(number)) is not None and below.setdefault(found.casefold(), now) != now:
            twice.add(found.casefold())
    return len(twice)
