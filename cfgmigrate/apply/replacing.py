"""Whether a packet may be put in another one's place: not where that one is installed, because it is the way back, and not
where it is another machine's, whose verdicts and notes would pass for this one's.

What is written in its place is none of this module's business (`packet/write.py`).
"""

from __future__ import annotations

from pathlib import Path

from cfgmigrate.apply.prior_installs import step_stands
from cfgmigrate.ground.findings import Place, Refused
from cfgmigrate.ground.paths import another_folder, target
from cfgmigrate.packet.folder import Packet
from cfgmigrate.store.entries import DONE, HistoryEntry
from cfgmigrate.store.history import History, history


def refuse_replacing(present: Packet, root: str) -> None:
    """A packet for the files at `root` is to take another one's place. Raises Refused where that one is another folder's or
    installed, or where it can't be told that it is not."""
    place = Place(str(present.folder))
    remedy = "Nothing was changed. Choose another folder, or revert the packet first."
    own = Path(present.plan.root)
    past = history(own) if present.plan.root and own.is_dir() else None
    if past is None or not past.whole:
        nowhere = f"there is no configuration at {present.plan.root or '?'}"
        why = nowhere if past is None else "its history is broken"
        raise Refused(f"it can't be told whether the packet in the way is installed: {why}", place, remedy)
    if another_folder(present.plan.root, root):
        raise Refused(
            f"the packet in the way is another machine's, of {present.plan.root}",
            place,
            "Nothing was changed. Choose another folder for this one.",
        )
    if _any_stands(present, past, own):
        raise Refused("the packet in the way is installed, and is the way back", place, remedy)


def is_installed(packet: Packet) -> bool:
    """Whether anything of a packet's install is still in the files. Raises Refused where the files can't be read."""
    root = Path(packet.plan.root)
    past = history(root) if packet.plan.root and root.is_dir() else None
    return past is not None and past.whole and _any_stands(packet, past, root)


def _any_stands(packet: Packet, past: History, root: Path) -> bool:
    mine = [entry for entry in past if entry.packet == packet.hash and entry.kind not in ("revert", DONE)]
    return any(step_stands(entry, past, root, _files_of(entry, root)) for entry in mine)


def _files_of(entry: HistoryEntry, root: Path) -> dict[str, bytes]:
    """The files of a step as they are. Raises Refused where they can't be read."""
    found = {file.path: target(root.resolve(), file.path).data for file in entry.files}
    return {path: data for path, data in found.items() if data is not None}
