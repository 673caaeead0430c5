"""A packet tells which packets stood in its folder before it, and what the last of them said of each item."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import pytest
from msgspec.structs import replace

from cfgmigrate.packet.binding import basis_of, pieces_of
from cfgmigrate.packet.folder import Packet
from cfgmigrate.packet.in_place import IN_PLACE_OF, items_before, packets_before, place_of
from cfgmigrate.plan.model import Change


def digests(packet: Packet) -> dict[str, str]:
    return {piece: basis_of(packet)[piece] for piece in pieces_of(packet.plan).values()}


def test_each_packet_names_all_before_it_and_the_items_of_the_last(
    tmp_path: Path, kit: SimpleNamespace, wren_changes: tuple[Change, ...]
) -> None:
    made: list[Packet] = []
    for number in (2, 3, 4):
        told = place_of(made[-1].folder, f"{number}" * 64) if made else {}
        made.append(kit.pack(tmp_path / f"{number}", kit.FILES, wren_changes[:number], in_place_of=told))
    assert [packets_before(each) for each in made] == [(), (made[0].hash,), (made[0].hash, made[1].hash)]
    assert [dict(items_before(each)) for each in made] == [{}, digests(made[0]), digests(made[1])]
    assert len(digests(made[1])) > 3
    again = place_of(made[2].folder, made[2].hash)
    assert again == {"packets": [made[0].hash, made[1].hash], "items": digests(made[1])}


def test_where_none_stood_or_what_stands_is_none_there_is_nothing_to_tell(
    packet: Packet, tmp_path: Path
) -> None:
    assert place_of(tmp_path / "nowhere", "0" * 64) == {}
    assert place_of(packet.folder, packet.hash) == {}
    (packet.folder / "changes.json").write_text("no packet")
    assert place_of(packet.folder, "0" * 64) == {}


@pytest.mark.parametrize("told", [None, [], "x", {"packets": "x", "items": []}, {"packets": None}])
def test_what_somebody_else_wrote_there_tells_nothing(packet: Packet, told: object) -> None:
    altered = replace(packet, index={**packet.index, IN_PLACE_OF: told})
    assert packets_before(altered) == () and items_before(altered) == {}
