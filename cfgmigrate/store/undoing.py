"""An interrupted change, finished or undone.

Stopped before all hidden files were written, nothing has happened yet, and what lies there is cleared away. Stopped
after it, everything needed is on the disk, and the rest is done. Where that would run over an edit made in the
meantime, the files that have their new content are taken back from the copies instead. What somebody edited is left as
it is, and named.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

from msgspec import Struct

from cfgmigrate.ground.disk import move, remove, write_new
from cfgmigrate.ground.findings import Place, Refused
from cfgmigrate.ground.paths import JOURNAL, OWN_FOLDER
from cfgmigrate.store.exchanging import present_hash, put_in
from cfgmigrate.store.journal import RENAMING, Journal, JournalItem, read_journal
from cfgmigrate.store.keeping import Store


class Recovery(Struct, frozen=True):
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


def recover_at(root: Path, dry_run: bool = False) -> Recovery | None:
    """Finish or undo what was interrupted at `root` (resolved); None where nothing was.

    Raises Refused for a dry run, which must not write, and where another run is busy there.
    """
    store = Store(root)
    if not store.pending:
        return None
    if dry_run:
        raise Refused(
            "an interrupted change waits to be finished or undone",
            Place(str(root)),
            "Nothing was changed. Any command without a dry run does that first.",
        )
    with store.locked():
        return recover(store)


def recover(store: Store) -> Recovery | None:
    """Finish or undo what was interrupted; None where nothing was. The caller holds the lock.

    Raises Refused or OSError where that is not possible now; it is tried again by the next run.
    """
    if not store.pending:
        return None
    journal = read_journal(store)
    conflicts: tuple[str, ...]
    if journal.state == RENAMING and _can_finish(store, journal):
        try:
            for item in journal.items:
                _finish(store, item)
            conflicts, outcome = (), "finished"
        except Refused:
            conflicts, outcome = undo(store, journal), "undone"
    else:
        conflicts, outcome = undo(store, journal), "undone"
    remove(store.folder / JOURNAL)
    return Recovery(journal.kind, outcome, _shown(item.path for item in journal.items), conflicts)


def _can_finish(store: Store, journal: Journal) -> bool:
    """Whether every file still waits for its new content, or has got it."""
    for item in journal.items:
        present, hidden = present_hash(store.root / item.path), present_hash(store.root / item.temporary)
        if hidden is None:
            if present == item.before != item.after:
                return False
        elif (present, hidden) not in ((item.before, item.after), (item.after, item.before)):
            return False
    return True


def _finish(store: Store, item: JournalItem) -> None:
    """Give a file its new content, unless it has it and only the old one under its hidden name is to go."""
    hidden = store.root / item.temporary
    if present_hash(hidden) == item.after:
        put_in(store, item, hidden, item.before)
    else:
        remove(hidden)


def undo(store: Store, journal: Journal) -> tuple[str, ...]:
    """Give every file its old content. Hidden files go first: a later `recover` then undoes as well.
    Returns the files that hold neither the old nor the new content, and were left."""
    conflicts: list[str] = []
    for item in journal.items:
        _clear(store, item, store.root / item.temporary, item.after)
        _clear(store, item, store.root / back_of(item), item.before)
    for item in journal.items:
        target = store.root / item.path
        present = present_hash(target)
        if present == item.before:
            continue
        if present != item.after:
            conflicts.append(item.path)
        elif item.before is None:
            store.kept(item.after)  # nothing goes away of which there is no copy
            remove(target)
        else:
            write_new(store.root / back_of(item), store.kept(item.before), target)
            try:
                put_in(store, item, store.root / back_of(item), item.after)
            except Refused:
                remove(store.root / back_of(item))
                conflicts.append(item.path)
    return _shown(conflicts)


def _clear(store: Store, item: JournalItem, hidden: Path, put_in: str | None) -> None:
    """Take a hidden file away; but what somebody saved in the moment of an exchange, at which this was stopped,
    gets its place back, where `put_in` stands now."""
    found, target = present_hash(hidden), store.root / item.path
    if (
        found not in (None, item.before, item.after)
        and item.before != item.after
        and present_hash(target) == put_in
    ):
        move(hidden, target)
    else:
        remove(hidden)


def back_of(item: JournalItem) -> str:
    return item.temporary + "-back"


def _shown(paths: Iterable[str]) -> tuple[str, ...]:
    """Paths of the configuration alone; the history moves along with it and is not worth a word."""
    return tuple(path for path in paths if not path.startswith(OWN_FOLDER + "/"))
