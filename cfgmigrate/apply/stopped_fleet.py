"""Packets of a fleet's run that was stopped before they were held against one another.

Each packet of a run is written by itself first, and only then made to agree with the others on the lines that they share
(`fleet/disputes.py`). Between the two it looks finished and is not: its install could put a value onto a line on which
another machine has another one. So while a run goes on, its folder says so, for all of its packets; a run that ends says
for which of them it was not done; and an install asks the folder. A run that was killed leaves it said of all.
"""

from __future__ import annotations

import json
from collections.abc import Collection
from pathlib import Path

from cfgmigrate.ground.disk import write_over
from cfgmigrate.ground.findings import Place, Refused
from cfgmigrate.ground.paths import OWN_FOLDER
from cfgmigrate.packet.folder import Packet

_MARK = "not-compared.json"
_MACHINES = "machines"


def say_not_compared(folder: Path, machines: Collection[str] | None) -> None:
    """Note in a fleet's folder whose packets are not held against the others yet; None for all of them."""
    mark = folder / OWN_FOLDER / _MARK
    if machines is not None and not machines:
        mark.unlink(missing_ok=True)
        return
    said = {_MACHINES: None if machines is None else sorted(machines)}
    write_over(mark, json.dumps(said).encode())


def refuse_not_compared(packet: Packet) -> None:
    """Refused where the run that made a packet goes on still, or was stopped before the packet was compared with the others."""
    folder = packet.folder.resolve()
    try:
        said = json.loads((folder.parent / OWN_FOLDER / _MARK).read_bytes())
        machines = said[_MACHINES]
    except (FileNotFoundError, NotADirectoryError):
        return
    except (OSError, ValueError, KeyError, TypeError):
        machines = None
    if machines is None or folder.name in machines:
        raise Refused(
            "the run for the fleet that made this packet is not done, or was stopped before it was compared with those of the "
            "machines that share its files",
            Place(str(packet.folder)),
            "Nothing was changed. Prepare the fleet again, into the same folder: packets that are right stay as they are.",
        )
