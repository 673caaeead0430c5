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
change their names renames one over the other, which leaves a moment unwatched, and says so.

The steps are told apart by room: copies and lock in `keeping.py`, the journal in `journal.py`, step 5 for one file in
`exchanging.py`, and the way back in `undoing.py`. None of them knows what the change is about.
"""

from __future__ import annotations

import contextlib
import secrets
from collections.abc import Sequence
from threading import Event

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.ground.disk import remove, share, sync_folder, write_new, write_over
from cfgmigrate.ground.findings import Place, Refused
from cfgmigrate.ground.hashing import sha256
from cfgmigrate.ground.paths import JOURNAL, OWN_FOLDER
from cfgmigrate.store.exchanging import present_hash, put_in
from cfgmigrate.store.journal import RENAMING, WRITING, Journal, JournalItem
from cfgmigrate.store.keeping import Store
from cfgmigrate.store.undoing import undo

_AGAIN = "Nothing was changed. Run it again."
_UNWATCHED = (
    "this system can't exchange two files in one step: what an editor saved in the very moment would have been"
    " overwritten"
)


class FileReplacement(Struct, frozen=True):
    """One file that gets a new content. `path` is relative to the root and leads there without links;
    `before` is what stands there now, None where nothing does."""

    path: str
    before: bytes | None
    after: bytes


#: whether this process has changed any files; what is stopped afterwards must not say that nothing was changed
FILES_WRITTEN = Event()


def carry_out(store: Store, kind: str, moves: Sequence[FileReplacement]) -> tuple[str, ...]:
    """Give every file its new content, or none. The caller holds the lock.

    Returns, in words, what of a file's look could not be kept. Raises Refused where a file is not as
    `before` says, or another change was interrupted, and OSError where the disk does not take it; what was begun is undone then.
    """
    if store.pending:  # its journal is all that is known of it
        raise Refused(
            "an interrupted change waits to be finished or undone",
            Place(str(store.root)),
            "Nothing was changed. The next command does that first.",
        )
    journal = _planned(store, kind, moves)
    notes = _carried_out(store, journal, moves)
    FILES_WRITTEN.set()
    with contextlib.suppress(OSError):  # all is done; at worst the next command finds that out again
        remove(store.folder / JOURNAL)
    store.carried_out()
    return notes


def _planned(store: Store, kind: str, moves: Sequence[FileReplacement]) -> Journal:
    mark = secrets.token_hex(4)
    items = []
    for number, change in enumerate(moves):
        target = store.root / change.path
        # looked at before anything is begun: what undoes a change takes back whatever has the new content by then
        if present_hash(target) != (None if change.before is None else sha256(change.before)):
            raise Refused("it was changed while this ran", Place(change.path), _AGAIN)
        temporary = target.with_name(f"{OWN_FOLDER}-{mark}-{number}").relative_to(store.root).as_posix()
        before = store.keep(change.before, target) if change.before is not None else None
        items.append(JournalItem(change.path, temporary, before, store.keep(change.after, target)))
    return Journal(kind, WRITING, tuple(items))


def _carried_out(store: Store, journal: Journal, moves: Sequence[FileReplacement]) -> tuple[str, ...]:
    notes: list[str] = []
    try:
        write_over(store.folder / JOURNAL, journal.to_bytes())
        for item, change in zip(journal.items, moves, strict=True):
            target = store.root / item.path
            like = target if change.before is not None else None
            lost = write_new(store.root / item.temporary, change.after, like)
            if like is None:
                share(store.root / item.temporary)
            notes += [f"{item.path}: {what}" for what in lost]
        for folder in {(store.root / item.temporary).parent for item in journal.items}:
            sync_folder(folder)
        write_over(store.folder / JOURNAL, replace(journal, state=RENAMING).to_bytes())
        watched = [put_in(store, item, store.root / item.temporary, item.before) for item in journal.items]
        if not all(watched):
            notes.append(_UNWATCHED)
    except BaseException:
        undo(store, journal)
        remove(store.folder / JOURNAL)
        raise
    return tuple(dict.fromkeys(notes))
