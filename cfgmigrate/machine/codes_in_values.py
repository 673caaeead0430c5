"""Lines of codes that stand in a setting's value: `before = Q31 S1.3`, or the start script of a profile.

What they set wins while they run, over whatever the file says elsewhere. So a line that is a code and letters with one plain
number each is read as it would be in a file of codes, by the table of codes and by what the remarks of such files explain; what
the site file says of a code is put beside the document before (`files/own_words.py`). A code that nothing explains is a question
that names its lines. One line that looks so by chance is none: its letter begins others too; nor is a single line behind a pin,
a port or a version.

A code of the table that stands otherwise, `M92 E94:93`, `M92 E=94` or `if x { M92 E94 }`, is not read: what it sets is known and
its number is not. So it is a question as well, and the light of what it sets is unknown.

The lines are handed on as a file of codes, with blanks in place of all else, so that every word stands where it stood.
What moves axes is no matter of this module.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from functools import lru_cache

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.dialects import read
from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.dialects.script_text import script_alone
from cfgmigrate.dialects.source import Source
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine import codes
from cfgmigrate.machine.quantities import facts, quantity

_LINE = pattern(
    r"(?m)^[ \t]*(?P<code>[A-Za-z]\d{1,5}(?:\.\d+)?)(?:[ \t]+[A-Za-z][-+]?(?:\d+(?:\.\d+)?|\.\d+))+(?=[ \t]*(?:[;(#].*)?$)(?P<remark>.*)"
)
_LOOKS_SO = pattern(rb"[A-Za-z]\d{1,5}[ \t]+[A-Za-z][-+]?\.?\d")
#: the first letters of the standard's words, which are no codes of a maker's own
OF_THE_STANDARD = frozenset("XYZEFTNGM")
#: so many lines begin with the letter of a maker's own codes
FEWEST_OF_A_LETTER = 2
UNEXPLAINED = "nothing says what these codes set"
#: a letter with what may be its value, `E=94`, `E {steps}`
_VALUE = r"(?<![A-Za-z_]){letter}(?:[ \t]*[=:][ \t]*\S|[ \t]*[-+.\d{{\[($<%&!@])"
_WORD_OF_A_CODE = pattern(r"(?<![A-Za-z0-9_.])[A-Za-z]\d{1,5}(?:\.\d+)?(?![\d._])")
_LETTER = pattern(r"(?<![A-Za-z0-9_.])([A-Za-z])(?=[-+.\d])")
_REMARK = pattern(r";.*|(?:^|(?<=[ \t]))#.*")
WRITTEN_OTHERWISE = "this sets "


class CodeInValue(Struct, frozen=True):
    """A line of a code within a setting's value: the code, and the bytes of the line with its remark."""

    document: Document
    setting: Setting
    code: str
    start: int
    text: str
    line: int

    @property
    def own(self) -> bool:
        """Whether the code is none of the standard's."""
        return self.code[0] not in OF_THE_STANDARD


def codes_in_values(documents: Iterable[Document]) -> tuple[CodeInValue, ...]:
    """The lines in the files of all other dialects; those of a maker's own codes where their letter begins several."""
    documents = tuple(documents)
    found = [line for document in documents for line in _lines(document)]
    letters = Counter(line.code[0] for line in found)
    for document in documents if found else ():
        if document.dialect == codes.DIALECT:
            of_file = {(each.line, each.section) for each in document.settings}
            letters.update(section[0] for _, section in of_file if section[:1].isalpha())
    return tuple(
        line
        for line in found
        if not line.own or (letters[line.code[0]] >= FEWEST_OF_A_LETTER and not _feeds(line))
    )


def _lines(document: Document) -> Iterator[CodeInValue]:
    if document.dialect == codes.DIALECT or not _LOOKS_SO.search(document.data):
        return
    source = Source(document.path, document.data)
    for setting in document.settings:
        if (
            setting.state is not State.ACTIVE
            or setting.behind
            or not _LOOKS_SO.search(setting.value.encode())
        ):
            continue
        text = script_alone(document.data[setting.start : setting.end].decode("latin-1"), document.dialect)
        several = "\n" in text.strip()
        for found in _LINE.finditer(text):
            start = setting.start + found.start()
            code = codes.coded(found["code"])
            line = CodeInValue(document, setting, code, start, found[0], source.where(start)[0])
            if several or not (line.own and codes.holds_a_label(setting)):
                yield line


def _feeds(line: CodeInValue) -> bool:
    """Whether a line is a feed by the letter that it begins with, as the user said: its number is no code's. Of several such
    letters in one line no move is read."""
    feeding = {word.upper() for word, does in line.document.own_words if does.startswith("filament")}
    letters = _LETTER.findall(_REMARK.sub("", line.text)) if line.code[0] in feeding else ()
    return sum(each.upper() in feeding for each in letters) == 1


class CodeNotRead(Struct, frozen=True):
    """A code of the table in a setting's value that is not written as such lines are read, and what it sets."""

    setting: Setting
    code: str
    quantities: frozenset[str]
    text: str
    place: Place

    @property
    def at(self) -> tuple[str, int]:
        """The file, and where the setting's value begins in it."""
        return self.place.file, self.setting.start


def codes_not_read(documents: Iterable[Document]) -> Iterator[CodeNotRead]:
    """The codes of the table, in the files of all other dialects, whose line is no plain one."""
    known = _of_the_table()
    for document in documents:
        if document.dialect == codes.DIALECT or not known.search(document.data):
            continue
        source = Source(document.path, document.data)
        for setting in document.settings:
            value = document.data[setting.start : setting.end]
            if setting.state is not State.ACTIVE or setting.behind or not known.search(value):
                continue
            text = script_alone(value.decode("latin-1"), document.dialect)
            start = setting.start
            for line in text.splitlines(keepends=True):
                yield from _not_read(line, source.place(start), setting)
                start += len(line)


def _not_read(line: str, place: Place, setting: Setting) -> Iterator[CodeNotRead]:
    if _LINE.match(line):
        return
    said = _REMARK.sub("", line.rstrip("\r\n"))
    at = [each for each in _WORD_OF_A_CODE.finditer(said) if codes.letters_of(each[0])]
    ends = [*(each.start() for each in at), len(said)][1:]
    for found, end in zip(at, ends, strict=True):
        code, words = codes.coded(found[0]), said[found.end() : end]
        letters = codes.letters_of(code)
        if found[0][0].islower():
            letters = frozenset(map(str.lower, letters))
        valued = [letter for letter in letters if re.search(_VALUE.format(letter=letter), words)]
        sets = frozenset(codes.set_by(code, letter) for letter in valued)
        if sets and not any(quantity(each).protected for each in sets):
            yield CodeNotRead(setting, code, sets, " ".join(said.split()), place)


@lru_cache(maxsize=1)
def _of_the_table() -> re.Pattern[bytes]:
    """What every value with a code of the table has, and few others."""
    each = "|".join(f"{code[0]}0*{re.escape(code[1:])}" for code in sorted(codes.table_codes()))
    return re.compile(rf"(?i)(?:{each})(?![\d._])".encode())


def asked_of_codes_not_read(
    documents: Iterable[Document], settled: Collection[tuple[str, int]], asked: Collection[Place]
) -> Iterator[Doubt]:
    """A question for each line with such a code, but for values that are `settled` as a whole and lines that are `asked` about."""
    named = {(place.file, place.line) for place in asked}
    for each in codes_not_read(documents):
        line = each.place.file, each.place.line
        if each.at in settled or line in named:
            continue
        named.add(line)
        labels = " and ".join(sorted(facts(name).quantity.label for name in each.quantities))
        yield Doubt(
            each.place,
            each.text,
            f"{WRITTEN_OTHERWISE}{labels} by {each.code}, and is not written as I read such a line; it stays as it is and wins while it runs",
            "write it as a line of a code and letters with one number each, or change by hand what was made for the old drive; if it needs no change, write `ignore` for this setting in cfgmigrate.yaml, under meanings",
        )


class FileOfCodes(Struct, frozen=True):
    """The lines of one document as a file of codes, each word at its byte; those that stand on one line have lines of their own."""

    document: Document
    source: Source
    real: Source

    def place(self, place: Place) -> Place:
        """Where a place of it is in the document."""
        at = self.source.text.split("\n", place.line)
        offset = sum(len(line) + 1 for line in at[: place.line - 1]) + place.column - 1
        return self.real.place(offset)


def as_file_of_codes(lines: Sequence[CodeInValue]) -> FileOfCodes:
    """The lines, all of one document, with blanks in place of what stands around them."""
    document = lines[0].document
    data = bytearray(
        document.data.translate(_ONLY_LINE_ENDS).replace(b"\r", b" " if b"\n" in document.data else b"\n")
    )
    behind = 0
    for line in lines:
        text = line.text.replace("#", ";").encode("latin-1")
        data[line.start : line.start + len(text)] = text
        if line.line == behind:
            data[line.start - 1] = ord("\n")
        behind = line.line
    inner = replace(read(document.path, bytes(data), codes.DIALECT), doubts=())
    return FileOfCodes(inner, Source(document.path, bytes(data)), Source(document.path, document.data))


_ONLY_LINE_ENDS = bytes(each if each in b"\r\n" else ord(" ") for each in range(256))


def unexplained(
    lines: Iterable[CodeInValue], read_at: Collection[tuple[str, int]], asked: Collection[Place]
) -> Iterator[Doubt]:
    """A question for each file that names its lines of which no word is read or `asked` about; `read_at` are the lines that have one."""
    places = {*read_at, *((place.file, place.line) for place in asked)}
    of_file: dict[str, list[CodeInValue]] = {}
    for each in lines:
        if each.own and (each.document.path, each.line) not in places:
            of_file.setdefault(each.document.path, []).append(each)
    for path, several in of_file.items():
        first = several[0]
        named = ", ".join(f"{each.line} ({' '.join(each.text.split())})" for each in several)
        yield Doubt(
            Place(path, first.line, 1),
            first.text.strip(),
            f"{UNEXPLAINED}; they stay as they are, and what they set wins while they run: line{'s' * (len(several) > 1)} {named}",
            f"say in cfgmigrate.yaml what a word of them sets, as in codes: {{{first.code}.{_letter(first)}: QUANTITY}}, or `ignore`; "
            "or change by hand what was made for the old drive",
        )


def explained_elsewhere(
    lines: Iterable[CodeInValue],
    read_at: Collection[tuple[str, int]],
    asked: Collection[Place],
    explained: Mapping[str, tuple[Place, str]],
) -> Iterator[Doubt]:
    """A question for each line of a code that a remark in a file of codes explains, where the line was not read: its letters need not
    be of that remark. `explained` has for such a code the line and the quantity that was read there."""
    places = {*read_at, *((place.file, place.line) for place in asked)}
    for each in lines:
        place = Place(each.document.path, each.line, 1)
        if each.code not in explained or each.own or (place.file, place.line) in places:
            continue
        where, meant = explained[each.code]
        yield Doubt(
            place,
            " ".join(each.text.split()),
            f"this may be the {facts(meant).quantity.label}, which {each.code} sets at {where.file}:{where.line}; it stays as it is, and what it "
            "sets wins while it runs",
            f"say in cfgmigrate.yaml what a word of it sets, as in codes: {{{each.code}.{_letter(each)}: QUANTITY}}, or `ignore`; "
            "or change by hand what was made for the old drive",
            about=meant,
        )


def _letter(line: CodeInValue) -> str:
    return line.text.split()[1][0].upper()
