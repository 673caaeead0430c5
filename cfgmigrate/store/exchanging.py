"""One file gets its new content, and nothing that somebody saves in that moment is lost.

The new content stands in a hidden file beside its target. The two change their names in one step, and what came out is
looked at before it goes away: where it is not the old content, an editor saved the file just then, and both change back.
A system that can't let two files change their names renames one over the other, which leaves a moment unwatched.
"""

from __future__ import annotations

import os
from pathlib import Path

from cfgmigrate.ground.disk import exchange, move, remove, sync_folder
from cfgmigrate.ground.findings import Place, Refused
from cfgmigrate.ground.hashing import sha256
from cfgmigrate.ground.paths import read_ordinary
from cfgmigrate.store.journal import JournalItem
from cfgmigrate.store.keeping import Store


def put_in(store: Store, item: JournalItem, hidden: Path, expected: str | None) -> bool:
    """Give one file the content of a hidden one, where it holds the `expected` one (its SHA-256, None for no file).

    What comes out of the file's place is looked at before it goes away. Returns False where this system can't do
    that. Raises Refused, with the file as somebody else saved it, where it holds something else.
    """
    target = store.root / item.path
    if present_hash(target) != expected:
        raise _was_changed(item)
    if expected is None or not exchange(hidden, target):
        move(hidden, target)
        return expected is None
    sync_folder(target.parent)
    if present_hash(hidden) != expected:
        ours = present_hash(target)
        exchange(hidden, target)
        if present_hash(hidden) != ours:  # saved once more: the last save counts
            exchange(hidden, target)
        raise _was_changed(item)  # the folder is flushed when the caller takes the hidden file away
    remove(hidden)
    return True


def _was_changed(item: JournalItem) -> Refused:
    return Refused("it was changed while this ran", Place(item.path), "Nothing was changed.")


def present_hash(path: Path) -> str | None:
    """The SHA-256 of what stands at `path`; None where nothing does."""
    if not os.path.lexists(path):
        return None
    return sha256(read_ordinary(path, str(path)))
