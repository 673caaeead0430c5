"""Whether a packet lies in a copy of a whole work folder, made to try things there.

A packet remembers by its full path where the configuration stands. In a copy of files, sheet and packet that path still
leads to the original, and whoever installs there means the copy. So where a folder of that name lies nearer to the packet,
with the packet's files, nothing says which is meant: it is asked.

This looks a few folders up from the packet and no further, and opens nothing but the packet's own files there.
"""

from __future__ import annotations

from pathlib import Path

from cfgmigrate.ground.findings import CfgError
from cfgmigrate.ground.paths import target
from cfgmigrate.packet.folder import Packet

#: so many folders above the packet are looked into, for so many last steps of the configuration's path
MOST_ABOVE, MOST_STEPS = 3, 3


def copy_beside(packet: Packet, root: Path) -> Path | None:
    """A folder nearer to the packet than the configuration at `root`, called as that and with all of the packet's files,
    one of them at least as the packet has it; None where there is none such."""
    for above in packet.folder.resolve().parents[:MOST_ABOVE]:
        for steps in range(1, min(MOST_STEPS, len(root.parts) - 1) + 1):
            near = above.joinpath(*root.parts[-steps:])
            if not near.is_dir():
                continue
            if near.samefile(root):
                return None
            if _holds(near.resolve(), packet):
                return near
    return None


def _holds(folder: Path, packet: Packet) -> bool:
    try:
        found = {file.path: target(folder, file.path).data for file in packet.plan.files}
    except (CfgError, OSError):
        return False
    after = {step.path: step.after for step in packet.steps()}
    known = (data in (packet.before[path], after.get(path)) for path, data in found.items())
    return bool(found) and None not in found.values() and any(known)
