"""Several files changed together: all of them or none, even if the machine stops in the middle.

    1. keep a copy of every old and new content in `.cfgmigrate/kept/`, named by its SHA-256
    2. write the journal: which files, from what to what                       state: writing
    3. write every new content to a hidden file beside its target
    4. write the journal again                                                 state: renaming
    5. let every hidden file and its target change their names in one step, and look at what came out: where that is
       not the old content, somebody saved the file in that moment, and both change back; the history is the last
    6. remove the journal

Stopped before 4, nothing has happened yet, and `recover` clears away. Stopped after it, everything needed
is on disk, and `recover` finishes. Where finishing would run over an edit made in the meantime, or a
rename fails, the files already renamed are taken back from the copies instead. A system that can't let two files
change their names renames one over the other, which leaves a moment unwatched, and says so. A lock that the system
drops with the process keeps a second run out.

This module deliberately does not know what the change is about.
"""

from __future__ import annotations

import contextlib
import json
import os
import re
import secrets
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path, PurePosixPath
from typing import Any

from cfgmigrate.ground.disk import exchange, move, remove, share, sync_folder, write_new, write_over
from cfgmigrate.ground.findings import BadInput, Place, Refused
from cfgmigrate.ground.paths import OWN_FOLDER, fault_of_path, read_ordinary
from cfgmigrate.packet.folder import sha256

_JOURNAL = "journal.json"
_KEPT = "kept"
_LOCK = "lock"
#: the name of a new content beside its target
_HIDDEN = re.compile(re.escape(OWN_FOLDER) + r"-[0-9a-f]{4,16}-[0-9]+")
_LOCK_FLAGS = os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0)
WRITING, RENAMING = "writing", "renaming"
_UNWATCHED = (
    "this system can't exchange two files in one step: what an editor saved in the very moment would have been"
    " overwritten"
)


@dataclass(frozen=True, slots=True)
class FileReplacement:
    """One file that gets a new content. `path` is relative to the root and leads there without links;
    `before` is what stands there now, None where nothing does."""

    path: str
    before: bytes | None
    after: bytes


@dataclass(frozen=True, slots=True)
class Recovery:
    """What became of a change that was interrupted: `outcome` is "finished" or "undone". `conflicts` are
    files that somebody edited in the meantime and that were left as they are."""

    kind: str
    outcome: str
    files: tuple[str, ...]
    conflicts: tuple[str, ...] = ()

    def __str__(self) -> str:
        said = f"An interrupted {self.kind} was found and {self.outcome}: {', '.join(self.files)}."
        if self.conflicts:
            said += f" Edited in the meantime, and left as they are: {', '.join(self.conflicts)}."
        return said

    def to_json(self) -> dict[str, Any]:
        return {
            "kind": self.kind,
            "outcome": self.outcome,
            "files": list(self.files),
            "conflicts": list(self.conflicts),
        }


@dataclass(frozen=True, slots=True)
class _Item:
    path: str
    temporary: str
    before: str | None
    after: str


@dataclass(frozen=True, slots=True)
class _Journal:
    kind: str
    state: str
    items: tuple[_Item, ...]

    def to_bytes(self) -> bytes:
        items = [{name: getattr(item, name) for name in _Item.__slots__} for item in self.items]
        data = {"format": 1, "kind": self.kind, "state": self.state, "items": items}
        return (json.dumps(data, indent=1) + "\n").encode()


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
            yield
        except BaseException as error:
            self._clear_up()
            if isinstance(error, OSError):
                raise self._refused(error) from error
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
        self._made.clear()

    def carried_out(self) -> None:
        """The change is done: its copies stay."""
        self._made.clear()

    def keep(self, data: bytes, like: Path | None = None) -> str:
        """Keep a copy of some content, readable by whom `like` is readable; returns its name."""
        name = sha256(data)
        kept = self.folder / _KEPT / name
        if not self._is_whole(name):
            _make_folder(kept.parent)
            temporary = kept.with_name(name + ".new")
            remove(temporary)
            self._made += [temporary, kept] if not os.path.lexists(kept) else [temporary]
            look = like if like is not None and like.exists() else None
            write_new(temporary, data, look)
            if look is None:
                share(temporary)
            move(temporary, kept)
        return name

    def kept(self, name: str) -> bytes:
        """A kept copy. Raises Refused where it is missing or was changed."""
        shown = f"{OWN_FOLDER}/{_KEPT}/{name}"
        if not isinstance(name, str) or not re.fullmatch(r"[0-9a-f]{64}", name):
            raise Refused("this is no name of a kept copy", Place(shown))
        data = read_ordinary(self.folder / _KEPT / name, shown)
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
        """Whether a change was interrupted."""
        return (self.folder / _JOURNAL).exists()


def carry_out(store: Store, kind: str, moves: Sequence[FileReplacement]) -> tuple[str, ...]:
    """Give every file its new content, or none. The caller holds the lock.

    Returns, in words, what of a file's look could not be kept. Raises Refused where a file is not as
    `before` says, and OSError where the disk does not take it; what was begun is undone then.
    """
    journal = _planned(store, kind, moves)
    notes = _carried_out(store, journal, moves)
    with contextlib.suppress(OSError):  # all is done; at worst the next command finds that out again
        remove(store.folder / _JOURNAL)
    store.carried_out()
    return notes


def recover(store: Store) -> Recovery | None:
    """Finish or undo what was interrupted; None where nothing was. The caller holds the lock.

    Raises Refused or OSError where that is not possible now; it is tried again by the next run.
    """
    if not store.pending:
        return None
    journal = _read_journal(store)
    conflicts: tuple[str, ...]
    if journal.state == RENAMING and _can_finish(store, journal):
        try:
            for item in journal.items:
                _finish(store, item)
            conflicts, outcome = (), "finished"
        except Refused:
            conflicts, outcome = _undo(store, journal), "undone"
    else:
        conflicts, outcome = _undo(store, journal), "undone"
    remove(store.folder / _JOURNAL)
    return Recovery(journal.kind, outcome, _shown(item.path for item in journal.items), conflicts)


def _planned(store: Store, kind: str, moves: Sequence[FileReplacement]) -> _Journal:
    mark = secrets.token_hex(4)
    items = []
    for number, change in enumerate(moves):
        target = store.root / change.path
        temporary = target.with_name(f"{OWN_FOLDER}-{mark}-{number}").relative_to(store.root).as_posix()
        before = store.keep(change.before, target) if change.before is not None else None
        items.append(_Item(change.path, temporary, before, store.keep(change.after, target)))
    return _Journal(kind, WRITING, tuple(items))


def _carried_out(store: Store, journal: _Journal, moves: Sequence[FileReplacement]) -> tuple[str, ...]:
    notes: list[str] = []
    try:
        write_over(store.folder / _JOURNAL, journal.to_bytes())
        for item, change in zip(journal.items, moves, strict=True):
            target = store.root / item.path
            like = target if change.before is not None else None
            lost = write_new(store.root / item.temporary, change.after, like)
            if like is None:
                share(store.root / item.temporary)
            notes += [f"{item.path}: {what}" for what in lost]
        for folder in {(store.root / item.temporary).parent for item in journal.items}:
            sync_folder(folder)
        write_over(store.folder / _JOURNAL, replace(journal, state=RENAMING).to_bytes())
        watched = [_put_in(store, item, store.root / item.temporary, item.before) for item in journal.items]
        if not all(watched):
            notes.append(_UNWATCHED)
    except BaseException:
        _undo(store, journal)
        remove(store.folder / _JOURNAL)
        raise
    return tuple(dict.fromkeys(notes))


def _put_in(store: Store, item: _Item, hidden: Path, expected: str | None) -> bool:
    """Give one file the content of a hidden one, where it holds the `expected` one (its SHA-256, None for no file).

    What comes out of the file's place is looked at before it goes away. Returns False where this system can't do
    that. Raises Refused, with the file as somebody else saved it, where it holds something else.
    """
    target = store.root / item.path
    if _present(target) != expected:
        raise _was_changed(item)
    if expected is None or not exchange(hidden, target):
        move(hidden, target)
        return expected is None
    sync_folder(target.parent)
    if _present(hidden) != expected:
        put_in = _present(target)
        exchange(hidden, target)
        if _present(hidden) != put_in:  # saved once more: the last save counts
            exchange(hidden, target)
        sync_folder(target.parent)
        raise _was_changed(item)
    remove(hidden)
    return True


def _was_changed(item: _Item) -> Refused:
    return Refused("it was changed while this ran", Place(item.path), "Nothing was changed.")


def _can_finish(store: Store, journal: _Journal) -> bool:
    """Whether every file still waits for its new content, or has got it."""
    for item in journal.items:
        present, hidden = _present(store.root / item.path), _present(store.root / item.temporary)
        if hidden is None:
            if present == item.before != item.after:
                return False
        elif (present, hidden) not in ((item.before, item.after), (item.after, item.before)):
            return False
    return True


def _finish(store: Store, item: _Item) -> None:
    """Give a file its new content, unless it has it and only the old one under its hidden name is to go."""
    hidden = store.root / item.temporary
    if _present(hidden) == item.after:
        _put_in(store, item, hidden, item.before)
    else:
        remove(hidden)


def _undo(store: Store, journal: _Journal) -> tuple[str, ...]:
    """Give every file its old content. Hidden files go first: a later `recover` then undoes as well.
    Returns the files that hold neither the old nor the new content, and were left."""
    conflicts: list[str] = []
    for item in journal.items:
        _clear(store, item, store.root / item.temporary, item.after)
        _clear(store, item, store.root / _back(item), item.before)
    for item in journal.items:
        target = store.root / item.path
        present = _present(target)
        if present == item.before:
            continue
        if present != item.after:
            conflicts.append(item.path)
        elif item.before is None:
            store.kept(item.after)  # nothing goes away of which there is no copy
            remove(target)
        else:
            write_new(store.root / _back(item), store.kept(item.before), target)
            try:
                _put_in(store, item, store.root / _back(item), item.after)
            except Refused:
                remove(store.root / _back(item))
                conflicts.append(item.path)
    return _shown(conflicts)


def _clear(store: Store, item: _Item, hidden: Path, put_in: str | None) -> None:
    """Take a hidden file away; but what somebody saved in the moment of an exchange, at which this was stopped,
    gets its place back, where `put_in` stands now."""
    found, target = _present(hidden), store.root / item.path
    if (
        found not in (None, item.before, item.after)
        and item.before != item.after
        and _present(target) == put_in
    ):
        move(hidden, target)
    else:
        remove(hidden)


def _back(item: _Item) -> str:
    return item.temporary + "-back"


def _shown(paths: Any) -> tuple[str, ...]:
    """Paths of the configuration alone; the history moves along with it and is not worth a word."""
    return tuple(path for path in paths if not path.startswith(OWN_FOLDER + "/"))


def _present(path: Path) -> str | None:
    """The SHA-256 of what stands at `path`; None where nothing does."""
    if not os.path.lexists(path):
        return None
    return sha256(read_ordinary(path, str(path)))


def _read_journal(store: Store) -> _Journal:
    shown = f"{OWN_FOLDER}/{_JOURNAL}"
    try:
        data = json.loads(read_ordinary(store.folder / _JOURNAL, shown))
        items = tuple(_Item(**item) for item in data["items"])
        journal = _Journal(str(data["kind"]), str(data["state"]), items)
        for path in (path for item in items for path in (item.path, item.temporary)):
            target = store.root / path
            if fault_of_path(path.removeprefix(OWN_FOLDER + "/")) or target.parent.resolve() != target.parent:
                raise ValueError(f"the path {path!a} is not allowed")
        for item in items:
            hidden = PurePosixPath(item.temporary)
            if hidden.parent != PurePosixPath(item.path).parent or not _HIDDEN.fullmatch(hidden.name):
                raise ValueError(f"{item.temporary!a} is no file of ours")
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise Refused(
            f"the journal of an interrupted change can't be read: {error}",
            Place(shown),
            f"The old files are kept in {OWN_FOLDER}/{_KEPT}; put them back by hand, then remove the journal.",
        ) from error
    return journal


def _make_folder(folder: Path) -> None:
    if folder.is_symlink():
        raise Refused("a symbolic link is no place for the journal", Place(str(folder)), "Remove the link.")
    if not folder.is_dir():
        folder.mkdir()
        share(folder)
        sync_folder(folder.parent)


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
