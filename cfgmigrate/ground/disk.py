"""Bytes put on disk so that they are there after a power cut, and a file's look kept.

A file is never written in place: its new content goes to a new file beside it, is flushed, and takes the
old one's name in one step. Mode, owner and extended attributes follow where the system allows it; what it
did not allow is returned in words.

This module deliberately decides nothing: what to write, when and whether, is said in `store/`.
"""

from __future__ import annotations

import contextlib
import errno
import glob
import os
import stat
import sys
from pathlib import Path

from cfgmigrate.ground.access_list import ACCESS_LIST, access_list, let_in

_NEW = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)


def write_new(path: Path, data: bytes, like: Path | None = None, sync: bool = True) -> tuple[str, ...]:
    """Make the file `path`, which must not exist, with the look of the file `like` where one is given.

    Returns what of that look could not be kept, in words. Raises OSError; the file may then be there in
    part.
    """
    handle = os.open(path, _NEW, 0o666 if like is None else 0o600)
    try:
        rest = memoryview(data)
        while rest:
            rest = rest[os.write(handle, rest) :]
        lost = _keep_look(handle, like) if like is not None else ()
        if sync:
            os.fsync(handle)
    finally:
        os.close(handle)
    return lost


def write_over(path: Path, data: bytes) -> None:
    """Give our own file `path`, in a folder of our own, a new content in one step, by way of a file beside it. Whoever may
    change the folder may change the file."""
    temporary = path.with_name(path.name + ".new")
    remove(temporary)
    _put(path, data, temporary)


def _put(path: Path, data: bytes, temporary: Path) -> None:
    try:
        write_new(temporary, data)
        share(temporary)
        move(temporary, path)
    except OSError:
        remove(temporary)
        raise


def write_through(path: Path, data: bytes) -> None:
    """Give a file that a person keeps a new content in one step: behind a link the file that it leads to, and with the
    look that it has. Raises OSError, also where the file is read-only."""
    path = path.resolve()
    if not path.exists():
        return _put(path, data, _beside(path))
    if not path.stat().st_mode & 0o222 or not os.access(path, os.W_OK):
        raise PermissionError(errno.EACCES, "it is read-only")
    temporary = _beside(path)
    try:
        write_new(temporary, data, like=path)
        move(temporary, path)
    except OSError:
        remove(temporary)
        raise


#: what a file is called until it takes its name; no person's file is called so
_UNFINISHED = ".cfgmigrate-unfinished-"


def _beside(path: Path) -> Path:
    """The place for the new content of a file, which is only this process's. What a process that was killed left there for
    the same file goes away."""
    name = f"{_UNFINISHED}{path.name}"
    for left in path.parent.glob(f"{glob.escape(name)}.*"):
        if not _runs(left.name.rpartition(".")[2]):
            remove(left)
    return path.with_name(f"{name}.{os.getpid()}")


def _runs(process: str) -> bool:
    """Whether a process of that number may run here and is another one."""
    if os.name != "posix":
        return True  # asking would end it there
    if not process.isdecimal() or int(process) == os.getpid():
        return False
    try:
        os.kill(int(process), 0)
    except (OSError, OverflowError) as error:
        return isinstance(error, PermissionError)
    return True


def move(source: Path, target: Path) -> None:
    """Rename over `target`, and see to it that the folder remembers."""
    source.replace(target)
    sync_folder(target.parent)


def exchange(one: Path, other: Path) -> bool:
    """Let two paths of one file system change their names in one step; False where the system can't do that.

    Linux alone has a call for it (renameat2 with RENAME_EXCHANGE, Linux 3.15), and Python none."""
    if sys.platform != "linux":
        return False
    import ctypes

    try:
        call = ctypes.CDLL(None, use_errno=True).renameat2
    except (OSError, AttributeError):
        return False
    here = -100  # AT_FDCWD
    done: int = call(here, os.fsencode(one), here, os.fsencode(other), 2)
    return done == 0


def put_new(path: Path, data: bytes) -> None:
    """Make the file `path`, whole or not at all. Raises FileExistsError where something is there, and other OSErrors."""
    temporary = _beside(path)
    try:
        write_new(temporary, data)
        try:
            os.link(temporary, path, follow_symlinks=False)
        except FileExistsError:
            raise
        except OSError:  # a file system without links
            if os.path.lexists(path):
                raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST)) from None
            temporary.replace(path)
        sync_folder(path.parent)
    finally:
        remove(temporary)


def remove(path: Path) -> None:
    """Remove a file if it is there, and see to it that the folder remembers."""
    with contextlib.suppress(FileNotFoundError):
        path.unlink()
        sync_folder(path.parent)


def share(path: Path) -> None:
    """Give something of our own owner, group and mode of the folder that it is in, as far as the system allows it, so
    that what one person or `sudo` made doesn't lock the next one out. Where somebody came in by the folder's access list, that
    holds for it too, and the folder's owner is named there."""
    if os.name != "posix":
        return
    folder, own = path.parent.stat(), path.stat()
    mode = stat.S_IMODE(folder.st_mode)
    with contextlib.suppress(OSError):
        if (own.st_uid, own.st_gid) != (folder.st_uid, folder.st_gid):
            os.chown(path, folder.st_uid, folder.st_gid)
    with contextlib.suppress(OSError):
        path.chmod(mode if path.is_dir() else mode & 0o666)
    owner = folder.st_uid if path.stat().st_uid != folder.st_uid else None
    let_in(path, access_list(path.parent), owner, files_only=not path.is_dir())


def sync_folder(folder: Path) -> None:
    """Flush a folder's own entries, where the system can do that."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _keep_look(handle: int, like: Path) -> tuple[str, ...]:
    found = like.stat()
    lost: list[str] = []
    if os.name != "posix":
        return ()
    made = os.fstat(handle)
    if (made.st_uid, made.st_gid) != (found.st_uid, found.st_gid):
        lost += _keep_owner(handle, found)
    # an access list that goes or comes changes the group's bits of the mode, so the mode is last
    lost += _keep_attributes(handle, like)
    try:
        os.fchmod(handle, stat.S_IMODE(found.st_mode))
    except OSError as error:
        lost.append(f"the mode {stat.S_IMODE(found.st_mode):o} could not be kept: {error.strerror}")
    if os.fstat(handle).st_uid != found.st_uid:
        let_in(handle, access_list(like), found.st_uid)
    return tuple(lost)


def _keep_owner(handle: int, found: os.stat_result) -> list[str]:
    try:
        os.fchown(handle, found.st_uid, found.st_gid)
    except OSError:
        with contextlib.suppress(OSError):
            os.fchown(handle, -1, found.st_gid)
        made = os.fstat(handle)
        return [
            f"the owner {found.st_uid}:{found.st_gid} could not be kept; it is {made.st_uid}:{made.st_gid} now"
        ]
    return []


#: what Linux says where a file has no access list, or can have none
_NONE_THERE = tuple(
    getattr(errno, name) for name in ("ENODATA", "ENOTSUP", "EOPNOTSUPP") if hasattr(errno, name)
)


def _keep_attributes(handle: int, like: Path) -> list[str]:
    if not hasattr(os, "listxattr"):
        return []
    lost: list[str] = []
    try:
        names = os.listxattr(like)
    except OSError:
        return []
    if ACCESS_LIST not in names:
        # a new file takes the access list that its folder has for new files, and the old one had none
        try:
            os.removexattr(handle, ACCESS_LIST)
        except OSError as error:
            if error.errno not in _NONE_THERE:
                lost.append(f"the folder's access list could not be taken off: {error.strerror}")
    for name in names:
        try:
            os.setxattr(handle, name, os.getxattr(like, name))
        except OSError as error:
            lost.append(f"the extended attribute {name} could not be kept: {error.strerror}")
    return lost
