"""Writing a packet: whole or not at all, and never over something else.

A packet is put together in a temporary folder beside its place and renamed into it, so that a packet that
stands there is complete. An identical packet is written again in peace and keeps its review; another one
is replaced only where that was asked for, and never while it is installed, because it may be the way back;
anything else in the way is refused.

Where one packet takes another's place, the two change names in one step. A system that has no such step
puts the old one aside under a hidden name first; what a kill left there is put back by the next writing. That also takes
away what a killed run left half written beside: a run holds a lock on its own folder while it lives, and a folder of such a
name in which anything else lies is nobody's rubbish.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping
from itertools import takewhile
from pathlib import Path
from typing import Any

from msgspec.structs import replace

from cfgmigrate.ground.disk import exchange, sync_folder, write_new
from cfgmigrate.ground.findings import CfgError, Place, Refused
from cfgmigrate.ground.paths import another_folder
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.packet.folder import (
    FORWARD,
    INDEX,
    REVERT,
    REVIEW,
    Contents,
    Packet,
    aside,
    canonical,
    canonical_fields,
    canonical_object,
    index_bytes,
    is_page,
    sha256,
)
from cfgmigrate.packet.in_place import IN_PLACE_OF
from cfgmigrate.packet.opening import read_packet
from cfgmigrate.packet.patch import patch_of

_HALF = ".packet-"
_LEFT = pattern(rf"{_HALF}[a-z0-9_]{{8}}")
_WHOLE = "packet"


def write_packet(
    folder: Path,
    contents: Contents,
    pages: Mapping[str, str | bytes],
    preparer: str = "",
    replacing: Callable[[Packet], None] | None = None,
    in_place_of: Mapping[str, Any] | None = None,
) -> Packet:
    """Write a packet to `folder` and read it back, checked. `in_place_of` tells of the packets that stood there before.

    `pages` are the files for people by name (`changes.html`). `replacing` allows another packet in the way to be
    replaced, and raises Refused where that one must stay; its review stays beside the new one, and so does all that
    somebody laid into its folder. Raises Refused, with nothing changed, where something else is in the way, a path is
    not allowed or the disk does not take it.
    """
    files = {
        **contents.files(),
        FORWARD: patch_of(contents.before, contents.all_after),
        REVERT: patch_of(contents.all_after, contents.before),
        **_as_bytes(pages),
    }
    index = _index(contents, files, preparer, in_place_of or {})
    _put_back(folder)
    present = _to_replace(folder, index["hash"], contents.plan.root, replacing)
    if present is not None and present.review is not None:
        files[REVIEW] = present.review
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        with _folder_beside(folder) as temporary:
            whole = temporary / _WHOLE
            files[INDEX] = index_bytes(index)
            _fill(whole, files)
            packet = read_packet(whole, files)
            if present is not None:
                _take_along(present, whole)
            _put_in_place(whole, folder)
    except OSError as error:
        raise Refused(
            f"the packet can't be written: {error.strerror or error}",
            Place(str(folder)),
            "Nothing was changed.",
        ) from error
    return replace(packet, folder=folder)


@contextlib.contextmanager
def _folder_beside(folder: Path) -> Iterator[Path]:
    """A folder of this run's alone beside a packet's place, where nothing is left of runs that were killed."""
    _clear_left(folder.parent)
    while True:
        with tempfile.TemporaryDirectory(prefix=_HALF, dir=folder.parent) as temporary:
            try:
                handle = _claimed(Path(temporary))
            except (BlockingIOError, FileNotFoundError):
                continue  # another run took it for left before it was claimed
            try:
                yield Path(temporary)
            finally:
                if handle is not None:
                    os.close(handle)
            return


def _clear_left(parent: Path) -> None:
    for left in parent.glob(f"{_HALF}*"):
        with contextlib.suppress(OSError):
            if not _LEFT.fullmatch(left.name) or any(each.name != _WHOLE for each in left.iterdir()):
                continue
            handle = _claimed(left)
            if handle is not None:
                try:
                    shutil.rmtree(left, ignore_errors=True)
                finally:
                    os.close(handle)


def _claimed(folder: Path) -> int | None:
    """The handle by which a folder is this run's until it is closed; None where the system has no such lock. Raises
    BlockingIOError where another run has it, and FileNotFoundError where it is gone."""
    if sys.platform == "win32":
        return None
    import fcntl

    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        folder.stat()
    except (BlockingIOError, FileNotFoundError):
        os.close(handle)
        raise
    except OSError:
        os.close(handle)
        return None
    return handle


def _put_in_place(whole: Path, folder: Path) -> None:
    """Give a packet its name. What had that name before goes away."""
    if not folder.exists():
        whole.rename(folder)
    elif not exchange(whole, folder):
        old = aside(folder)
        folder.rename(old)
        try:
            whole.rename(folder)
        except OSError:
            old.rename(folder)
            raise
        sync_folder(folder.parent)
        shutil.rmtree(old)
    sync_folder(folder.parent)


def _put_back(folder: Path) -> None:
    """Clear up after a replacing that was stopped between its two steps."""
    old = aside(folder)
    if not old.is_dir() or old.is_symlink():
        return
    try:
        if folder.exists():
            shutil.rmtree(old)
        else:
            old.rename(folder)
            sync_folder(folder.parent)
    except OSError as error:
        raise Refused(
            f"an interrupted replacing can't be undone: {error.strerror or error}",
            Place(str(old)),
            f"Rename it to {folder.name} by hand.",
        ) from error


def _as_bytes(pages: Mapping[str, str | bytes]) -> dict[str, bytes]:
    for page in pages:
        if not is_page(page):
            raise ValueError(f"{page} is no name for a page")
    return {
        page: text if isinstance(text, bytes) else text.encode("utf-8", "surrogateescape")
        for page, text in pages.items()
    }


def _index(
    contents: Contents, files: Mapping[str, bytes], preparer: str, before: Mapping[str, Any]
) -> dict[str, Any]:
    known = contents.digests
    own = {
        "prepared_by": preparer,
        **({IN_PLACE_OF: before} if before else {}),
        "contents": {path: known.get(path) or sha256(files[path]) for path in sorted(files)},
        "hash": contents.hash,
    }
    fields = {**canonical_fields(contents.plan), **{name: canonical(value) for name, value in own.items()}}
    seal = sha256(canonical_object(fields).encode())
    return {**contents.plan.to_json(), **own, "seal": seal}


def _take_along(present: Packet, whole: Path) -> None:
    """What lies in a packet's folder and is not its own (notes, pictures, signed records) goes into the new one's. Raises
    Refused where that has a file of the same name."""
    own = {INDEX, REVIEW, *present.index["contents"]}
    for path in sorted(present.folder.rglob("*")):
        name = path.relative_to(present.folder).as_posix()
        if name in own or (path.is_dir() and not path.is_symlink()):
            continue
        there = whole / name
        if os.path.lexists(there):
            raise Refused(
                "a file of yours has the name of one of the new packet's",
                Place(str(path)),
                "Nothing was changed. Give it another name.",
            )
        there.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(path, there, follow_symlinks=False)


def _to_replace(
    folder: Path, content: str, root: str, replacing: Callable[[Packet], None] | None
) -> Packet | None:
    """The packet that stands at `folder`. Raises Refused where it must not be replaced."""
    if folder.is_symlink() or (folder.exists() and not folder.is_dir()):
        raise Refused("something else is in the way", Place(str(folder)), "Choose another folder.")
    if not folder.is_dir() or not any(folder.iterdir()):
        return None
    if not (folder / INDEX).exists():
        raise Refused(
            "the folder is not empty and holds no packet", Place(str(folder)), "Choose another folder."
        )
    try:
        present = read_packet(folder)
    except CfgError as error:
        raise Refused(
            f"a damaged packet is in the way: {error.what}", Place(str(folder)), "Choose another folder."
        ) from error
    if present.hash == content and not another_folder(present.plan.root, root):
        return present
    if replacing is None:
        raise Refused(
            "another packet is in the way, and it may be the way back",
            Place(str(folder)),
            "Choose another folder, or say --replace if it was never installed.",
        )
    replacing(present)
    return present


def _fill(folder: Path, files: Mapping[str, bytes]) -> None:
    folders = {folder}
    folder.mkdir()
    for path, data in files.items():
        target = folder / path
        if target.parent not in folders:
            target.parent.mkdir(parents=True, exist_ok=True)
            folders.update(takewhile(lambda parent: parent not in folders, target.parents))
        write_new(target, data, sync=False)
    for made in folders:
        sync_folder(made)
