"""Files beside a machine's own that name one of those that are edited: another machine reads it too, it seems.

A file that several machines share is edited by the packet of one, and put back by its revert, and the others find other
values there. So they are told, with file and line. Only a line that names the file as a value, or to take it in, counts,
and no kept copy's. It looks through the configuration's folder within bounds; that it finds nothing says nothing. A
note, a page or a program that names the file prints nothing with it: it is no reader.
A file may say itself whom it is for, where nothing names it (`said_for_whom.py`): then that line is told. What is written for
this program, a site file or a fleet file, names files and reads none of them.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from posixpath import basename, dirname, join, normpath

from msgspec import UNSET, Struct
from msgspec.structs import replace

from cfgmigrate.apply.said_for_whom import lines_for_whom, names_beside
from cfgmigrate.apply.whereabouts import files_below
from cfgmigrate.dialects import detect
from cfgmigrate.dialects.document import readable
from cfgmigrate.files.found import SITE
from cfgmigrate.files.marks import folder_marks, is_log, marks_of
from cfgmigrate.files.roles import Role
from cfgmigrate.ground.hashing import sha256
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.plan.basis import KEEPS_DRIVE, FileReaders
from cfgmigrate.plan.model import Plan

#: what goes on behind a file's name: it is another file's
_GOES_ON = pattern(r"[\w-]|\.\w")
#: so many readers of a file are told
MOST_READERS = 3
#: what becomes of a machine that reads a file which is edited for another one
GETS_THE_NEW = "it gets the new values with this install. Prepare that one's own packet again after it"
HAS_THE_OLD = "it has the old values there again"
_LONGEST = 300
_NAMES_IT = pattern(
    r"[ \t]*(?:\[|(?P<takes_in>#?include|reads?|loads?|source|uses?|take in)\b|(?:\{[ \t]*)?[\"']?[^\W\d][^=:#;\"']{0,60}[\"']?[ \t]*[=:])(?P<rest>.*)",
    re.IGNORECASE,
)
#: keys whose value tells of a file
_TELLS = pattern(
    r"[ \t{]*[\"']?(?:notes?|remarks?|comments?|see|about|docs?|manual|back ?ups?|cop(?:y|ies|ied)|was|history|to ?do)\b",
    re.IGNORECASE,
)
#: what may stand before a file's name that a line reads: another file, and words for reading
_BEFORE_IT = pattern(
    r"\S*[./,:=]\S*|[!@$]?include|reads?|loads?|takes?|from|files?|and|then|optional(?:ly)?|[\[({\"']*",
    re.IGNORECASE,
)
#: what ends the clause in which a file is named: a remark, or what parts it from the next of a list
_CLAUSE_ENDS = pattern(r"[#;,\]})]|//|/\*")
#: `own.conf` behind it is another file, and no word of a sentence
_A_WORD = pattern(r"(?<!\S)(?!(?:and|then)\b)[^\W\d]+(?=[\s.:]*(?:\s|$))")
#: so many words on end are a sentence, and such a part of a text's lines makes it prose
_SENTENCE = pattern(r"(?m)^[ \t]*[^\W\d]+(?:[,;]? [^\W\d]['\w]*){4,}")
_PROSE_PART = 0.2
#: endings of pages that people read, and of programs
_NO_MACHINE_S = frozenset(
    [
        "md",
        "markdown",
        "rst",
        "adoc",
        "htm",
        "html",
        "pdf",
        "rtf",
        "tex",
        "sh",
        "bash",
        "zsh",
        "fish",
        "ps1",
        "bat",
        "cmd",
        "py",
        "rb",
        "pl",
        "js",
        "ts",
        "lua",
        "service",
        "patch",
        "diff",
    ]
)
#: what a fleet file has at its left edge
_FLEET = (pattern(r"(?m)^sheet:[ \t]"), pattern(r"(?m)^machines:[ \t]*(?:#.*)?$"))

#: how the summary of a fleet begins
_SUMMARY = pattern(r'\{\s*"format": \d+,\s*"fleet": \{')


class NamingLine(Struct, frozen=True):
    """A line of a file at `path`, with the hash of what that holds, that names `file`."""

    file: str
    path: str
    line: int
    sha256: str


def other_readers(root: Path, edited: Collection[str], own: Collection[str]) -> Mapping[str, tuple[str, ...]]:
    """By each edited file the lines of files that are not the machine's `own` and name it: `hall/press.conf:7`."""
    return readers_in(lines_naming(root, edited, {*own, *edited}), edited)


def readers_in(lines: Iterable[NamingLine], edited: Collection[str]) -> Mapping[str, tuple[str, ...]]:
    """By each edited file those of some lines that name it."""
    found: dict[str, list[str]] = {}
    for each in lines:
        if each.file in edited:
            found.setdefault(each.file, []).append(f"{each.path}:{each.line}")
    return {file: tuple(places[:MOST_READERS]) for file, places in found.items()}


def lines_naming(root: Path, files: Collection[str], own: Collection[str]) -> tuple[NamingLine, ...]:
    """The lines below the root, but in the machine's `own` files, that name one of these."""
    found: list[NamingLine] = []
    for path, data in files_below(root) if files else ():
        name = basename(path)
        if (
            path in own
            or name == SITE
            or marks_of(name).directed
            or folder_marks(path).directed
            or is_log(name)
        ):
            continue
        text = readable(data)
        if all(field.search(text) for field in _FLEET) or _SUMMARY.match(text):
            continue
        sought = [file for file in files if basename(file) in text]
        if sought and _is_no_machine_s(name, text):
            continue
        reads = bool(sought) and (detect(data) is not None or not _is_prose(text))
        for number, whole in enumerate(text.splitlines() if sought else (), 1):
            line = whole[:_LONGEST]
            found += [
                NamingLine(file, path, number, sha256(data))
                for file in sought
                if basename(file) in line and file in _named(path, line, basename(file), reads)
            ]
    return tuple(found)


def lines_for_others(
    root: Path, files: Collection[str], own: Collection[str], machine: str = ""
) -> tuple[NamingLine, ...]:
    """The lines of these files that say that they are for the `machine` and for others, by what `own` and other files or folders
    are called."""
    below = dict(files_below(root)) if files else {}
    named = names_beside(machine, (*own, *files), (path for path in below if path not in own))
    return tuple(
        NamingLine(path, path, number, sha256(below[path]))
        for path in files
        if path in below
        for number in lines_for_whom(readable(below[path]), named)
    )


def sentences(readers: Mapping[str, Sequence[str]], then: str) -> tuple[str, ...]:
    """A sentence for each file that is read elsewhere, or says so itself, and what is to be done `then`."""
    found = []
    for file, places in readers.items():
        itself = [place for place in places if place.rpartition(":")[0] == file]
        if elsewhere := [place for place in places if place not in itself]:
            found.append(
                f"{file} is named at {', '.join(elsewhere)}, too: if another machine reads it there, {then}"
            )
        if itself:
            found.append(f"{itself[0]} says that it is for others, too: if another machine reads it, {then}")
    return tuple(found)


def with_readers(plan: Plan, root: Path, keeping: Mapping[str, str] | None = None) -> Plan:
    """The plan with who else reads the files that it edits, where anybody does. `keeping` are files, by where they lie, that a
    machine reads which keeps its drive, each with where that is said."""
    edited = edited_files(plan)
    found = dict(readers_in(named_beside(plan, root, edited), edited))
    for file in sorted(edited) if keeping else ():
        if said := (keeping or {}).get(str((root / file).resolve())):
            found[file] = (f"{said}{KEEPS_DRIVE}", *found.get(file, ()))
    told = tuple(FileReaders(file, places) for file, places in found.items())
    return replace(plan, basis=replace(plan.basis, readers=told)) if told else plan


def told_before_install(plan: Plan) -> tuple[str, ...]:
    """What is to be said of the files that a plan edits before its packet is installed."""
    return sentences(readers_of(plan), GETS_THE_NEW)


def told_before_revert(plan: Plan) -> tuple[str, ...]:
    """What is to be said of them before it is taken back."""
    return sentences(readers_of(plan), HAS_THE_OLD)


def named_beside(plan: Plan, root: Path, files: Collection[str]) -> tuple[NamingLine, ...]:
    """The lines of files beside a machine's own that name one of these."""
    read = {file.path for file in plan.files}
    own = {*read, *(each.path for each in plan.left_out if each.role != Role.OTHER)}
    return (*lines_naming(root, files, own), *lines_for_others(root, files, read, plan.machine))


def told_of_readers(plan: Plan, lines: Iterable[NamingLine]) -> tuple[str, ...]:
    """A sentence for each file that a plan edits and these lines name."""
    return sentences(readers_in(lines, edited_files(plan)), GETS_THE_NEW)


def edited_files(plan: Plan) -> set[str]:
    return {edit.file for change in plan.changes for edit in change.edits}


def readers_of(plan: Plan) -> Mapping[str, tuple[str, ...]]:
    """What a plan tells of who else reads the files that it edits."""
    found, edited = plan.basis.readers, edited_files(plan)
    return {each.file: each.places for each in found if each.file in edited} if found is not UNSET else {}


def _is_no_machine_s(name: str, text: str) -> bool:
    """Whether a file is a page to read or a program, whatever its lines look like."""
    return text.startswith("#!") or name.rpartition(".")[2].casefold() in _NO_MACHINE_S


def _is_prose(text: str) -> bool:
    sentences = sum(1 for _ in _SENTENCE.finditer(text))
    return sentences > _PROSE_PART * sum(1 for line in text.splitlines() if line.strip())


def _named(path: str, line: str, name: str, reads: bool) -> Iterator[str]:
    """The paths that a line may mean which ends with `name`: from its file's folder, or from the root. In one that is
    prose, not `reads`, only a line that takes another in counts; and nowhere a sentence."""
    said = _NAMES_IT.match(line)
    before, found, behind = said["rest"].partition(name) if said else ("", "", "")
    if said is None or not found or _GOES_ON.match(behind):
        return
    takes_in = said["takes_in"] is not None
    if not (takes_in or (reads and not _TELLS.match(line))):
        return
    of_sentence = _A_WORD.search(_CLAUSE_ENDS.split(behind, maxsplit=1)[0])
    if of_sentence and not (takes_in and reads):
        return
    whole, (*others, last) = before.lstrip(" \t\"'<="), before.split(" ")
    starts = [whole]
    if all(_BEFORE_IT.fullmatch(each) for each in others):
        starts.append(last.lstrip("[({\"'<=@"))
    for start in starts:
        target = start.replace("\\", "/") + name
        yield from (normpath(join(dirname(path), target)), normpath(target))
