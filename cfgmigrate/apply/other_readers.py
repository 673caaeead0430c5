"""Files beside a machine's own that name one of those that are edited: another machine reads it too, it seems.

A file that several machines share is edited by the packet of one, and put back by its revert, and the others find other
values there. So they are told, with file and line. Only a line that names the file as a value, or to take it in, counts,
and no kept copy's. It looks through the configuration's folder within bounds; that it finds nothing says nothing.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from pathlib import Path
from posixpath import basename, dirname, join, normpath

from cfgmigrate.apply.whereabouts import files_below
from cfgmigrate.dialects.document import readable
from cfgmigrate.files.marks import folder_marks, is_log, marks_of
from cfgmigrate.files.roles import Role
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.packet.folder import Packet

#: what goes on behind a file's name: it is another file's
_GOES_ON = pattern(r"[\w-]|\.\w")
#: so many readers of a file are told
MOST_READERS = 3
_LONGEST = 300
_NAMES_IT = pattern(
    r"[ \t]*(?:\[|#?include\b|(?:reads?|loads?|source|uses?|take in)\b|[\"']?[^\W\d][^=:#;\"']{0,60}[\"']?[ \t]*[=:])(?P<rest>.*)",
    re.IGNORECASE,
)


def other_readers(root: Path, edited: Collection[str], own: Collection[str]) -> Mapping[str, tuple[str, ...]]:
    """By each edited file the lines of files that are not the machine's `own` and name it: `hall/press.conf:7`."""
    found: dict[str, list[str]] = {}
    for path, data in files_below(root) if edited else ():
        name = basename(path)
        if (
            path in own
            or path in edited
            or marks_of(name).directed
            or folder_marks(path).directed
            or is_log(name)
        ):
            continue
        for number, line in enumerate(readable(data).splitlines(), 1):
            for file in edited:
                if basename(file) in line[:_LONGEST] and file in _named(
                    path, line[:_LONGEST], basename(file)
                ):
                    found.setdefault(file, []).append(f"{path}:{number}")
    return {file: tuple(places[:MOST_READERS]) for file, places in found.items()}


def sentences(readers: Mapping[str, Sequence[str]], then: str) -> tuple[str, ...]:
    """A sentence for each file that is read elsewhere, and what is to be done `then`."""
    return tuple(
        f"{file} is named at {', '.join(places)}, too: if another machine reads it there, {then}"
        for file, places in readers.items()
    )


def told_before_install(packet: Packet, root: Path) -> tuple[str, ...]:
    """What is to be said of the files that a packet edits before it is installed, and when it is."""
    plan = packet.plan
    edited = {edit.file for change in plan.changes for edit in change.edits}
    own = {*packet.before, *(each.path for each in plan.left_out if each.role != Role.OTHER)}
    then = "it gets the new values with this install. Prepare that one's own packet again after it"
    return sentences(other_readers(root, edited, own), then)


def _named(path: str, line: str, name: str) -> Iterator[str]:
    """The paths that a line may mean which ends with `name`: from its file's folder, or from the root."""
    said = _NAMES_IT.match(line)
    before, found, behind = said["rest"].partition(name) if said else ("", "", "")
    if not found or _GOES_ON.match(behind):
        return
    for start in (before.lstrip(" \t\"'<="), before.rpartition(" ")[2].lstrip("\"'<=")):
        target = start.replace("\\", "/") + name
        yield from (normpath(join(dirname(path), target)), normpath(target))
