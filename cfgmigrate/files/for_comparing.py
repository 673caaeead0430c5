"""What a listing says of a part of itself: that it is not what holds.

    > all f
    ; that shows what it would be if forgotten, for comparing
    M860 X80.00 Y80.00 Z400.00 E93.00

A person at the board's console asks it more than once, and copies all of it: what is stored, and what would be there if it were
not. Both parts have the same codes, and the one below is no later word. Which is which is said in a remark above the lines, or
where the person asked. What stands below such words is not in force, and a question says so with its lines, since whatever is
left out there may be what the board goes by after all.

Words of a case that is not, `would be`, are enough by themselves. `defaults` and `factory` are only where what stands below them
has been listed before: a remark over settings that hold calls them so too. A part ends where the person typed something
again, where the board said `ok`, or where a remark says that what follows is stored. None but listings are looked at: texts of
saved values, and texts with a console's prompts.

Lines that a machine may skip, with a slash before them as in ISO 6983, need less: whether they count is in doubt anyhow, so a remark
above them is enough that says that they are not loaded, in any text. It holds as far as such lines follow one another.

By which words is told in `dialects/last_word.yaml`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.dialects.document import Document, Setting, State, readable
from cfgmigrate.dialects.last_word import last_word
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.ground.pattern import pattern

#: how the reason ends for which a part of a listing is left
NOT_IN_FORCE = "is not what holds, by its own words; no value was taken from it"
_LINE = pattern(rb"[^\r\n]*(?:\r\n?|\n)|[^\r\n]+\Z")
_SKIPPABLE = pattern(rb"[ \t]*/[ \t]*[A-Za-z]")
#: a prompt with what was typed behind it
_TYPED = pattern(r"[ \t]*[>$?][ \t]*\S[^\r\n]*")
_REMARK = pattern(r"[ \t]*(?:;|#|//|--|\()(?P<text>[^\r\n]*)[\r\n]*")
_ANSWERED = pattern(r"[ \t]*ok[.!]?[ \t]*[\r\n]*", re.I)
_LONGEST_LINE = 200
_DENIED = pattern(r"(?i)\b(?:not|no|never|nothing|no longer|instead of|unlike|than|isn.?t|aren.?t)\b")


class _ComparedPart(Struct):
    """A part of a listing: what says of it that it doesn't hold, and where; whether that is so for certain; where it ends."""

    said: str
    line: int
    start: int
    certain: bool
    end: int = 0


class _PartWords(Struct, frozen=True):
    """What says so for certain, what does beside another listing, what does of lines that may be skipped, and what ends a part."""

    would_be: re.Pattern[str]
    of_the_maker: re.Pattern[str]
    left_out: re.Pattern[str]
    stored: re.Pattern[str]


@cache
def _words() -> _PartWords:
    said = last_word().shown
    return _PartWords(
        *(re.compile(each, re.I) for each in (said.would_be, said.of_the_maker, said.left_out, said.stored))
    )


def without_what_is_compared(document: Document, saved: bool) -> Document:
    """A listing in which what is shown for comparing alone is out of force, and asked about; any other document as it is."""
    if document.dialect not in ("command", "flat"):
        return document
    text = readable(document.data)
    words = _words()
    found = list(_skipped(document)) if words.left_out.search(text) else []
    if words.would_be.search(text) or words.of_the_maker.search(text):
        found += _parts(document, saved)
    if not found:
        return document
    settings = list(document.settings)
    doubts: list[Doubt] = []
    for part in found:
        inside = [at for at, each in enumerate(settings) if part.start <= each.start < part.end]
        above = {_name(each) for each in settings if each.start < part.start}
        same = sum(_name(settings[at]) in above for at in inside)
        if not inside or not (part.certain or 2 * same > len(inside)):
            continue
        first, last = settings[inside[0]].line, settings[inside[-1]].line
        for at in inside:
            settings[at] = replace(settings[at], state=State.INACTIVE)
        doubts.append(_asked(document, part, first, last))
    return replace(document, settings=tuple(settings), doubts=(*document.doubts, *doubts))


def _asked(document: Document, part: _ComparedPart, first: int, last: int) -> Doubt:
    lines = f"line {first}" if first == last else f"lines {first} to {last}"
    return Doubt(
        Place(document.path, part.line, 1),
        part.said,
        f"what stands below it, {lines}, {NOT_IN_FORCE}",
        "nothing has to be done where that is right; if the board does go by these lines, take the words above them out",
    )


def _name(setting: Setting) -> tuple[str, str]:
    return setting.section.casefold(), setting.key.casefold()


def _parts(document: Document, saved: bool) -> Iterator[_ComparedPart]:
    words = _words()
    at, open_, prompted = 0, None, saved
    lines = list(_LINE.finditer(document.data))
    for number, line in enumerate(lines, 1):
        at = line.start()
        text = readable(line[0][:_LONGEST_LINE]).rstrip("\r\n")
        remark = _REMARK.fullmatch(text)
        typed = remark is None and _TYPED.fullmatch(text) is not None
        prompted = prompted or typed
        if open_ and (typed or (_ANSWERED.fullmatch(text) and _has_lines(document, open_, at))):
            open_.end = at
            yield open_
            open_ = None
        if not remark and not typed:
            continue
        certain = _says(words.would_be, text)
        if open_ and remark and not certain and _says(words.stored, text):
            open_.end = at
            yield open_
            open_ = None
        elif open_ is None and prompted and (certain or _says(words.of_the_maker, text)):
            open_ = _ComparedPart(" ".join(text.split()), number, at, certain)
        elif open_ and certain:
            open_.certain = True
    if open_:
        open_.end = len(document.data)
        yield open_


def _skipped(document: Document) -> Iterator[_ComparedPart]:
    """The lines with a slash before them that follow one another below a remark by which they are left out."""
    part: _ComparedPart | None = None
    for number, line in enumerate(_LINE.finditer(document.data), 1):
        if not line[0].strip():
            continue
        if part and _SKIPPABLE.match(line[0]):
            part.end = line.end()
            continue
        if part and part.end:
            yield part
            part = None
        remark = _REMARK.fullmatch(text := readable(line[0][:_LONGEST_LINE]).rstrip("\r\n"))
        if remark and _says(_words().left_out, text):
            part = _ComparedPart(" ".join(text.split()), number, line.start(), certain=True)
        elif not remark:
            part = None
    if part and part.end:
        yield part


def _has_lines(document: Document, part: _ComparedPart, upto: int) -> bool:
    """Whether more than talk stands between the words and a place."""
    between = document.data[part.start : upto].splitlines()[1:]
    return any(line.strip() and not _REMARK.fullmatch(readable(line[:_LONGEST_LINE])) for line in between)


def _says(what: re.Pattern[str], text: str) -> bool:
    found = what.search(text)
    return found is not None and not _DENIED.search(text[: found.start()])
