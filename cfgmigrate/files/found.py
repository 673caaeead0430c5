"""The files and folders that a person names, and every file below them, with the reason where one is not read.

A folder that is a packet of this program is passed over: its `before/` and `after/` are copies. So are hidden
files and links that lead out. Of several names for one file the first real one is kept.

The root is the nearest folder upwards that has a site file or a history, so that one configuration never gets two
histories; without either it is the deepest folder that holds all that is named. A history further up that tells of no file in
there is another machine's. This module looks at names and links only, never into files.
"""

from __future__ import annotations

import errno
import os
from collections.abc import Iterator, Sequence
from hashlib import sha256
from pathlib import Path

from msgspec import Struct

from cfgmigrate.files.history_above import counts_for
from cfgmigrate.files.pattern import is_packet
from cfgmigrate.ground.findings import BadInput, Place, Refused
from cfgmigrate.ground.paths import OWN_FOLDER

#: the site file's name, beside the configuration
SITE = "cfgmigrate.yaml"
#: how the reason begins for which nobody here can look into a file or folder
CLOSED = "it can't be read"
#: the reason for which a link is not followed
OUTSIDE = "it is a link to outside the folder"
#: so many files and folders are looked at to tell whether anything came since
MOST_STANDING = 20_000


class Found(Struct, frozen=True):
    """A file that was named, or that a named folder holds; or, with a reason, one that is not read."""

    path: Path
    named: bool
    reason: str = ""


def common_root(named: Sequence[Path]) -> Path:
    """The configuration's root: the folder that is named, or the deepest one that holds all that is named.

    Raises BadInput where a path is not there, or is a packet of this program."""
    if not named:
        raise BadInput("no file or folder was given", remedy="name the configuration's files or folders")
    for path in named:
        if not path.exists():
            raise BadInput("there is no such file or folder", Place(str(path)), "check the path")
        if path.is_dir() and is_packet(path):
            remedy = "name the configuration itself, or the packet's before/ or after/"
            raise BadInput("this folder is a packet of this program", Place(str(path)), remedy)
    folders = [path.resolve() if path.is_dir() else path.parent.resolve() for path in named]
    return _with_answers(Path(os.path.commonpath(folders)))


def _with_answers(folder: Path) -> Path:
    """The nearest folder upwards that has a site file or a history, else the folder itself.

    Raises Refused for two histories, one above the other."""
    found: Path | None = None
    for place in (folder, *folder.parents):
        if is_packet(place):
            break
        history = (place / OWN_FOLDER).is_dir() and (place == folder or counts_for(found or folder, place))
        if found is None and (history or (place / SITE).is_file()):
            found = place
        elif found is not None and history:
            own = "a history" if (found / OWN_FOLDER).is_dir() else f"a {SITE}"
            raise Refused(
                f"there is {own} here and another history above it, in {place}",
                Place(str(found)),
                "Nothing was changed. Which of them counts can't be told: name the upper folder and put the lower "
                f"one's aside, or put {place / OWN_FOLDER} aside (keep it: it has the way back of what was installed from "
                "there).",
            )
    return found or folder


def relative_to(path: Path, root: Path) -> str:
    """The path below the root, with forward slashes. The last part may be a link: it keeps its name."""
    return Path(os.path.relpath(path.parent.resolve() / path.name, root)).as_posix()


def each_once(named: Sequence[Path], root: Path) -> dict[str, Found]:
    """All files by relative path. Of several names for one file the first real one is kept."""
    every: dict[str, Found] = {}
    for path in named:
        for found in _walk(path, root) if path.is_dir() else [Found(path, named=True)]:
            relative = relative_to(found.path, root)
            if relative not in every or found.named:
                every[relative] = found
    first: dict[Path, str] = {}
    for relative in sorted(every, key=lambda name: (every[name].path.is_symlink(), name)):
        found = every[relative]
        if not found.reason:
            kept = first.setdefault(found.path.resolve(), relative)
            if kept != relative:
                every[relative] = Found(found.path, found.named, f"it is the same file as {kept}")
    return every


def standing_of(root: Path) -> tuple[frozenset[str], str]:
    """The files below a root that would be read, and a digest of names, sizes and times that stays the same while no file
    comes, goes or is written. Nothing and "" where there is too much, or it can't be looked through."""
    digest, names = sha256(), set[str]()
    try:
        for count, found in enumerate(_walk(root, root)):
            if count > MOST_STANDING:
                return frozenset(), ""
            if not found.reason or found.path.name == SITE:
                own = found.path.stat()
                path = relative_to(found.path, root)
                names |= {path} if not found.reason else set()
                told = (path, own.st_ino, own.st_size, own.st_mtime_ns)
                digest.update(repr(told).encode("utf-8", "surrogateescape"))
    except OSError:
        return frozenset(), ""
    return frozenset(names), digest.hexdigest()


def _walk(folder: Path, root: Path) -> Iterator[Found]:
    """Every file below a folder, in order, with the reason where one is not to be read."""
    for place, folders, files in os.walk(folder):
        inside = Path(place)
        for name in sorted(folders):
            reason = _folder_reason(inside / name)
            if reason:
                folders.remove(name)
                yield Found(inside / name, named=False, reason=reason)
        folders.sort()
        for name in sorted(files):
            yield Found(inside / name, named=False, reason=_file_reason(inside / name, root))


def _folder_reason(folder: Path) -> str:
    if folder.name.startswith("."):
        return "it is hidden"
    if folder.is_symlink():
        return "it is a link to a folder"
    if not os.access(folder, os.R_OK | os.X_OK):
        return f"{CLOSED}: {os.strerror(errno.EACCES)}"
    return "it is a packet of this program" if is_packet(folder) else ""


def _file_reason(file: Path, root: Path) -> str:
    if file.name.startswith("."):
        return "it is hidden"
    if file.name == SITE:
        return "it is the site file"
    if not file.is_symlink():
        return ""
    try:
        inside = file.resolve().is_relative_to(root)
    except (OSError, RuntimeError):  # links in a circle
        return "it is a link that leads nowhere"
    return "" if inside else OUTSIDE
