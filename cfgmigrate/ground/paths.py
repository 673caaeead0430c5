"""Which paths a packet, a patch or a journal may name, and what file a path means on this machine.

A packet may come from someone else, so its paths are not trusted: a path is relative, with forward
slashes, stays below the configuration's root, and leads to an ordinary file. A symbolic link is followed
only where it ends below the root.

This module deliberately changes nothing on disk.
"""

from __future__ import annotations

import os
import re
import stat
import unicodedata
from functools import lru_cache
from pathlib import Path

from msgspec import Struct

from cfgmigrate.ground.findings import BadInput, Place, Refused
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.user_file import NotRead, read_bounded

#: our own folder below a configuration's root; no packet may write into it
OWN_FOLDER = ".cfgmigrate"
#: what lies in it: the history, the journal (while there is one, a change is under way or was interrupted) and the copies
HISTORY, JOURNAL, KEPT = "history.jsonl", "journal.json", "kept"

#: larger files are no configuration: reading them whole would only exhaust memory
LARGEST_FILE = 256 * 1024 * 1024

_CONTROL = pattern(r"[\x00-\x1f\x7f-\x9f]")
_DRIVE = pattern(r"[A-Za-z]:")
#: names that Windows keeps for devices, with any ending (its documentation, "Naming Files, Paths, and Namespaces")
_DEVICE = pattern(
    r"(?:con|prn|aux|nul|com[0-9\u00b9\u00b2\u00b3]|lpt[0-9\u00b9\u00b2\u00b3])(?:\..*)?", re.IGNORECASE
)
_NOT_ON_WINDOWS = pattern(r'[<>:"|?*]')


class FileTarget(Struct, frozen=True):
    """The file that a path of a packet means here. `real` is its own path below the root, without links;
    `data` is what it holds, None where there is no such file. `notes` are worth telling a person."""

    path: str
    real: str
    data: bytes | None
    notes: tuple[str, ...] = ()


def another_folder(one: str, other: str) -> bool:
    """Whether two paths lead to folders that are both there, and not the same."""
    first, second = Path(one), Path(other)
    return one != other and first.is_dir() and second.is_dir() and not first.samefile(second)


@lru_cache(maxsize=4096)
def fault_of_path(path: str, windows: bool = os.name == "nt") -> str:
    """Why `path` must not be used below a configuration's root; "" where nothing speaks against it.

    What a path means depends on the system: on `windows` a colon opens a hidden stream of a file, some names are devices
    and dots or blanks at an end are dropped. Elsewhere these are letters like others."""
    if not path:
        return "an empty path"
    if _CONTROL.search(path):
        return "a control character in the path"
    if path.startswith("/") or _DRIVE.match(path):
        return "an absolute path"
    if "\\" in path:
        return "a backslash in the path"
    parts = path.split("/")
    if ".." in parts:
        return "the path leaves the configuration's folder"
    if "" in parts or "." in parts:
        return "an empty step in the path"
    if same_name(parts[0].rstrip(". ")) == OWN_FOLDER:
        return f"{OWN_FOLDER} is kept for the journal"
    return _fault_on_windows(parts) if windows else ""


def _fault_on_windows(parts: list[str]) -> str:
    if any(_NOT_ON_WINDOWS.search(part) for part in parts):
        return "a character that Windows keeps for itself in the path"
    if any(part.rstrip(". ") != part for part in parts):
        return "a dot or a blank at the end of a name, which Windows drops"
    if any(_DEVICE.fullmatch(part.rstrip()) for part in parts):
        return "a name that Windows keeps for a device"
    return ""


def same_name(path: str) -> str:
    """A path as folders have it that know no capitals (Windows, macOS) or spell letters otherwise (macOS): two that come
    to the same may be one file there. Letters that are not seen, which some file systems pass over, are left out."""
    plain = unicodedata.normalize("NFC", path).casefold()
    return "".join(letter for letter in plain if unicodedata.category(letter) != "Cf")


def checked_path(path: str, source: str = "") -> str:
    """`path` itself. Raises Refused, naming `source`, where `fault_of_path` finds something."""
    fault = fault_of_path(path)
    if fault:
        shown = ascii(path)
        raise Refused(
            f"{fault}: {shown}",
            Place(source) if source else None,
            "A path must lead to a file below the configuration's folder.",
        )
    return path


def existing_root(root: Path) -> Path:
    """The configuration's root without symbolic links. Raises BadInput where it is no folder."""
    try:
        found = root.resolve(strict=True)
    except (OSError, RuntimeError) as error:
        raise BadInput(
            f"the configuration's folder {root} is not there", remedy="Say where the files are."
        ) from error
    if not found.is_dir():
        raise BadInput(f"{root} is not a folder", remedy="Say which folder holds the configuration.")
    return found


def target_of(root: Path, path: str) -> Path:
    """The ordinary file that `path` means below `root` (already resolved), links followed.

    A file that is not there is given as the place where it would stand. Raises Refused where the path
    or a link leads out of the root, or to something that is no ordinary file.
    """
    checked_path(path)
    wanted = root / path
    try:
        found = wanted.resolve(strict=False)
    except (OSError, RuntimeError) as error:
        raise Refused("the symbolic link leads nowhere", Place(path)) from error
    if not found.is_relative_to(root) or found == root:
        raise Refused(
            "the symbolic link leads out of the configuration's folder",
            Place(path),
            f"It ends at {found}. Use a folder that holds both, or put the file itself there.",
        )
    if found.is_relative_to(root / OWN_FOLDER):
        raise Refused(f"the symbolic link leads into {OWN_FOLDER}", Place(path))
    try:
        mode = found.stat().st_mode
    except FileNotFoundError:
        return found
    except OSError as error:
        raise Refused(f"can't be looked at: {error.strerror}", Place(path)) from error
    if not stat.S_ISREG(mode):
        raise Refused("not an ordinary file", Place(path), "Only ordinary files are read and written.")
    return found


def read_ordinary(path: Path, shown: str) -> bytes:
    """The bytes of an ordinary file; links are not followed, devices and pipes never opened.

    Raises Refused, naming the file as `shown`, where it is anything else or can't be read.
    """
    try:
        return read_bounded(path, LARGEST_FILE, links=False)
    except NotRead as error:
        raise Refused(error.what, Place(shown)) from error


def target(root: Path, path: str) -> FileTarget:
    """Look at the file that `path` means below `root`. Raises Refused as `target_of` and `read_ordinary`."""
    found = target_of(root, path)
    real = found.relative_to(root).as_posix()
    try:
        links = found.stat().st_nlink
    except FileNotFoundError:
        return FileTarget(path, real, None)
    notes = (
        (f"{path}: the file has {links} names (hard links); the others keep the old content",)
        if links > 1
        else ()
    )
    return FileTarget(path, real, read_ordinary(found, path), notes)


def _mounted_read_only(folder: Path) -> bool:
    """Whether nobody can write there, whoever owns it. Not known on a system that doesn't tell, or of a folder that is gone."""
    if not hasattr(os, "statvfs") or not folder.is_dir():
        return False
    return bool(os.statvfs(folder).f_flag & os.ST_RDONLY)


def check_writable(root: Path, found: FileTarget) -> None:
    """Raise Refused where the file or its file system is read-only, or this user may not replace it."""
    file = root / found.real
    if _mounted_read_only(file.parent):
        what = "the file system that it lies on is mounted read-only"
        raise Refused(what, Place(found.path), "Nothing was changed. Mount it so that it can be written to.")
    remedy = "Nothing was changed. Allow writing, or run as the user who owns the configuration."
    if found.data is not None:
        if not file.stat().st_mode & 0o222:
            raise Refused("the file is read-only", Place(found.path), remedy)
        if not os.access(file, os.W_OK):
            raise Refused("no permission to write the file", Place(found.path), remedy)
    if not os.access(file.parent, os.W_OK | os.X_OK):
        raise Refused("no permission to write in the file's folder", Place(found.path), remedy)
