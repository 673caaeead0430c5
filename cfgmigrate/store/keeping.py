"""The hidden folder `.cfgmigrate` in a configuration's root: its lock, and the copies that are kept.

A copy is named by the SHA-256 of what it holds, so that a damaged one is known and written again. Whoever may change
the configuration's folder may change what is kept in it. A lock that the system drops with the process keeps a
second run out, and a change that failed takes its own copies away.

This module deliberately changes no file of the configuration.
"""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Iterator
from pathlib import Path

from cfgmigrate.ground.disk import move, remove, share, sync_folder, write_new
from cfgmigrate.ground.findings import BadInput, Place, Refused
from cfgmigrate.ground.hashing import sha256
from cfgmigrate.ground.paths import JOURNAL, KEPT, OWN_FOLDER, read_ordinary
from cfgmigrate.ground.pattern import pattern

#: what a copy is called
COPY_NAME = pattern(r"[0-9a-f]{64}")
#: and what one ends in while it is written
_HALF = ".new"
_LOCK = "lock"
_LOCK_FLAGS = os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0)


class Store:
    """The hidden folder `.cfgmigrate` in a configuration's root: journal, lock, history, kept copies."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.folder = root / OWN_FOLDER
        #: copies that were made for a change that is not carried out yet
        self._made: list[Path] = []

    @contextlib.contextmanager
    def locked(self, busy: str = "another run is changing this configuration") -> Iterator[None]:
        """Hold the lock. Raises Refused where another run holds it, the folder can't be made, or the
        system refuses anything that is done under the lock."""
        first, held = not os.path.lexists(self.folder), False
        try:
            _make_folder(self.folder)
            lock = self.folder / _LOCK
            new = not lock.exists()
            handle = os.open(lock, _LOCK_FLAGS, 0o666)
            if new:
                share(lock)
        except OSError as error:
            raise Refused(
                f"the journal's folder can't be used: {error.strerror}",
                Place(str(self.folder)),
                "Nothing was changed. Run as the user who owns the configuration.",
            ) from error
        try:
            _lock(handle, self.root, busy)
            _same_file(handle, lock, busy)
            held = True
            self._clear_half_copies()
            yield
        except BaseException as error:
            self._clear_up()
            refused = self._refused(error) if isinstance(error, OSError) else None
            if first and held:
                self._leave()
            if refused:
                raise refused from error
            raise
        finally:
            os.close(handle)

    def _refused(self, error: OSError) -> Refused:
        where = Place(os.fsdecode(error.filename)) if error.filename else Place(str(self.root))
        outcome = "Nothing was changed."
        if self.pending:
            outcome = "Nothing is lost: mend that, and the next command finishes or undoes what was begun."
        return Refused(f"the files can't be written: {error.strerror or error}", where, outcome)

    def _clear_up(self) -> None:
        """A change that failed takes its own copies away, unless the next command needs them."""
        if not self.pending:
            for made in self._made:
                with contextlib.suppress(OSError):
                    remove(made)
                with contextlib.suppress(OSError):  # where another copy lies in it, it stays
                    for folder in made.relative_to(self.folder).parents[:-1]:
                        (self.folder / folder).rmdir()
        self._made.clear()

    def _leave(self) -> None:
        """Takes away the folder that was made for a change that failed, where nothing is in it but the lock."""
        with contextlib.suppress(OSError):
            if [each.name for each in self.folder.iterdir()] == [_LOCK]:
                (self.folder / _LOCK).unlink()
                self.folder.rmdir()

    def _clear_half_copies(self) -> None:
        """Takes away the copies that a killed run left half written, since nobody else writes under the lock."""
        kept = self.folder / KEPT
        for half in kept.glob(f"*{_HALF}") if not kept.is_symlink() else ():
            if COPY_NAME.fullmatch(half.name.removesuffix(_HALF)):
                with contextlib.suppress(OSError):
                    remove(half)

    def carried_out(self) -> None:
        """The change is done: its copies stay."""
        self._made.clear()

    def keep(self, data: bytes, like: Path | None = None) -> str:
        """Keep a copy of some content, readable by whom `like` is readable; returns its name."""
        name = sha256(data)
        kept = self.folder / KEPT / name
        if not self._is_whole(name):
            _make_folder(kept.parent)
            temporary = kept.with_name(name + _HALF)
            remove(temporary)
            self._made += [temporary, kept] if not os.path.lexists(kept) else [temporary]
            look = like if like is not None and like.exists() else None
            write_new(temporary, data, look)
            if look is None:
                share(temporary)
            move(temporary, kept)
        return name

    def keep_as(self, path: str, data: bytes, like: Path) -> None:
        """Keep a copy under a name of its own in this folder, with the look of the file `like`."""
        place = self.folder / path
        for folder in reversed([place.parent, *place.parent.parents]):
            if folder.is_relative_to(self.folder):
                _make_folder(folder)
        self._made.append(place)
        write_new(place, data, like)

    def kept(self, name: str) -> bytes:
        """A kept copy. Raises Refused where it is missing or was changed."""
        shown = f"{OWN_FOLDER}/{KEPT}/{name}"
        if not isinstance(name, str) or not COPY_NAME.fullmatch(name):
            raise Refused("this is no name of a kept copy", Place(shown))
        data = read_ordinary(self.folder / KEPT / name, shown)
        if sha256(data) != name:
            raise Refused("the kept copy was changed", Place(shown))
        return data

    def _is_whole(self, name: str) -> bool:
        """Whether there is a copy of that name that holds what its name says; a damaged one is written again."""
        try:
            return bool(self.kept(name))
        except (Refused, BadInput):
            return False

    @property
    def pending(self) -> bool:
        """Whether a change was interrupted. Raises Refused where nobody here may look."""
        return self.holds(JOURNAL)

    def holds(self, name: str) -> bool:
        """Whether there is a file of that name in the folder. Raises Refused where nobody here may look."""
        try:
            return (self.folder / name).exists()
        except OSError as error:
            raise Refused(
                f"the history can't be looked into: {error.strerror}",
                Place(str(self.folder)),
                "Nothing was changed. See to it that you may read and write this folder.",
            ) from error


def _make_folder(folder: Path) -> None:
    if folder.is_symlink():
        raise Refused("a symbolic link is no place for the journal", Place(str(folder)), "Remove the link.")
    if not folder.is_dir():
        folder.mkdir()
        share(folder)
        sync_folder(folder.parent)


def _same_file(handle: int, lock: Path, busy: str) -> None:
    """Raises Refused where the lock that is held is no longer the one in the folder: a run that failed took it away."""
    try:
        same = os.path.samestat(os.fstat(handle), lock.stat())
    except FileNotFoundError:
        same = False
    if not same:
        raise Refused(busy, Place(str(lock.parent.parent)), "Nothing was changed. Run it again.")


def _lock(handle: int, root: Path, busy: str) -> None:
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        raise Refused(
            busy,
            Place(str(root)),
            "Nothing was changed. Wait until it has ended.",
        ) from error
