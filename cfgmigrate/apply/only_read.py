"""What was edited since in files that a packet read and wrote nothing into: scripts above all, shortened by hand.

A revert gives back what was written. An edit that a person made by the checklist in a file beside it, for the new drive,
stays, and would go on with the old drive in silence. What each file held when the packet read it is known, so the edits are
told line by line, and which files they are in. Whether one has anything to do with the drive only that person knows: none
is taken back.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from pathlib import Path

from cfgmigrate.apply.file_revert import RevertedItem
from cfgmigrate.apply.locate import hand_edits
from cfgmigrate.apply.whole_revert import Before
from cfgmigrate.dialects.document import readable
from cfgmigrate.ground.findings import CfgError
from cfgmigrate.ground.paths import target
from cfgmigrate.plan.edits import FileStep

_WHY = "edited since, in a file that was only read"
#: so many files are named in a sentence
MOST_EDITED_NAMED = 12


def edited_beside(
    root: Path, read: Mapping[str, Before], written: Collection[str]
) -> tuple[RevertedItem, ...]:
    """The edits in the files that were read and not written, each as it was read and as it is now."""
    return tuple(
        item for path, before in read.items() if path not in written for item in _edits(root, path, before)
    )


def told_of(items: Collection[RevertedItem]) -> tuple[str, ...]:
    """A sentence that names the files, none where there are none."""
    files = list(dict.fromkeys(item.file for item in items))
    if not files:
        return ()
    more = f" and {len(files) - MOST_EDITED_NAMED} more" if files[MOST_EDITED_NAMED:] else ""
    return (
        f"{', '.join(files[:MOST_EDITED_NAMED])}{more}: not as the packet read it, and it wrote nothing there. What was "
        "changed there for the new drive stays until you take it back by hand; the lines are told as kept",
    )


def _edits(root: Path, path: str, before: Before) -> Iterator[RevertedItem]:
    try:
        now = target(root, path).data
    except CfgError:
        return  # a folder or a link stands there now, of which nothing is known
    if now is None:
        yield RevertedItem("", path, 0, "", "", None, _WHY)
        return
    if now == before.data:
        return
    plain = FileStep(path, before.dialect, before.data, before.data, ())
    for edit in hand_edits(plain, now, ()):
        yield RevertedItem("", path, edit.line, "", readable(edit.installed), readable(edit.present), _WHY)
