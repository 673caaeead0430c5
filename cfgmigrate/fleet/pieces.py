"""What one verdict can be on for several machines: the items of their packets that are the same.

A machine's items are told apart as a review tells them (`packet/binding.py`): by their content, without where it
stands. Machines that are alike get the same new values, but may have had other old ones, and other reasons; those
items are then not the same. Where an item has several forms in a group, the verdict is on the one that most machines
have, and the others keep theirs to be judged alone.

Nothing is judged here.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from msgspec import Struct

from cfgmigrate.packet.binding import basis_of, pieces_of
from cfgmigrate.packet.folder import Packet
from cfgmigrate.plan.identity import WHOLE_MACHINE, doubt_names
from cfgmigrate.reports import item_text


class FleetPiece(Struct, frozen=True):
    """One item of a packet that gets a verdict: its id, its name in a review's basis with its digest there, and what it
    says in short, with its warnings. `status` is how sure it is, "" for a doubt."""

    item: str
    name: str
    digest: str
    label: str
    text: str
    status: str = ""
    warnings: tuple[str, ...] = ()


class Shared(Struct, frozen=True):
    """An item as most machines of a group have it, how many those are, and the machines where it differs or is missing."""

    piece: FleetPiece
    many: int
    others: tuple[str, ...]


def pieces_in(packet: Packet) -> tuple[FleetPiece, ...]:
    """What a second person gives a verdict on in a packet: changes, what is done by hand, and doubts."""
    names, basis = pieces_of(packet.plan), basis_of(packet)
    return tuple(
        FleetPiece(item, names[item], basis[names[item]], label, text, status, warnings)
        for item, label, text, status, warnings in _said(packet)
    )


def _said(packet: Packet) -> Iterator[tuple[str, str, str, str, tuple[str, ...]]]:
    plan = packet.plan
    for change in plan.changes:
        whose = "" if change.holder == WHOLE_MACHINE else f" ({change.holder})"
        becomes = f"{item_text.old_value(change)} → {item_text.new_value(change)}"
        yield change.id, item_text.title(change) + whose, becomes, change.status.value, change.warnings
    for hand in plan.by_hand:
        yield hand.id, hand.label or item_text.title(hand), hand.what, "by hand", hand.warnings
    for name, doubt in zip(doubt_names(plan.doubts), plan.doubts, strict=True):
        yield name, "question", f"{doubt.place.file}: {doubt.text}: {doubt.why}", "", ()


def shared(machines: Sequence[tuple[str, Sequence[FleetPiece]]]) -> tuple[Shared, ...]:
    """The items that at least two of these machines (name, items) have with the same content, as most have each."""
    having: dict[str, dict[str, list[str]]] = {}
    known: dict[tuple[str, str], FleetPiece] = {}
    for machine, pieces in machines:
        for piece in pieces:
            having.setdefault(piece.name, {}).setdefault(piece.digest, []).append(machine)
            known.setdefault((piece.name, piece.digest), piece)
    every = [machine for machine, _ in machines]
    return tuple(
        _shared(known, name, digests, every) for name, digests in having.items() if _most(digests)[1] > 1
    )


def _shared(
    known: Mapping[tuple[str, str], FleetPiece],
    name: str,
    digests: Mapping[str, list[str]],
    every: Sequence[str],
) -> Shared:
    digest, many = _most(digests)
    same = set(digests[digest])
    return Shared(known[name, digest], many, tuple(machine for machine in every if machine not in same))


def _most(digests: Mapping[str, list[str]]) -> tuple[str, int]:
    """The form that most machines have (of several, the one that came first), and how many they are."""
    digest = max(digests, key=lambda each: len(digests[each]))
    return digest, len(digests[digest])
