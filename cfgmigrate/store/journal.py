"""The journal of a change: which files, from what to what, and how far it came.

It is written before the first file is touched and removed when the last one is done, so whoever finds one finds an
interrupted change. What it says is not believed: every path leads to an ordinary place below the root, and every hidden
file is one of ours, or the journal is refused as a whole.
"""

from __future__ import annotations

import json
import re
from pathlib import PurePosixPath

from msgspec import Struct
from msgspec.structs import asdict

from cfgmigrate.ground.findings import Place, Refused
from cfgmigrate.ground.paths import JOURNAL, KEPT, OWN_FOLDER, fault_of_path, read_ordinary
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.store.keeping import Store

WRITING, RENAMING = "writing", "renaming"
#: the name of a new content beside its target
_HIDDEN = pattern(re.escape(OWN_FOLDER) + r"-[0-9a-f]{4,16}-[0-9]+")


class JournalItem(Struct, frozen=True):
    """One file: its path, the hidden file beside it with the new content, and the SHA-256 of the old and the new."""

    path: str
    temporary: str
    before: str | None
    after: str


class Journal(Struct, frozen=True):
    """A change: `kind` is what the history calls it, `state` how far it came."""

    kind: str
    state: str
    items: tuple[JournalItem, ...]

    def to_bytes(self) -> bytes:
        items = [asdict(item) for item in self.items]
        data = {"format": 1, "kind": self.kind, "state": self.state, "items": items}
        return (json.dumps(data, indent=1) + "\n").encode()


def read_journal(store: Store) -> Journal:
    """The journal of the change that was interrupted. Raises Refused where it is none, or leads outside."""
    shown = f"{OWN_FOLDER}/{JOURNAL}"
    try:
        data = json.loads(read_ordinary(store.folder / JOURNAL, shown))
        items = tuple(JournalItem(**item) for item in data["items"])
        journal = Journal(str(data["kind"]), str(data["state"]), items)
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
            f"The old files are kept in {OWN_FOLDER}/{KEPT}; put them back by hand, then remove the journal.",
        ) from error
    return journal
