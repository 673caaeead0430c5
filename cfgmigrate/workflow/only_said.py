"""What a packet says of people and of other packets, which nothing in it can bear out.

Who prepared it and what stood in its folder before it decide nothing that is written, so no hash of what a packet does
covers them, and whoever seals it can write what they like. A name inside the seal, or inside a signed record, would
prove no more: the one who invents the name writes that as well. So what is only said is told to be said only; unless
this program wrote it here a moment ago, or the packet before lies beside it and shows that it is so. That two people
looked at a packet can be proven by one thing alone, the signatures of two.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from cfgmigrate.ground.findings import CfgError

if TYPE_CHECKING:
    from cfgmigrate.packet.folder import Packet

#: so many folders beside a packet are looked into for the one before it
MOST_FOLDERS_BESIDE = 200


def of_before(packet: Packet) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What a packet says of the one before it and can't be proven; and what of it is not so."""
    from cfgmigrate.packet.binding import basis_of, pieces_of
    from cfgmigrate.packet.in_place import items_before, packets_before
    from cfgmigrate.packet.made_here import made_a_moment_ago

    items, before = items_before(packet), packets_before(packet)
    if not items or made_a_moment_ago(packet) is not None:
        return (), ()
    earlier = _beside(packet, before[-1]) if before else None
    if earlier is None:
        told = (
            "what it marks as new or as the same as in the packet before it rests on what it says of that one, which is "
            "neither in it nor beside it; your own verdicts are held against what is here"
        )
        return (told,), ()
    basis = basis_of(earlier)
    own = {name: basis[name] for name in pieces_of(earlier.plan).values() if name in basis}
    unlike = sorted(name for name in {*own, *items} if own.get(name) != items.get(name))
    where = earlier.folder.name
    return (), tuple(f"{name}: not what it says of the packet before it, {where}" for name in unlike)


def _beside(packet: Packet, content: str) -> Packet | None:
    """The packet with this content's hash that lies beside another one."""
    from cfgmigrate.files.pattern import is_packet
    from cfgmigrate.packet.opening import read_packet

    for path in _folders(packet.folder.resolve()):
        try:
            if is_packet(path) and (found := read_packet(path)).hash == content:
                return found
        except (CfgError, OSError):
            continue
    return None


def _folders(own: Path) -> Iterator[Path]:
    try:
        every = [path for path in own.parent.iterdir() if path != own and not path.is_symlink()]
    except OSError:
        return
    yield from sorted(every)[:MOST_FOLDERS_BESIDE]


def of_preparer(packet: Packet) -> tuple[str, ...]:
    """That who prepared a packet is only said; nothing where this program wrote it here a moment ago."""
    from cfgmigrate.packet.made_here import made_a_moment_ago

    if made_a_moment_ago(packet) is not None:
        return ()
    who = f"that {packet.preparer[:80]!a} prepared it" if packet.preparer.strip() else "who prepared it"
    return (f"{who} is only said, and proven by nothing: whoever sealed it can have written another name",)


def of_signers(packet: Packet, signers: Path) -> tuple[str, ...]:
    """That a signer did not prepare a packet is only said, where no other one signed it too."""
    from cfgmigrate.packet.signing import proven

    names = sorted({name for _, name in proven(packet, signers)})
    if len(names) != 1 or not of_preparer(packet):
        return ()
    return (
        f"{names[0]} alone signed it, and that somebody else ({packet.preparer[:80]!a}) prepared it is only said; where two "
        "people have to be proven, have another one of the signers accept and sign it too",
    )
