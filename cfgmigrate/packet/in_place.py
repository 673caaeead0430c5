"""What a packet tells of those that stood in its folder before it.

A second person who was sent one page is sent another when the packet is prepared again. What is new or different on it is
marked by the digests that verdicts are bound to (`binding.py`). A mail that names no packet can mean one only where none
stood there before.

It is no part of what a packet does, so its hash does not cover it; its seal does.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from cfgmigrate.ground.findings import CfgError
from cfgmigrate.packet.binding import basis_of, pieces_of
from cfgmigrate.packet.folder import INDEX, Packet
from cfgmigrate.packet.opening import read_packet

IN_PLACE_OF = "in_place_of"


def place_of(folder: Path, content: str) -> dict[str, Any]:
    """What a packet with this content's hash is to tell of `folder`: the hashes of those before, the latest last, and the
    digests of the latest's items. {} for the first one; a packet that is written again keeps what it told."""
    if not (folder / INDEX).is_file():
        return {}
    try:
        present = read_packet(folder)
    except (CfgError, OSError):
        return {}
    before, items = packets_before(present), dict(items_before(present))
    if present.hash != content:
        basis = basis_of(present)
        before = (*before, present.hash)
        items = {name: basis[name] for name in pieces_of(present.plan).values() if name in basis}
    return {"packets": list(before), "items": items} if before else {}


def packets_before(packet: Packet) -> tuple[str, ...]:
    """The hashes of the packets that stood in this one's folder, as far as it tells."""
    told = _told(packet).get("packets")
    return tuple(str(each) for each in told) if isinstance(told, list) else ()


def items_before(packet: Packet) -> Mapping[str, str]:
    """The digests of the items of the packet before, by their names in a basis; {} where there was none."""
    told = _told(packet).get("items")
    return {str(name): str(digest) for name, digest in told.items()} if isinstance(told, dict) else {}


def _told(packet: Packet) -> Mapping[str, Any]:
    found = packet.index.get(IN_PLACE_OF)
    return found if isinstance(found, dict) else {}
