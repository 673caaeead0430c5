"""What of a configuration is not there: a file that breaks off, and a file that is named and missing.

A file seems to break off where a comment, a bracket or an `#if` is not closed, or where its last line has no end and is
no whole line: it is nothing in its dialect, a key without a value in a file whose keys have one, or its last word is
only the beginning of a word that stands elsewhere in the file. A whole last line without an end says nothing: many
editors leave it so.

A file that can't be read beyond a line is another matter: nobody here can tell what stands behind it, whole as it may be.
So is a file in which two versions of some lines stand one below the other, between the marks that a merge leaves: nobody here can
tell which of them is meant.

A missing file is one that an include line takes in, in whatever words: also a setting whose value is a name such as the
set's other files have, when no such file is there, and a line of a script (`script_includes.py`). What is missing may hold any value that the rest does not have.

What the machine reads and nobody here can (`read_elsewhere.py`) is missing too.

This module looks at documents and names only, never at a disk, so that a packet's own files tell the same again.
"""

from __future__ import annotations

import posixpath
import re
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from typing import Any

from msgspec import Struct

from cfgmigrate.dialects.document import Document, Setting, State, readable
from cfgmigrate.files.kept_listing import MAY_BE_KEPT
from cfgmigrate.files.marks import words_of
from cfgmigrate.files.read_elsewhere import READ_ELSEWHERE, read_elsewhere, told_elsewhere
from cfgmigrate.files.roles import Role
from cfgmigrate.files.script_includes import named_in_scripts
from cfgmigrate.ground.findings import Doubt, Likeness, Place
from cfgmigrate.ground.pattern import pattern

#: how the reason of each doubt about a gap begins
BREAKS_OFF = "the file seems to break off here"
#: how the reason of a doubt begins where a file in force is not understood at all
NOTHING_READ = "nothing in this file is understood, and it may set any value"
_REMEDY_NOTHING_READ = "look it through by hand; what is no part of the machine is left with roles: {FILE: no configuration} in the site file"
_LONGEST_SHOWN = 80
_LINE_ENDS = pattern(rb"\r\n?|\n")
BEYOND = "the file can't be read beyond this line"
TWO_VERSIONS = "two versions of these lines stand one below the other, between the marks of a merge"
_REMEDY_TWO_VERSIONS = "keep the lines that hold, delete the others and the marks, and run this again"
#: what a merge leaves at a line's start: before the one version, between the two and behind the other
_MERGE_MARKS = (b"<<<<<<<", b"=======", b">>>>>>>")
TORN = "torn"
NOT_THERE = "the file that it takes in is not among those that were read"
_REMEDY_TORN = "get the whole file again, from the machine or from a copy of it; then run this again"
_REMEDY_OUTSIDE = (
    "it leads out of what was named. Where it is there, name its folder too, or the folder above both"
)
_REMEDY_MISSING = "give the file too; what it sets is not known here. If there never was one, say so in the site file: roles: {FILE: no configuration}"
#: keys of files that are written and not read
_WRITTEN = frozenset(
    ("log", "logs", "logging", "trace", "backup", "backups", "copy", "export", "output", "picture", "last")
)
_NAMES_FILE = pattern(
    r"""["']?(?P<path>[^"'\r\n,:;=<>|*?]{1,200}\.(?P<ending>[A-Za-z][A-Za-z0-9]{0,7}))["']?"""
)
_DIRECTIVES = ("define", "include", "ifdef", "ifndef", "endif", "undef", "elif", "else", "pragma", "error")
_OPEN_DOUBTS = (
    "an `#if` is not closed",
    "the file ends before its object does",
    "a comment is not closed",
    "a string is not closed on its line",
)
#: how the reason of a doubt ends where a file can't be read to its end
_NO_FURTHER = "what follows is not read"
#: so many settings with a value make a last one without a value strange
_USUAL = 5


class Gap(Struct, frozen=True):
    """Something that is not there. `file` is the file in which it is missed, `says` what it is in a sentence's end;
    `torn` where the file itself breaks off; `unreadable` where it can't be read to its end. `doubt` tells it with its place."""

    file: str
    says: str
    torn: bool
    doubt: Doubt
    unreadable: bool = False


def gaps(documents: Sequence[Document], there: Iterable[str]) -> tuple[Gap, ...]:
    """What is missing of these documents; `there` are the paths of all files that were found, of whatever role."""
    paths = {document.path for document in documents}
    present = {_name(path) for path in (*paths, *there)}
    endings = {ending_of(path) for path in paths}
    never = said_not_to_be(there)
    found: list[Gap] = []
    for document in documents:
        torn = _torn(document)
        found += [torn] if torn else []
        found += [] if torn else _nothing_read(document)
        found += _not_taken_in(document, paths, never)
        if isinstance(there, Mapping):
            found += (_not_read(doubt) for doubt in read_elsewhere(document, there))
        if document.dialect != "command":
            found += _named_in_vain(document, present, endings)
        found += _had_read_in_vain(document, present, endings)
    return tuple(found)


def said_not_to_be(there: Iterable[str]) -> frozenset[str]:
    """The paths of files of which the user said that they are no configuration, there or not: whoever takes them in misses
    nothing. Without roles there are none."""
    roles = there.items() if isinstance(there, Mapping) else ()
    return frozenset(path.casefold() for path, found in roles if found.said and found.role is Role.NONE)


def is_meant(never: Collection[str], file: str, target: str) -> bool:
    """Whether one of the paths is what a line of a file names: as it stands there, or beside the file. A file of that name in
    another folder is another one."""
    if not never:
        return False
    plain = target.replace("\\", "/").strip().casefold()
    beside = posixpath.normpath(posixpath.join(posixpath.dirname(file.casefold()), plain))
    return not {plain, plain.removeprefix("./"), beside}.isdisjoint(never)


def is_missed(doubt: Doubt, never: Collection[str]) -> bool:
    """Whether a doubt stands about a file that is not there, or about anything else."""
    return doubt.why != NOT_THERE or not is_meant(never, doubt.place.file, doubt.text)


def of_gaps(doubts: Iterable[Doubt]) -> tuple[Doubt, ...]:
    """Those of a machine's doubts that are about something that is not there, or that may be what the board keeps; they
    are told first."""
    return tuple(
        doubt
        for doubt in doubts
        if doubt.why.startswith(
            (BREAKS_OFF, BEYOND, TWO_VERSIONS, NOT_THERE, READ_ELSEWHERE, MAY_BE_KEPT, NOTHING_READ)
        )
    )


def told(doubt: Doubt) -> str:
    """A gap's doubt in a sentence, for the first lines of a command."""
    if doubt.why.startswith(BREAKS_OFF):
        where = f"{doubt.place.file} seems to break off at line {doubt.place.line}"
        return f"{where}: {doubt.text!r}. What followed there is not known."
    if doubt.why.startswith(BEYOND):
        where = f"{doubt.place.file} can't be read beyond line {doubt.place.line}"
        why = doubt.why.removeprefix(f"{BEYOND}: ")
        return f"{where}: {doubt.text!r}: {why}. What follows is not known: {doubt.remedy}."
    if doubt.why.startswith(TWO_VERSIONS):
        return f"{doubt.place}: {doubt.text!r}: {doubt.why}. Nobody here can tell which is meant: {doubt.remedy}."
    if doubt.why.startswith(READ_ELSEWHERE):
        return told_elsewhere(doubt)
    if doubt.why.startswith(NOTHING_READ):
        return f"{doubt.place.file}: {doubt.why}, as line {doubt.place.line}: {doubt.text}. Look it through by hand."
    where = f"{doubt.place.file}:{doubt.place.line}"
    if doubt.remedy == _REMEDY_OUTSIDE:
        return f"{where} takes in {doubt.text}, which is not read: {doubt.remedy}."
    if doubt.why.startswith(MAY_BE_KEPT):
        return f"{doubt.place.file}: {doubt.why}, as line {doubt.place.line}: {doubt.text}. {doubt.remedy[:1].upper()}{doubt.remedy[1:]}."
    return f"{where} takes in {doubt.text}, which is not there: what that sets is not known."


def told_first(survey: Mapping[str, Any]) -> list[str]:
    """The same for a survey's JSON; without files that are asked about."""
    asked = {
        file
        for question in survey.get("questions", ())
        if question["kind"] == TORN
        for file in question.get("instead", ())
    }
    doubts = [
        Doubt(
            Place(each["file"], each["line"], each["column"]),
            each["text"],
            each["why"],
            each.get("remedy", ""),
        )
        for each in survey.get("doubts", ())
        if each["file"] not in asked
    ]
    return [told(doubt) for doubt in of_gaps(doubts)]


def _torn(document: Document) -> Gap | None:
    if gap := _merged(document) or _unreadable(document):
        return gap
    line, text, how = _unclosed(document) or _not_whole(document) or (0, "", "")
    if not line:
        return None
    doubt = Doubt(Place(document.path, line, 1), text, f"{BREAKS_OFF}: {how}", _REMEDY_TORN)
    return Gap(document.path, f"{document.path} seems to break off at line {line}", True, doubt)


def _merged(document: Document) -> Gap | None:
    """Where a merge left two versions of some lines for somebody to choose."""
    if not all(mark in document.data for mark in _MERGE_MARKS):
        return None
    began, text, wanted = 0, b"", 0
    for number, line in enumerate(_LINE_ENDS.split(document.data), 1):
        if line.startswith(_MERGE_MARKS[0]):
            began, text, wanted = number, line, 1
        elif wanted and line.startswith(_MERGE_MARKS[wanted]):
            wanted += 1
        if wanted == len(_MERGE_MARKS):
            break
    else:
        return None
    doubt = Doubt(Place(document.path, began, 1), readable(text), TWO_VERSIONS, _REMEDY_TWO_VERSIONS)
    says = f"{document.path} has two versions of the lines from {began} on"
    return Gap(document.path, says, torn=True, doubt=doubt, unreadable=True)


#: the line, what stands there, and why it is no end
_Torn = tuple[int, str, str]


def _unreadable(document: Document) -> Gap | None:
    """Where reading stops though more follows; what is open at the end alone is a file that breaks off."""
    doubt = next((each for each in document.doubts if each.why.endswith(_NO_FURTHER)), None)
    if doubt is None or not document.pieces or document.pieces[-1].kind != "unplaced":
        return None
    rest = document.data[document.pieces[-1].start :].strip()
    in_brackets = document.data.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"{")
    more = b"\n" in rest or b"\r" in rest or (in_brackets and b":" in rest)
    if not more or doubt.why.startswith("a comment"):
        return None
    how = doubt.why.partition(";")[0]
    told = Doubt(Place(document.path, doubt.place.line, 1), doubt.text, f"{BEYOND}: {how}", doubt.remedy)
    says = f"{document.path} can't be read beyond line {doubt.place.line}"
    return Gap(document.path, says, True, told, unreadable=True)


def _unclosed(document: Document) -> _Torn | None:
    """What is opened and never closed."""
    last = document.lines
    for doubt in document.doubts:
        at_end = doubt.place.line >= last or not doubt.why.startswith("a string")
        if (doubt.why.startswith(_OPEN_DOUBTS) and at_end) or doubt.why.endswith(_NO_FURTHER):
            return last, _last_line(document), doubt.why.partition(";")[0]
    if document.dialect == "header" and document.pieces and document.pieces[-1].kind == "gap":
        gap = document.pieces[-1]
        tail = document.data[gap.start : gap.end]
        opened = tail.rfind(b"/*")
        before = tail[: max(opened, 0)]
        if (
            opened > tail.rfind(b"*/")
            and b"//" not in before[max(before.rfind(b"\n"), before.rfind(b"\r")) + 1 :]
        ):
            return last, _last_line(document), "a comment is not closed"
    return None


def _not_whole(document: Document) -> _Torn | None:
    """A last line without an end that is no whole line of its dialect."""
    data = document.data
    if not data or data[-1:] in b"\r\n":
        return None
    line, piece = document.lines, document.pieces[-1] if document.pieces else None
    text = _last_line(document)
    if piece is None or piece.kind == "gap" or not text:
        return None
    if piece.kind == "unplaced" and document.dialect != "nested":
        return line, text, "its last line has no end and is no whole line"
    if document.dialect == "header" and piece.kind == "directive":
        word = text.lstrip("# \t").split()[:1]
        if word and word[0] not in _DIRECTIVES and any(each.startswith(word[0]) for each in _DIRECTIVES):
            return line, text, "its last line has no end and is no whole line"
    last = document.settings[-1] if document.settings else None
    return _half_a_setting(document, last, text) if last is not None and last.line == line else None


def _half_a_setting(document: Document, last: Setting, text: str) -> _Torn | None:
    """A last setting without a value where others have one, or one that ends within a word."""
    others = document.settings[:-1]
    bare = document.dialect == "flat" and not re.search(r"[=:]", text)
    if last.value and not bare:
        return None
    if cut := _cut_word(last.value or last.key, others):
        whole, part = cut
        return last.line, text, f"its last line has no end, and {part!r} is the beginning of {whole!r}"
    valued = sum(bool(each.value) for each in others)
    guards = 1 if document.dialect == "header" else 0
    if not last.value and valued >= _USUAL and len(others) - valued <= guards:
        return last.line, text, "its last line has no end and no value, and all others have one"
    return None


def _cut_word(text: str, others: Iterable[Setting]) -> tuple[str, str] | None:
    """The whole word that the last word of a text is the beginning of, and that part; None where it is a word itself."""
    words = words_of(text)
    part = words[-1] if words else ""
    if len(part) < 2 or not part.isalpha():
        return None
    known = Counter(word for each in others for word in words_of(f"{each.section} {each.key}"))
    longer = [word for word in known if word != part and word.startswith(part)]
    return (max(longer, key=lambda word: known[word]), part) if longer and part not in known else None


def _not_taken_in(document: Document, paths: Collection[str], never: Collection[str]) -> Iterator[Gap]:
    """Include lines of which no file was read."""
    for include in document.includes:
        meant = is_meant(never, document.path, include.target)
        if not meant and not any(target in paths for target in include.files):
            place = Place(document.path, include.line, include.column)
            yield _missing(place, include.target)


def _named_in_vain(document: Document, present: Collection[str], endings: Collection[str]) -> Iterator[Gap]:
    """Settings whose value is a file's name as the set's other files have it, and no such file is there."""
    for setting, path in named_in(document, endings, undecided=True):
        if _name(path) not in present:
            yield _missing(document.place(setting), path)


def _had_read_in_vain(
    document: Document, present: Collection[str], endings: Collection[str]
) -> Iterator[Gap]:
    """Files that scripts have read and that are not there, each once; one that a code names has to end as the set's files do."""
    told: set[str] = set()
    for named in named_in_scripts(document):
        name = _name(named.path)
        if name not in present and name not in told and (named.sure or ending_of(name) in endings):
            told.add(name)
            yield _missing(named.place, named.path)


def named_in(
    document: Document, endings: Collection[str], *, undecided: bool = False
) -> Iterator[tuple[Setting, str]]:
    """The settings that name a file to be read, one with such an ending, and the path as it stands there; `undecided` also
    those of which it isn't known whether they are in force."""
    counts = (State.ACTIVE, State.UNDECIDED) if undecided else (State.ACTIVE,)
    taken = {include.start for include in document.includes}
    for setting in document.settings:
        if "." not in setting.value or setting.start in taken or setting.state not in counts:
            continue
        named = _NAMES_FILE.fullmatch(setting.value)
        if named is None or named["ending"].lower() not in endings:
            continue
        if not _WRITTEN.intersection(words_of(f"{setting.section} {setting.key}")):
            yield setting, named["path"]


def _missing(place: Place, target: str) -> Gap:
    leads = posixpath.normpath(posixpath.join(posixpath.dirname(place.file), target.replace("\\", "/")))
    outside = leads.startswith("../")
    here = "is not among what was named" if outside else "is not there"
    says = f"{target}, which {place.file}:{place.line} takes in, {here} (if there never was one, say so in the site file: roles: {{{target}: {Role.NONE}}})"
    remedy = _REMEDY_OUTSIDE if outside else _REMEDY_MISSING
    like = Likeness(NOT_THERE, of=target)  # each missing file is a question of its own, wherever it is told
    return Gap(place.file, says, False, Doubt(place, target, NOT_THERE, remedy, like=like))


def _not_read(doubt: Doubt) -> Gap:
    where = f"{doubt.place.file}:{doubt.place.line}"
    return Gap(doubt.place.file, f"{doubt.text}, which {where} has read, can't be read here", False, doubt)


def _nothing_read(document: Document) -> Iterator[Gap]:
    """A file in force of which nothing was read, though numbers stand in it outside remarks, and of which nothing is asked."""
    told = document.settings or document.includes or document.doubts
    if told or document.dialect in ("command", "header"):
        return
    for number, line in enumerate(_LINE_ENDS.split(document.data), 1):
        text = readable(line[:_LONGEST_SHOWN]).strip()
        if text and not text.startswith(("#", ";", "//")) and any(sign.isdigit() for sign in text):
            doubt = Doubt(Place(document.path, number, 1), text, NOTHING_READ, _REMEDY_NOTHING_READ)
            yield Gap(document.path, f"nothing in {document.path} is understood", False, doubt)
            return


def _last_line(document: Document) -> str:
    data = document.data.rstrip(b"\r\n")
    return document.slice(max(data.rfind(b"\n"), data.rfind(b"\r")) + 1, len(data)).strip()


def _name(path: str) -> str:
    return path.replace("\\", "/").rpartition("/")[2].strip().casefold()


def ending_of(path: str) -> str:
    """What follows the last point of a path, in small letters."""
    return path.rpartition(".")[2].lower() if "." in path else ""
