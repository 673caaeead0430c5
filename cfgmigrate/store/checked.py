"""What was read in full before, so that it need not be read again while nobody has touched it.

A note in `.cfgmigrate/` says of each bundle of the history that its entries were read in full and found whole, where
the chain stands before and behind it, and how each kept copy that they need looked then: its size, its number in the
file system, and when its bytes and when anything of it last changed. The last of these times is the system's own; no
program can set it. So a copy that was changed, replaced or lost since is noticed without being read. One that had been
changed so shortly before it was looked at that a second change might bear the same time is read each time.

The note is a help. It is written after the change that it is about, it may be missing, old, damaged or of another
machine, and then all is read. It says nothing of what an entry holds. What it can't notice is a disk that loses a byte
by itself: that comes out when the copy is used, since whatever is used is held against its hash, or when somebody asks
to have all of it read anew (`history --full`, `history --json`, `report`, `revert --to`).
"""

from __future__ import annotations

import contextlib
import os
import stat
import sys
from collections.abc import Iterable, Mapping

import msgspec
from msgspec import Struct

from cfgmigrate.ground.disk import remove, share, write_new
from cfgmigrate.ground.findings import CfgError
from cfgmigrate.ground.hashing import sha256
from cfgmigrate.ground.paths import KEPT, OWN_FOLDER, read_ordinary
from cfgmigrate.store.keeping import COPY_NAME, Store

NOTE = "checked.json"
#: a file system may tell no two changes within this time apart (two seconds on some), in nanoseconds
TOO_NEAR = 2_000_000_000

Look = tuple[int, int, int, int]
"""How a file looks from outside: size, number, time of its last writing and of its last change (ns)."""


class FoundWhole(Struct, frozen=True):
    """A bundle that was found whole: the hash of the entry before its first, and of its last; the number of the first;
    the look of each copy that it needs, its own among them, None where that tells nothing."""

    first: int
    previous: str
    last: str
    copies: dict[str, Look | None]


class Looked:
    """What was found out about the kept copies in one run; each is read at most once."""

    def __init__(self, store: Store) -> None:
        self.store = store
        self.looks: dict[str, Look | None] = {}
        self._faults: dict[str, str] = {}

    def fault(self, name: str, known: Look | None = None) -> str:
        """What is wrong with a copy, "" where nothing is. It is not read where it looks as `known`."""
        if name not in self._faults:
            look = _look(self.store, name)  # before it is read: what changes in between looks otherwise then
            self.looks[name] = look
            self._faults[name] = "" if look is not None and look == known else _fault(self.store, name)
        return self._faults[name]

    def mark(self, first: int, previous: str, last: str, copies: Iterable[str], now: int) -> FoundWhole:
        """The mark of a bundle whose copies were all looked at. `now` is a time of the same file system (ns)."""
        looks = {name: self.looks.get(name) for name in copies}
        old = {
            name: look if look is not None and look[3] < now - TOO_NEAR else None
            for name, look in looks.items()
        }
        return FoundWhole(first, previous, last, old)


def read_note(store: Store) -> Mapping[str, FoundWhole]:
    """The marks, by the names of the bundles; none where there is no note that can be read."""
    try:
        seal, _, body = read_ordinary(store.folder / NOTE, f"{OWN_FOLDER}/{NOTE}").partition(b"\n")
        if sha256(body) != seal.decode():
            return {}
        return msgspec.json.decode(body, type=dict[str, FoundWhole])
    except (CfgError, ValueError, RecursionError):
        return {}


def write_note(store: Store, marks: Mapping[str, FoundWhole]) -> None:
    """Put the note in its place. The caller holds the lock. Where the disk does not take it, there is none."""
    body = msgspec.json.encode(marks)
    path = store.folder / NOTE
    temporary = path.with_name(NOTE + ".new")
    with contextlib.suppress(OSError):
        remove(temporary)
        # not flushed: after a power cut it may be there in part, and its seal tells
        write_new(temporary, f"{sha256(body)}\n".encode() + body, sync=False)
        share(temporary)
        temporary.replace(path)
        return
    for each in (temporary, path):
        with contextlib.suppress(OSError):
            remove(each)


def changed_at(store: Store, name: str) -> int:
    """When a file of the folder last changed (ns). Raises OSError."""
    return (store.folder / name).lstat().st_ctime_ns


def _look(store: Store, name: str) -> Look | None:
    """None where it can't be looked at, is no file, or this system's times tell nothing."""
    if sys.platform == "win32" or not COPY_NAME.fullmatch(name):
        return None
    try:
        found = os.lstat(f"{store.folder}/{KEPT}/{name}")
    except (OSError, ValueError):
        return None
    if not stat.S_ISREG(found.st_mode):
        return None
    return found.st_size, found.st_ino, found.st_mtime_ns, found.st_ctime_ns


def _fault(store: Store, name: str) -> str:
    try:
        store.kept(name)
    except CfgError as error:
        return str(error)
    return ""
