"""Files beside a machine's own that name one of those that are edited: another machine reads it too, it seems.

A file that several machines share is edited by the packet of one, and put back by its revert, and the others find other
values there. So they are told, with file and line. Only a line that names the file as a value, or to take it in, counts,
and no kept copy's. It looks through the configuration's folder within bounds; that it finds nothing says nothing.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from posixpath import basename, dirname, join, normpath

from msgspec import Struct

from cfgmigrate.apply.whereabouts import files_below
from cfgmigrate.dialects.document import readable
from cfgmigrate.files.marks import folder_marks, is_log, marks_of
from cfgmigrate.files.roles import Role
from cfgmigrate.ground.hashing import sha256
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.packet.folder import Packet

#: what goes on behind a file's name: it is another file's
_GOES_ON = pattern(r"[\w-]|\.\w")
#: so many readers of a file are told
MOST_READERS = 3
#: what becomes of a machine that reads a file which is edited for another one
GETS_THE_NEW = "it gets the new values with this install. Prepare that one's own packet again after it"
_LONGEST = 300
_NAMES_IT = pattern(
    r"[ \t]*(?:\[|#?include\b|(?:reads?|loads?|source|uses?|take in)\b|[\"']?[^\W\d][^=:#;\"']{0,60}[\"']?[ \t]*[=:])(?P<rest>.*)",
    re.IGNORECASE,
)


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
        if path in own or marks_of(name).directed or folder_marks(path).directed or is_log(name):
            continue
        text = readable(data)
        sought = [file for file in files if basename(file) in text]
        for number, whole in enumerate(text.splitlines() if sought else (), 1):
            line = whole[:_LONGEST]
            found += [
                NamingLine(file, path, number, sha256(data))
                for file in sought
                if basename(file) in line and file in _named(path, line, basename(file))
            ]
    return tuple(found)


def sentences(readers: Mapping[str, Sequence[str]], then: str) -> tuple[str, ...]:
    """A sentence for each file that is read elsewhere, and what is to be done `then`."""
    return tuple(
        f"{file} is named at {', '.join(places)}, too: if another machine reads it there, {then}"
        for file, places in readers.items()
    )


def told_before_install(packet: Packet, root: Path) -> tuple[str, ...]:
    """What is to be said of the files that a packet edits before it is installed, and when it is."""
    return told_of_readers(packet, named_beside(packet, root))


def named_beside(packet: Packet, root: Path) -> tuple[NamingLine, ...]:
    """The lines of files beside a machine's own that name one of those that were read for its packet."""
    plan = packet.plan
    own = {*packet.before, *(each.path for each in plan.left_out if each.role != Role.OTHER)}
    return lines_naming(root, packet.before, own)


def told_of_readers(packet: Packet, lines: Iterable[NamingLine]) -> tuple[str, ...]:
    """A sentence for each file that a packet edits and these lines name."""
    edited = {edit.file for change in packet.plan.changes for edit in change.edits}
    return sentences(readers_in(lines, edited), GETS_THE_NEW)


def _named(path: str, line: str, name: str) -> Iterator[str]:
    """The paths that a line may mean which ends with `name`: from its file's folder, or from the root."""
    said = _NAMES_IT.match(line)
    before, found, behind = said["rest"].partition(name) if said else ("", "", "")
    if not found or _GOES_ON.match(behind):
        return
    for start in (before.lstrip(" \t\"'<="), before.rpartition(" ")[2].lstrip("\"'<=")):
        target = start.replace("\\", "/") + name
        yield from (normpath(join(dirname(path), target)), normpath(target))
